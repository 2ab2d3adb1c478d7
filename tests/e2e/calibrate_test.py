#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank calibrate`, of a card and a DAC whose gain the bench states wrong.

    calibrate_test.py DRYCRANK DRYCRANKD PROFILES

The card is ALSA's plugin `file`, which keeps each sample; the DAC a file in a folder as the kernel lays it out. Between them
and the meter (tests/io/meter.py) stands a gain that is known here alone: rms of the samples that were last written times the
card's true full scale, and a straight line of the DAC's count.
"""
import math
import pathlib
import re
import subprocess
import sys
import time
import unittest

import numpy

sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "io"))
from meter import Meter  # noqa: E402
import program_case  # noqa: E402
import sound_bench  # noqa: E402

CARD = 'pcm.card { type file slave.pcm { type null } file "HEARD" format "raw" }\n'
TRUE_V = {"crank": 4.31, "cam": 2.77}  # the bench states 5 and 2
DAC = """
kind: bench
name: by_dac
engine: {firing_order: [1]}
stimuli: {boost_pressure: {unit: kPa, initial: 100, min: 0, max: 400}}
supplies: {battery: {plus: BAT.1, minus: BAT.2}}
connectors: {BAT: {pins: 2}, ALL: {pins: 6}}
sensors:
  boost: {measures: boost_pressure, kind: ratiometric, low_value: 0, high_value: 400, supply: ALL.3, ground: ALL.4, signal: ALL.5}
drives:
  volts:
    kind: dac
    channels:
      boost: {device: FOLDER/iio:device0, channel: voltage0, supply_v: 5}  # on the left
