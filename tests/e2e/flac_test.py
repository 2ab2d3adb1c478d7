#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank signals --flac`: the reference decoder (Debian's flac) finds the file whole, and its samples are those of the WAV file.

    flac_test.py DRYCRANK DRYCRANKD PROFILES
"""
import subprocess
import unittest
import sys

import numpy

from program_case import Case, HEALTHY, drycrank


def float_wav(path):
    """Samples of a WAV file of 32-bit floats, by its chunks (RIFF)."""
    raw = path.read_bytes()
    at, channels = 12, 0
    while raw[at:at + 4] != b"data":
        if raw[at:at + 4] == b"fmt ":
            channels = int.from_bytes(raw[at + 10:at + 12], "little")
        at += 8 + int.from_bytes(raw[at + 4:at + 8], "little")
    size = int.from_bytes(raw[at + 4:at + 8], "little")
    return numpy.frombuffer(raw[at + 8:at + 8 + size], "<f4").reshape(-1, channels)


def decoded(path):
    """Whole numbers of 24 bits, by `flac -d`, which checks the sum of all samples (MD5) too."""
    out = subprocess.run(["flac", "-d", "-c", "--force-raw-format", "--endian=little", "--sign=signed", path],
                         capture_output=True, timeout=60)
    assert out.returncode == 0, out.stderr
    asked = subprocess.run(["metaflac", "--show-sample-rate", "--show-channels", "--show-bps", path], capture_output=True, text=True)
    rate, channels, bits = map(int, asked.stdout.split())
    assert bits == 24
    raw = out.stdout
    b = numpy.frombuffer(raw, numpy.uint8).reshape(-1, 3).astype(numpy.int32)
    return rate, ((b[:, 0] << 8 | b[:, 1] << 16 | b[:, 2] << 24) >> 8).reshape(-1, channels)


class Flac(Case):
    def test_samples_are_those_of_the_wav_file(self):
        out = drycrank("signals", HEALTHY, "--out", str(self.out), "--flac")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertIn("waveforms.flac: the same in 24 bits", out.stdout)
        floats = float_wav(self.out / "waveforms.wav")
        rate, whole = decoded(self.out / "waveforms.flac")
        self.assertEqual((rate, whole.shape), (48000, floats.shape))
        self.assertGreater(numpy.max(numpy.abs(whole)), 2**22)  # there is something to compare
        off = numpy.abs(whole - floats.astype(float) * (2**23 - 1))
        self.assertLessEqual(numpy.max(off), 1)
        # The twin: another sample in its place is found.
        self.assertGreater(numpy.max(numpy.abs(numpy.roll(whole, 1, axis=0) - floats.astype(float) * (2**23 - 1))), 1e5)
        self.assertLess((self.out / "waveforms.flac").stat().st_size, (self.out / "waveforms.wav").stat().st_size / 2)

    def test_equal_runs_give_equal_files_and_without_it_there_is_none(self):
        for name in ("a", "b"):
            self.assertEqual(drycrank("signals", HEALTHY, "--out", str(self.tmp / name), "--flac").returncode, 0)
        self.assertEqual((self.tmp / "a/waveforms.flac").read_bytes(), (self.tmp / "b/waveforms.flac").read_bytes())
        drycrank("signals", HEALTHY, "--out", str(self.tmp / "c"))
        self.assertFalse((self.tmp / "c/waveforms.flac").exists())

    def test_a_file_that_is_no_result_is_left_alone(self):
        self.out.mkdir()
        (self.out / "waveforms.flac").write_text("mine")
        self.assertEqual(drycrank("signals", HEALTHY, "--out", str(self.out), "--flac").returncode, 2)
        self.assertEqual((self.out / "waveforms.flac").read_text(), "mine")

    def test_a_rate_that_the_form_does_not_have_is_refused(self):
        out = drycrank("signals", HEALTHY, "--out", str(self.out), "--flac", "--sample-rate", "96001")
        self.assertEqual(out.returncode, 2)
        self.assertIn("whole tens of Hz", out.stderr)
        out = drycrank("signals", HEALTHY, "--out", str(self.out), "--flac", "--sample-rate", "44117")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertEqual(decoded(self.out / "waveforms.flac")[0], 44117)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
