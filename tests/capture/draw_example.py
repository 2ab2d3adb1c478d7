#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Draws profiles/captures/hill_climb_cam_late.wav: an engine that exists only here.

    draw_example.py OUT.wav

1.6 s of idle at 880 to 940 r/min on a sound card of 12 kHz: the coil of a 60-2 wheel and a cam that sits one
belt tooth, 18 degrees of the crank, late.
"""
import pathlib
import random
import sys

import drawn_capture as draw

RATE, FOR_S, FULL_SCALE_V = 12_000, 1.6, 10.0
motion = draw.Motion("ramp", 880, 940, FOR_S, start_deg=200)
sampler, rng = draw.Sampler(RATE, FOR_S), random.Random(11)
crank = sampler.coil(draw.even(60, (59, 60)), 300, 360, motion, 0.867, 200)
teeth = [(0, 20), (70, 130), (180, 240), (310, 330)]
cam = sampler.level(draw.wheel_edges(teeth, 20, 720, 18, motion, FOR_S), 0.2, 4.9, True, box=True)
rows = [draw.noisy(crank, 0.03, rng), draw.noisy(cam, 0.03, rng)]
pathlib.Path(sys.argv[1]).write_bytes(draw.wav(rows, RATE, 16, FULL_SCALE_V))
