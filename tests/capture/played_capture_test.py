#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A capture played in the place of crank and cams, against the engine that it was drawn from (drawn_capture.py).

    played_capture_test.py DRYCRANK DRYCRANKD PROFILES

What the stand-in says on the bus is decoded here by the layout of profiles/parts/buses/hill_climb_vehicle.yaml,
written out anew: engine_fast, 0x120, little endian; speed bits 0-15 x 0.25 r/min, sync bits 16-19, reason 20-23,
losses 24-31, cam angle bits 32-47, signed, x 0.1 degrees, earlier is positive.
"""
import bisect
import hashlib
import json
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import time
import unittest

import drawn_capture as draw

DRYCRANK, DRYCRANKD, PROFILES = (pathlib.Path(p).resolve() for p in sys.argv[1:4])
CRANK = draw.even(60, (59, 60))
CAM = [(0, 20), (70, 130), (180, 240), (310, 330)]
SYNCHRONISED = 3
RATE = 50_000
DRAWN = {}


class Said:
    """One frame of engine_fast."""

    def __init__(self, t_s, data):
        self.t_s = t_s
        self.rpm = int.from_bytes(data[0:2], "little") * 0.25
        self.sync, self.reason, self.losses = data[2] & 15, data[2] >> 4, data[3]
        self.cam_deg = int.from_bytes(data[4:6], "little", signed=True) * 0.1


class Engine:
    """60-2 and a cam of four teeth on the hill-climb car's places: 300 and 20 degrees; from 900 to 1500 r/min."""

    def __init__(self, **put_in):
        self.late, self.sign, self.noise, self.for_s, self.rate = 0.0, 1, 0.02, 3.0, RATE
        self.motion = draw.Motion("ramp", 900, 1500, 3.0, start_deg=77)
        self.__dict__.update(put_in)
        self.sampler = draw.Sampler(self.rate, self.for_s)

    def crank_edges(self):
        return draw.wheel_edges(CRANK, 300, 360, 0, self.motion, self.for_s)

    def cam_edges(self):
        return draw.wheel_edges(CAM, 20, 720, self.late, self.motion, self.for_s)

    def volts(self):
        rng = random.Random(7)
        return [draw.noisy(self.sampler.coil(CRANK, 300, 360, self.motion, 0.867, 200, self.sign), self.noise, rng),
                draw.noisy(self.sampler.level(self.cam_edges(), 0.2, 4.8, True, rise_s=2e-5), self.noise, rng)]

    def csv(self):
        key = (self.late, self.sign, self.noise, self.for_s, self.rate)
        if key not in DRAWN:
            DRAWN[key] = draw.csv_text(["crank", "cam_intake"], self.volts(), self.rate, digits=6)
        return DRAWN[key]

    def rpm(self, t):
        return (self.motion.angle(t + 1e-4) - self.motion.angle(t - 1e-4)) / 2e-4 / 6


HEAD = f"""kind: scenario
format: 1
bench: {PROFILES}/benches/hill_climb.yaml
name: played
"""
STEPS = "steps: [{name: idle, for_s: 3.5 s, drive: {coolant_temperature: 90}}]\n"
EXPECT = """expect:
  - {name: coolant, kind: follows, signal: engine_temps.coolant, stimulus: coolant_temperature, tolerance: 2 K, settle_s: 0.5 s, means: Its wire.}
  - {name: position, kind: within, condition: {signal: engine_fast.sync, equals: synchronised}, within_s: 1 s, means: Its teeth.}
"""


