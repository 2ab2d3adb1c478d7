#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Where a sound card's samples put the edges of a crank and a cam wheel, by a decoder of its own.

Between the samples it takes the curve from Whittaker's and Shannon's sum, 64 samples under a Hann window, and
looks where that crosses half of the level; where it should, it knows from angle = 6 n t. Bounds: 0.01
degrees of crank at 8,500 r/min and 192 kHz, 0.02 at 3,000 and 48 kHz, 0.02 from cam to crank.

A coil's wave falls through 0 V at each tooth's centre, at any speed, and its peak is in proportion to the speed.
What the rate cannot carry is seen in numpy's spectrum of a second of an even wheel: 8,500 lines to the second,
and what lies between its harmonics is folded.
"""
import math
import pathlib
import struct
import subprocess
import sys
import tempfile
import unittest

import numpy

from degrees_test import DRYCRANK, HALF_MOON, SIXTY, bench, even

RUN_S = 0.12


def samples(path):
    """Channels of a WAV file of 32-bit floats; its data chunk is the last one."""
    data = pathlib.Path(path).read_bytes()
    channels = struct.unpack_from("<H", data, 22)[0]
    begin = data.index(b"data") + 8
    values = [v[0] for v in struct.iter_unpack("<f", data[begin:])]
    return [values[c::channels] for c in range(channels)]


def between(volts, at):
    """The band-limited curve at a place between the samples."""
    whole = math.floor(at)
    value = 0.0
    for k in range(whole - 31, whole + 33):
        x = at - k
        if not 0 <= k < len(volts):
            continue
        sinc = 1.0 if abs(x) < 1e-12 else math.sin(math.pi * x) / (math.pi * x)
        value += volts[k] * sinc * (0.5 + 0.5 * math.cos(math.pi * x / 32))
    return value


def crossings(volts, level):
    """Places, in samples, and whether the level after it is high."""
    found = []
    for k in range(40, len(volts) - 40):
        if (volts[k] < level) == (volts[k + 1] < level):
            continue
        low, high = float(k), k + 1.0
        rises = volts[k + 1] > volts[k]
        for _ in range(30):
            middle = (low + high) / 2
            low, high = (middle, high) if (between(volts, middle) < level) == rises else (low, middle)
        found.append((low, rises))
    return found


class Waveforms(unittest.TestCase):
    def written(self, rpm, rate, crank=SIXTY, run_s=RUN_S, coil=False):
        """Channels of the WAV file, full scale 100 V."""
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder)
            path.joinpath("bench.yaml").write_text(bench(crank, 300, HALF_MOON, 330.3, coil=coil))
            path.joinpath("s.yaml").write_text(
                f"kind: scenario\nname: s\nbench: bench.yaml\nsteps: [{{name: a, for_s: {run_s} s, drive: {{engine_speed: {rpm} rpm}}}}]\nexpect: []\n")
            out = subprocess.run([DRYCRANK, "signals", path / "s.yaml", "--out", path / "o", "--sample-rate", str(rate),
                                  "--full-scale", "100"],
                                 capture_output=True, text=True, timeout=120)
            self.assertEqual(out.returncode, 0, out.stderr)
            return samples(path / "o/waveforms.wav")

    def decoded(self, rpm, rate):
        """Worst distance of an edge from its angle, in degrees of crank, of crank and of cam; worst of cam to crank."""
        channels = self.written(rpm, rate)
        off = []
        for volts, wheel, offset, turn in ((channels[0], SIXTY, 300, 360), (channels[1], HALF_MOON, 330.3, 720)):
            # Long levels tell high and low: half of them is where the edge is.
            ordered = sorted(volts[40:-40])
            level = (ordered[len(ordered) // 10] + ordered[-len(ordered) // 10]) / 2
            due = [(offset + deg * turn / 360, rises) for tooth in wheel for deg, rises in zip(tooth, (False, True))]
            worst = []
            for at, rises in crossings(volts, level):
                angle = 6 * rpm * at / rate
                late = min(((angle - d + turn / 2) % turn - turn / 2 for d, r in due if r == rises), key=abs)
                worst.append(late)
            off.append(worst)
        return off

    def check(self, rpm, rate, crank_deg, cam_deg, edges):
        crank, cam = self.decoded(rpm, rate)
        self.assertGreater(len(crank), edges)
        self.assertGreater(len(cam), 3)
        self.assertLess(max(map(abs, crank)), crank_deg)
        mean = sum(crank) / len(crank)
        self.assertLess(max(abs(late - mean) for late in cam), cam_deg)

    def test_8500_at_192_khz(self):
        self.check(8500, 192000, 0.01, 0.02, 1800)

    def test_3000_at_48_khz(self):
        self.check(3000, 48000, 0.02, 0.02, 600)

    def test_the_twin(self):
        """A hundredth of a degree is seen: 0.3 degrees of the cam's offset are not taken for none."""
        crank, cam = self.decoded(8500, 192000)
        self.assertLess(max(map(abs, cam)), 0.02)
        self.assertGreater(max(abs(late + 0.03) for late in crank), 0.02)

    def check_coil(self, rpm, rate, within_deg, least):
        volts = self.written(rpm, rate, coil=True)[0]
        due = [(300 + (begin + end) / 2) % 360 for begin, end in SIXTY]
        # In the gap the curve lies at 0 V: only between two lobes does it fall through it.
        most = max(volts)
        late = [min(((6 * rpm * at / rate - d + 180) % 360 - 180 for d in due), key=abs)
                for at, rises in crossings(volts, 0)
                if not rises and max(volts[int(at) - rate * 3 // (12 * rpm) - 1:int(at) + 1]) > most / 3]
        self.assertGreater(len(late), least)
        self.assertLess(max(map(abs, late)), within_deg)
        return late

    def test_a_coil_at_8500_and_192_khz(self):
        self.check_coil(8500, 192000, 0.01, 900)

    def test_a_coil_at_3000_and_48_khz(self):
        late = self.check_coil(3000, 48000, 0.02, 300)
        # The twin: 0.03 degrees elsewhere would be seen.
        self.assertGreater(max(abs(x + 0.03) for x in late), 0.02)

    def test_a_coils_peak_goes_with_the_speed(self):
        peaks = []
        for rpm in (200, 1000, 5000):
            volts = self.written(rpm, 192000, coil=True, run_s=0.12)[0]
            at = 40 + max(range(len(volts) - 80), key=lambda k: volts[k + 40])
            peaks.append(max(between(volts, at + x / 8) for x in range(-8, 9)))
        self.assertAlmostEqual(peaks[1] / peaks[0], 5, delta=0.01)
        self.assertAlmostEqual(peaks[2] / peaks[0], 25, delta=0.05)

    def folded(self, volts, rate, line_hz):
        """The highest line beside the harmonics of line_hz, as decibels of the first; a second of samples."""
        spectrum = numpy.abs(numpy.fft.rfft(numpy.array(volts[-rate:]) - numpy.mean(volts[-rate:])))
        beside = [k for k in range(1, len(spectrum)) if k % line_hz]
        return 20 * math.log10(max(spectrum[beside]) / spectrum[line_hz])

    def test_what_the_rate_cannot_carry_is_80_decibel_down(self):
        # 60 teeth, 8,510 r/min: 8,510 Hz, whose harmonics fold to multiples of 10 Hz. Duty 0.4, for even ones too.
        volts = self.written(8510, 192000, crank=even(60, (), 0.4), run_s=1.2)[0]
        self.assertLess(self.folded(volts[:-400], 192000, 8510), -80)
        # The twin: points taken from the same square wave fold.
        points = [0.0 if 8510 * k / 192000 % 1 < 0.4 else 5.0 for k in range(192000)]
        self.assertGreater(self.folded(points, 192000, 8510), -40)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[3:], verbosity=1)