"""


class Calibrate(program_case.Case):
    def begin(self, bench):
        self.bench = self.tmp / "bench.yaml"
        self.bench.write_text(bench)

    def calibrate(self, output, typed, *options, arm=None):
        env = {"ALSA_CONFIG_PATH": str(self.tmp / "asoundrc"), "PATH": "/usr/bin:/bin"}
        process = subprocess.Popen([program_case.DRYCRANK, "calibrate", self.bench, "--output", output, "--arm", arm or output, "--by",
                                    "tester", *options], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                                   text=True, env=env)
        self.addCleanup(process.kill)
        said = ""
        for words in typed:
            while not said.endswith("]: "):
                byte = process.stdout.read(1)
                if not byte:
                    break
                said += byte
            time.sleep(0.8)
            if callable(words):
                words = words()
            said += "<" + words + ">"
            try:
                process.stdin.write(words + "\n")
                process.stdin.flush()
            except BrokenPipeError:
                break
        out, err = process.communicate(timeout=20)
        return process.returncode, said + out, err

    def meter(self, world, manner="well"):
        meter = Meter(world, manner)
        meter.start()
        return f"127.0.0.1:{meter.port}"

    def card(self):
        (self.tmp / "asoundrc").write_text(CARD.replace("HEARD", str(self.tmp / "heard.raw")))
        self.begin(sound_bench.bench("card", latency_ms=200))

    def samples(self):
        raw = numpy.fromfile(self.tmp / "heard.raw", dtype="<i4").astype(float) / 2**31
        return raw[: len(raw) // 2 * 2].reshape(-1, 2)

    def rms_of(self, index, volts):
        return volts * math.sqrt(numpy.mean(self.samples()[-9600:, index] ** 2))

    def dac(self):
        folder = self.tmp / "iio:device0"
        folder.mkdir()
        self.raw = folder / "out_voltage0_raw"
        self.raw.write_text("5555")
        (folder / "out_voltage0_scale").write_text("1.25")  # mV: 0 V at count 1000, 4.99875 V at 4999
        (folder / "out_voltage0_offset").write_text("-1000")
        (folder / "out_voltage0_raw_available").write_text("[1000 1 4999]")
        self.begin(DAC.replace("FOLDER", str(self.tmp)))

    def volts(self):
        """0.031 V at count 1000, 4.704 V at 4999. A file keeps what is left of a longer number: all have four digits."""
        count = int(re.match(r"\d+", self.raw.read_text())[0])
        return 0.031 + (count - 1000) * (4.704 - 0.031) / 3999

    def test_full_scale_of_each_output_of_a_card_is_what_the_meter_says(self):
        self.card()
        # Which output it is at is the hand that moves the probes: from the crank's to the cam's.
        at = iter((("crank", 0), ("cam", 1)))

        def world(quantity):
            self.assertEqual(quantity, "volts rms")
            name, index = next(at)
            self.assertEqual(numpy.max(numpy.abs(self.samples()[-9600:, 1 - index])), 0)  # the other is silent
            return self.rms_of(index, TRUE_V[name])

        code, said, err = self.calibrate("card", ["", ""], "--meter", self.meter(world))
        self.assertEqual(code, 0, said + err)
        found = dict(re.findall(r"(crank|cam): \{full_scale_v: ([\d.]+)\}", said))
        for name, true in TRUE_V.items():
            self.assertAlmostEqual(float(found[name]) / true, 1, delta=0.001, msg=name)
        self.assertIn("(5 V was stated: 13.8 % less)", said)  # (5 - 4.31) / 5
        # What was played is 1 kHz, at half of full scale.
        played = self.samples()[:, 0]
        heard = numpy.nonzero(numpy.abs(played) > 0.4)[0]
        tone = played[heard[0] + 2400: heard[0] + 2400 + 24000]
        spectrum = numpy.abs(numpy.fft.rfft(tone)) / 12000
        self.assertEqual(numpy.argmax(spectrum), 500)  # 24,000 samples at 48 kHz: bins of 2 Hz
        self.assertAlmostEqual(spectrum[500], 0.5, 3)
        self.assertLess(numpy.sqrt(numpy.sum(spectrum**2) - spectrum[500] ** 2), 0.005)

    def test_a_typed_value_may_be_in_another_unit_and_a_wild_one_is_refused(self):
        self.card()
        code, said, err = self.calibrate("card", ["1,9 furlongs", "1900 mV", "230"])
        self.assertEqual(code, 4, said + err)
        self.assertIn("unit 'furlongs' is not known", said)
        self.assertIn("full_scale_v: 5.374", said)  # 1.9 * 1.41421 / 0.5
        self.assertRegex(" ".join(said.split()), r"REFUSED: 230 V rms would be a full scale of 650.5 V, and 2 V is stated")
        self.assertNotIn("cam: {", said)

    def test_nothing_is_played_without_arming(self):
        self.card()
        code, said, err = self.calibrate("card", [], arm="other")
        self.assertEqual(code, 2)
        self.assertIn("Nothing was driven", err)
        self.assertIn("1000 Hz at half of full scale", err)
        heard = self.tmp / "heard.raw"
        self.assertFalse(heard.exists() and heard.stat().st_size)

    def test_a_dac_is_the_line_through_both_ends_and_is_written_where_it_stands(self):
        self.dac()
        before = self.bench.read_text()
        address = self.meter(lambda quantity: self.volts())
        code, said, err = self.calibrate("volts", ["", ""], "--meter", address, "--write")
        self.assertEqual(code, 0, said + err)
        self.assertEqual(self.raw.read_text().strip(), "1000")  # safe again
        written = "supply_v: 5, at_lowest_v: 0.031, at_highest_v: 4.704, lowest_count: 1000, highest_count: 4999}  # on the left"
        self.assertEqual(self.bench.read_text(), before.replace("supply_v: 5}  # on the left", written))
        # What is stated now is what is measured again: nothing is off.
        code, said, err = self.calibrate("volts", ["", ""], "--meter", address)
        self.assertEqual(code, 0, said + err)
        self.assertEqual(len(re.findall(r"was stated: the same", said)), 2, said)

    def test_a_meter_that_is_silent_leaves_the_hand(self):
        self.dac()
        code, said, err = self.calibrate("volts", ["", "0.03 V", "4.7"], "--meter", self.meter(lambda quantity: 0, "complains"))
        self.assertEqual(code, 0, said + err)
        self.assertIn("Settings conflict", said)
        self.assertIn("at_lowest_v: 0.03, at_highest_v: 4.7", said)

    def test_a_deaf_meter_is_waited_for_before_anything_is_driven(self):
        """Its three seconds are more than the guard of an armed output waits for a sign of life."""
        self.dac()
        code, said, err = self.calibrate("volts", ["0.03", "4.7"], "--meter", self.meter(lambda quantity: 0, "deaf"))
        self.assertEqual(code, 0, said + err)
        self.assertIn("The meter is not there", said)
        self.assertIn("at_lowest_v: 0.03, at_highest_v: 4.7", said)

    def test_two_channels_on_one_line_are_written_each_into_its_own(self):
        self.card()
        text = self.bench.read_text()
        crank, cam = "crank: {output: 1, full_scale_v: 5, most_v: 4, corner_hz: 0}", \
            "cam: {output: 2, full_scale_v: 2, most_v: 1.5, corner_hz: 0}"
        block = f"    channels:\n      {crank}\n      {cam}\n"
        self.assertIn(block, text)
        # Longer than what is written in its place: what stands behind it moves.
        one_line = f"    channels: {{{crank}, {cam}}}\n".replace("5,", "5.0000000000,", 1)
        self.bench.write_text(text.replace(block, one_line))
        code, said, err = self.calibrate("card", ["1.523456", "0.7"], "--write")  # times 2 sqrt 2: 4.309, 1.98
        self.assertEqual(code, 0, said + err)
        want = one_line.replace("full_scale_v: 5.0000000000,", "full_scale_v: 4.309,").replace("full_scale_v: 2,", "full_scale_v: 1.98,")
        self.assertIn(want, self.bench.read_text())

    def test_stopped_in_the_middle_it_is_safe(self):
        self.dac()
        code, said, err = self.calibrate("volts", ["0.03", "q"])
        self.assertEqual(code, 4, said + err)
        self.assertEqual(self.raw.read_text().strip(), "1000")
        self.assertNotIn("For the bench", said)

    def test_another_output_is_named(self):
        self.dac()
        code, _, err = self.calibrate("volt", [])
        self.assertEqual(code, 2)
        self.assertIn("no output 'volt'; did you mean 'volts'?", err)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