class Case(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = pathlib.Path(folder.name)

    def put(self, name, data):
        (self.tmp / name).write_bytes(data if isinstance(data, bytes) else data.encode())
        return self.tmp / name

    def run_scenario(self, capture, *words, steps=STEPS, rest=EXPECT, code=0):
        path = self.put("played.yaml", HEAD + f"capture: {capture}\n" + steps + rest)
        out = subprocess.run([DRYCRANK, "run", path, "--out", self.tmp / "out", "--overwrite", *words],
                             capture_output=True, text=True, timeout=120)
        self.text = " ".join((out.stdout + out.stderr).replace("\u00a0", " ").split())
        self.assertEqual(out.returncode, code, self.text)
        return self.text

    def said(self):
        frames = []
        for line in (self.tmp / "out/events.csv").read_text().splitlines():
            found = re.match(r"(\d+),frame,vehicle,[tr]x,120#([0-9A-F]{16})", line)
            if found:
                frames.append(Said(int(found[1]) * 1e-9, bytes.fromhex(found[2])))
        self.assertGreater(len(frames), 100)
        return frames

    def check_speed(self, engine, from_s=1.0, to_s=2.9, begin_s=0.0):
        """Each speed message within 0.5 % of what the script's engine turned at. The stand-in takes its mean over half a
        cycle, which lags by half of that: 15 ms at 1000 r/min, 3 r/min here; and 0.125 r/min are the layout's rounding."""
        checked = 0
        for frame in self.said():
            t = frame.t_s - begin_s
            if not from_s < t < to_s:
                continue
            self.assertEqual(frame.sync, SYNCHRONISED, f"at {t} s")
            true = engine.rpm(t)
            self.assertLess(abs(frame.rpm - true) / true, 0.005, f"at {t:.3f} s {frame.rpm}, true {true:.1f}")
            checked += 1
        self.assertGreater(checked, 150)

    def cam_deg(self, from_s=1.0, to_s=2.9):
        angles = [f.cam_deg for f in self.said() if from_s < f.t_s < to_s and f.sync == SYNCHRONISED]
        self.assertGreater(len(angles), 100)
        return sorted(angles)[len(angles) // 2], max(angles) - min(angles)


class Played(Case):
    def test_volts_from_csv_at_the_pins(self):
        engine = Engine()
        path = self.put("engine.csv", engine.csv())
        self.run_scenario(path)
        self.check_speed(engine)
        middle, spread = self.cam_deg()
        self.assertAlmostEqual(middle, 0, delta=0.3)
        self.assertLess(spread, 0.8)
        # What was played stands in report and record.
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        self.assertIn(digest, self.text)
        record = json.loads((self.tmp / "out/record.json").read_text())
        self.assertEqual(record["played"], [{"from": str(path), "bytes": path.stat().st_size, "sha256": digest}])
        self.assertIn("capture engine.csv, at the controller's pins", (self.tmp / "out/events.csv").read_text())
        # What should have been reported nobody can predict.
        out = subprocess.run([DRYCRANK, "diagnose", self.tmp / "out"], capture_output=True, text=True, timeout=60)
        self.assertEqual((out.returncode, out.stdout), (2, ""))
        self.assertRegex(out.stderr, "crank and cams of this run were those of .*engine.csv.*drycrank match, and diagnose a walk")
        # Where the crank stands nobody knows: the record has no motion.
        self.assertEqual(len((self.tmp / "out/motion.csv").read_text().splitlines()), 1)

    def test_at_its_end_the_engine_stands(self):
        self.run_scenario(self.put("engine.csv", Engine().csv()), steps=STEPS.replace("3.5", "4.2"))
        self.assertIn("the capture ended at 3.000 s; crank and cams stand still from there on", self.text)
        self.assertEqual([f.rpm for f in self.said()][-1], 0)

    def test_a_sound_card_s_file_with_its_scale(self):
        engine = Engine()
        path = self.put("engine.wav", draw.wav(engine.volts(), RATE, 16, 8.0))
        names = self.put("map.yaml", "kind: capture\nformat: 1\nchannels:\n  crank: {column: 1, scale: 8}\n  cam_intake: {column: 2, scale: 8}\n")
        self.run_scenario(f"{{file: {path}, map: {names}}}")
        self.check_speed(engine)

    def test_too_weak_waves_are_said(self):
        path = self.put("engine.wav", draw.wav(Engine().volts(), RATE, 16, 80.0))
        names = self.put("map.yaml", "kind: capture\nformat: 1\nchannels:\n  crank: {column: 1}\n  cam_intake: {column: 2}\n")
        self.run_scenario(f"{{file: {path}, map: {names}}}", code=1)
        self.assertRegex(self.text, r"crank: its waves are 0\.0\d+ V high, and the input arms at 0\.25 V; most of them are not seen\. 'scale'")

    def test_levels_of_a_logic_analyser(self):
        engine = Engine()
        edges = [[(t, not metal) for t, metal in e if t < engine.for_s] for e in (engine.crank_edges(), engine.cam_edges())]
        firsts = [not next(level for t, level in e if t > 0) for e in edges]
        self.run_scenario(self.put("engine.vcd", draw.vcd(["crank", "cam_intake"], edges, firsts)))
        self.check_speed(engine)
        # The crank falls where a tooth begins, and the controller is told that it falls at its centre, 1.5 degrees
        # later: it takes the crank to be that much further on, and the cam to be late.
        self.assertAlmostEqual(self.cam_deg()[0], -1.5, delta=0.3)

    def test_levels_between_samples(self):
        engine = Engine(rate=200_000, noise=0)
        s = engine.sampler
        rows = [[int(v > 2.5) for v in s.level(e, 0, 5, True)] for e in (engine.crank_edges(), engine.cam_edges())]
        self.run_scenario(self.put("engine.csv", draw.csv_text(["crank", "cam_intake"], rows, engine.rate, digits=7)))
        self.check_speed(engine)

    def test_at_the_sensors_it_goes_through_the_harness(self):
        engine = Engine()
        path = self.put("engine.csv", engine.csv())
        where = f"{{file: {path}, at: sensor}}"
        self.run_scenario(where)
        self.check_speed(engine)
        self.assertAlmostEqual(self.cam_deg()[0], 0, delta=0.3)
        # A wire of the bench that is open, and a coil's that is: no teeth. At the pins it does nothing.
        broken = "faults: [{name: ckp, kind: open, at: CKP.1}]\n" + EXPECT
        self.run_scenario(where, rest=broken, code=1)
        self.assertEqual(max(f.rpm for f in self.said()), 0)
        self.run_scenario(path, rest=broken)
        self.check_speed(engine)

    def test_a_cam_18_degrees_late(self):
        for at in ("controller", "sensor"):
            self.run_scenario(f"{{file: {self.put('engine.csv', Engine(late=18).csv())}, at: {at}}}")
            self.assertAlmostEqual(self.cam_deg()[0], -18, delta=0.3)

    def own(self, faults=""):
        """The bench's own wheel at the same speeds."""
        steps = "steps: [{name: idle, for_s: 3 s, drive: {engine_speed: {points: [[0, 900], [3, 1500]]}}}]\n"
        return self.put("own.yaml", HEAD + steps + faults)

    def test_swapped_crank_leads_behave_as_the_fault_of_that_name(self):
        # Of the engine drawn here: no clean gap, so that the position is not kept.
        self.run_scenario(self.put("engine.csv", Engine(sign=-1).csv()), code=1)
        self.assertNotEqual({f.sync for f in self.said() if 1 < f.t_s < 2.9}, {SYNCHRONISED})
        # The same waves as the program's own: what `signals` writes at the pins of the sound bench, turned over by the
        # map, against the fault in the harness.
        made = subprocess.run([DRYCRANK, "signals", self.own(), "--out", self.tmp / "signals", "--sample-rate", "96000", "--full-scale", "20"],
                              capture_output=True, text=True, timeout=120)
        self.assertEqual(made.returncode, 0, made.stderr)
        seen = {}
        for inverted in ("false", "true"):
            names = self.put("map.yaml", "kind: capture\nformat: 1\nchannels:\n"
                             f"  crank: {{column: 1, scale: 20, inverted: {inverted}}}\n  cam_intake: {{column: 2, scale: 20}}\n")
            self.run_scenario(f"{{file: {self.tmp}/signals/waveforms.wav, map: {names}}}")
            seen[inverted] = (self.cam_deg()[0], max(f.losses for f in self.said()))
        fault = self.own("faults: [{name: leads, kind: terminals_swapped, at: CKP.1, with: CKP.2}]\n")
        out = subprocess.run([DRYCRANK, "run", fault, "--out", self.tmp / "out", "--overwrite"], capture_output=True, text=True, timeout=120)
        self.assertEqual(out.returncode, 4, out.stderr)  # nothing is expected
        by_fault = (self.cam_deg()[0], max(f.losses for f in self.said()))
        self.assertAlmostEqual(seen["false"][0], 0, delta=0.2)
        self.assertEqual(seen["false"][1], 0)
        self.assertAlmostEqual(seen["true"][0], by_fault[0], delta=0.3)
        self.assertGreater(abs(by_fault[0]), 1)
        self.assertGreater(seen["true"][1], 0)
        self.assertGreater(by_fault[1], 0)

    def test_from_and_to_and_when_it_begins(self):
        engine = Engine()
        path = self.put("engine.csv", engine.csv())
        self.run_scenario(f"{{file: {path}, begin_s: 0.5, from_s: 1, to_s: 2.5}}")
        frames = self.said()
        self.assertEqual({f.rpm for f in frames if f.t_s < 0.5}, {0})
        for f in frames:
            if 1.4 < f.t_s < 1.95:
                self.assertLess(abs(f.rpm / engine.rpm(f.t_s + 0.5) - 1), 0.005)
        self.assertEqual({f.rpm for f in frames if f.t_s > 2.6}, {0})
        self.assertIn("the capture ended at 2.000 s", self.text)

    def test_a_run_repeats_to_the_byte(self):
        path = self.put("engine.csv", Engine(for_s=1.0).csv())
        steps = STEPS.replace("3.5", "1.2")
        self.run_scenario(path, steps=steps, rest="", code=4)
        first = (self.tmp / "out/edges.bin").read_bytes()
        self.run_scenario(path, steps=steps, rest="", code=4)
        self.assertEqual(first, (self.tmp / "out/edges.bin").read_bytes())
        self.assertGreater(len(first), 1000)

    def test_in_real_time(self):
        engine = Engine()
        self.run_scenario(self.put("engine.csv", engine.csv()), "--real-time")
        self.check_speed(engine)
        self.assertNotIn("read too slowly", self.text)


class Crossings(Case):
    """The stand-in's edges against the samples' own crossings, and so against what `match` finds: within one sample."""

    def test_edges_lie_where_the_samples_cross(self):
        engine = Engine(for_s=1.0, noise=0.005)
        path = self.put("engine.csv", engine.csv())
        scenario = self.put("played.yaml", HEAD + f"capture: {path}\n" + STEPS.replace("3.5", "1.0"))
        out = subprocess.run([DRYCRANK, "signals", scenario, "--out", self.tmp / "signals"], capture_output=True, text=True, timeout=120)
        self.assertEqual(out.returncode, 0, out.stderr)
        # Where the trace ends the coil comes to rest: the last fall is none of its samples'.
        falls = [t for t in self.falls("crank") if t < 0.9999]
        mine = self.own_crossings(engine)
        self.assertGreater(len(falls), 700)
        self.assertLess(abs(len(mine) - len(falls)), 3)
        for t in falls:
            at = bisect.bisect(mine, t)
            self.assertLess(min(abs(c - t) for c in mine[max(0, at - 1):at + 1]), 1 / engine.rate)

    def falls(self, name):
        """Of the value change dump: when the wire goes to 0, s."""
        text = (self.tmp / "signals/edges.vcd").read_text()
        code = re.search(r"\$var wire 1 (\S+) " + name + r" ", text)[1]
        tick = {"1 ns": 1e-9, "1ns": 1e-9, "1 us": 1e-6}[re.search(r"\$timescale\s+(.*?)\s+\$end", text)[1]]
        t, found = 0.0, []
        for line in text.split("$enddefinitions $end", 1)[1].splitlines():
            if line.startswith("#"):
                t = int(line[1:]) * tick
            elif line == "0" + code and t > 0:
                found.append(t)
        return found

    @staticmethod
    def own_crossings(engine):
        """Falls through 0 V after 0.25 V, by a straight line between two samples."""
        volts, armed, found = engine.volts()[0], False, []
        for k, (a, b) in enumerate(zip(volts, volts[1:])):
            armed = armed or a >= 0.25
            if armed and a > 0 >= b:
                found.append((k + a / (a - b)) / engine.rate)
                armed = False
        return found


    def test_rows_that_stand_twice_are_said_in_terminal_and_record(self):
        """50 kHz: row k in line k + 2. Rows 3000 and 40,000 stand twice; only what is played counts."""
        lines = Engine().csv().split(b"\n")
        twice = self.put("twice.csv", b"\n".join(lines[:3002] + lines[3001:40_002] + lines[40_001:]))
        self.run_scenario(twice)
        words = r"of the capture, at 0\.060000 s: line 3003 has the time of the line before, the first of 2 such rows, and is left out"
        self.assertRegex(self.text, words)
        self.assertRegex(" ".join(json.loads((self.tmp / "out/report.json").read_text())["notes"]), words)
        self.assertRegex((self.tmp / "out/events.csv").read_text(), words)
        self.assertNotIn("left out", self.run_scenario(f"{{file: {twice}, to_s: 0.05}}", steps="steps: [{name: a, for_s: 0.1}]\n", rest="", code=4))
        self.assertNotIn("left out", self.run_scenario(self.put("once.csv", Engine().csv())))


class Refused(Case):
    def refused(self, capture, pattern, **kwargs):
        self.run_scenario(capture, code=2, **kwargs)
        self.assertRegex(self.text, pattern)

    def test_what_cannot_be_played_says_why(self):
        path = self.put("engine.csv", Engine(for_s=0.3).csv())
        self.refused(self.tmp / "nowhere.csv", r"played.yaml:5:10: there is no file '.*nowhere.csv'; name a CSV, WAV, VCD or .sr file")
        self.refused(path, r"played.yaml:6:\d+: 'engine_speed' is driven, and crank and cams are those of the capture; leave it out",
                     steps="steps: [{name: a, for_s: 1, drive: {engine_speed: 900}}]\n")
        self.refused(path, r"'intake_cam_advance' is driven", steps="steps: [{name: a, for_s: 1, drive: {intake_cam_advance: 5}}]\n")
        self.refused(path, r"a fault at 'crank', and crank and cams are those of the capture", rest="faults: [{name: a, kind: wheel_offset, at: crank, deg: 3}]\n")
        self.refused(f"{{file: {path}, from_s: 5}}", r"it is played from 5 s on, and is 0\.300 s long; write a smaller from_s")
        self.refused(f"{{file: {path}, from_s: 2, to_s: 1}}", "it ends at 1 s, not after its begin")
        self.refused(f"{{file: {path}, at: engine}}", "'engine'.*controller, sensor")
        other = self.put("other.csv", path.read_bytes().replace(b"crank,cam_intake", b"CH1,CH2", 1))
        self.refused(other, r"no column is called as a trigger or output of the bench \(CH1, CH2\)")
        coils = self.put("coils.csv", path.read_bytes().replace(b"crank,cam_intake", b"coil_1,coil_2", 1))
        self.refused(coils, r"no trigger of the bench is in this capture; say what its columns are with 'map'; the bench has crank, cam_intake")
        lines = path.read_bytes().split(b"\n")
        hole = self.put("hole.csv", b"\n".join(lines[:1000] + lines[1030:]))
        self.refused(hole, r"hole.csv:1001:1: 30 rows are missing before this line, from .*; what was there cannot be played; play what lies before or behind it")
        self.run_scenario(f"{{file: {hole}, from_s: 0.15}}")
        slow = self.put("slow.csv", Engine(for_s=1.0, rate=4000).csv())
        self.refused(slow, r"crank: \d\.\d samples from tooth to tooth at 4 kHz.*at least 6: \d+(\.\d)? kHz or more")
        damaged = self.put("damaged.csv", path.read_bytes()[:3000] + b"x\n")
        self.refused(damaged, "at byte 2")

    def test_who_needs_the_crank_s_angle_is_refused(self):
        path = self.put("engine.csv", Engine(for_s=0.3).csv())
        for kind in ("{name: a, kind: follows, signal: engine_fast.engine_speed, stimulus: engine_speed, tolerance: 40 rpm, means: x}",
                     "{name: a, kind: follows, signal: engine_fast.cam_angle, stimulus: intake_cam_advance, tolerance: 2 deg, means: x}",
                     "{name: a, kind: display_shows, gauge: speed, stimulus: engine_speed, tolerance: 40, means: x}",
                     "{name: a, kind: synchronised, condition: {signal: engine_fast.sync, equals: synchronised}, turns: 3, means: x}",
                     "{name: a, kind: cam_edges, cam: cam_intake, tolerance_deg: 2, means: x}",
                     "{name: a, kind: fires_at, advance_deg: 12, tolerance_deg: 1, means: x}",
                     "{name: a, kind: injects_at, before_deg: 60, tolerance_deg: 1, means: x}"):
            self.refused(path, r"'a' \(\w+\) is judged by how the crank turns, which nobody knows of a capture", rest=f"expect: [{kind}]\n")
        # The order of the coils needs no angle.
        path = self.put("engine.csv", Engine(for_s=1.5).csv())
        self.run_scenario(path, rest="expect: [{name: a, kind: order, output: coil, means: x}]\n", steps=STEPS.replace("3.5", "1.5"))


class Live(Case):
    def test_the_daemon_plays_it_and_takes_no_speed_by_hand(self):
        path = self.put("engine.csv", Engine(for_s=3.0).csv())
        socket = self.tmp / "control"
        daemon = subprocess.Popen([DRYCRANKD, PROFILES / "benches/hill_climb.yaml", "--socket", socket, "--capture", path],
                                  stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.addCleanup(daemon.communicate)
        self.addCleanup(daemon.kill)
        self.assertIn(hashlib.sha256(path.read_bytes()).hexdigest(), daemon.stdout.readline())
        self.assertIn("is live", daemon.stdout.readline())
        tell = lambda *words: subprocess.run([DRYCRANK, "tell", "--socket", socket, *words], capture_output=True, text=True, timeout=20).stdout
        states = set()
        for _ in range(40):
            states.add(json.loads(tell("status"))["controller"]["state"])
            if "synchronised" in states:
                break
            time.sleep(0.05)
        self.assertIn("synchronised", states)
        self.assertIn("engine_speed is not driven: crank and cams are those of the capture", tell("--leave", "set", "engine_speed", "900", "rpm"))
        self.assertIn("a fault at crank does nothing", tell("fault {kind: tooth_missing, at: crank, tooth: 3}"))
        self.assertIn('"ok":true', tell("--leave", "set", "coolant_temperature", "90", "degC"))
        tell("stop")
        self.assertEqual(daemon.wait(timeout=20), 0)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[4:])
