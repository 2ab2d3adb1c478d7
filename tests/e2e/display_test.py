#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A display from outside (python_display.py: python-can, its own decoding) under `drycrank display sweep`: right, it is
accepted; each of its settings wrong in turn, small ones too, is found, in its readout and in no other, and named. A display
that only listens is read by a scripted person.

    display_test.py DRYCRANK PROFILES
"""
import json
import pathlib
import re
import signal
import subprocess
import sys
import tempfile
import time
import unittest
import xml.etree.ElementTree

from display_case import DRYCRANK, PROFILES, SweptDisplay, run

# What is wrong, where it must be found, a sentence about it, and the setting with what is to be typed.
WRONG = [
    ({"coolant": {"scale": 1.02}}, "coolant", "now shows", "scale of temps.coolant: the display has 1.02; type 1 instead"),
    ({"coolant": {"above": 107}}, "coolant", "warning now comes above 107 °C, was 110 °C",
     "warn_above of gauge coolant: the display has 107; type 110 instead"),
    ({"coolant": {"back": 2}}, "coolant", "the high warning now ends at 108 °C, was 106 °C",
     "hysteresis of gauge coolant: the display has 2; type 4 instead"),
    ({"oil": {"decimals": 0}}, "oil", "now shows no digit behind the point, was 1 digit",
     "decimals of gauge oil: the display has 0; type 1 instead"),
    ({"air": {"page": 1}}, "air", "now stands on page 1, was on page 2", "page of gauge air: the display has 1; type 2 instead"),
    ({"air": {"unit": "degF"}}, "air", "unit now °F, was °C", "unit of gauge air: the display has degF; type degC instead"),
    ({"oil": {"order": "little"}}, "oil", "now shows", "byte_order of temps.oil: the display has little, start_bit 16; type big, start_bit 23 instead"),
    ({"air": {"offset": 0}}, "air", "now shows", "offset of temps.air: the display has 0; type -40 instead"),
    ({"gear": {"signed": False}}, "gear", "now shows", "is_signed of body.gear: the display has false; type true instead"),
    ({"coolant": {"gone_s": 1.0}}, "coolant", "without its message the value is now gone after 1 s, was after 0.5 s",
     "stale_ms of gauge coolant: the display has 1000; type 500 instead"),
    ({"air": {"first": 0}}, "air", "now shows", "signal of gauge air: the display has temps.coolant; type temps.air instead"),
    ({"oil": {"below": 16}}, "oil", "warning now comes below 16 psi, was 15 psi",
     "warn_below of gauge oil: the display has 16; type 15 instead"),
    ({"coolant": {"scale": 0.98}}, "coolant", "now shows", "scale of temps.coolant: the display has 0.98; type 1 instead"),
    ({"coolant": {"offset": -41}}, "coolant", "now shows", "offset of temps.coolant: the display has -41; type -40 instead"),
    ({"coolant": {"above": 111}}, "coolant", "warning now comes above 111 °C, was 110 °C",
     "warn_above of gauge coolant: the display has 111; type 110 instead"),
    ({"coolant": {"back": 5}}, "coolant", "the high warning now ends at 105 °C, was 106 °C",
     "hysteresis of gauge coolant: the display has 5; type 4 instead"),
    ({"coolant": {"none_code": None}}, "coolant", "when its message has no value it now shows '215', was nothing",
     "not_available of temps.coolant: the display has none; type 255 instead"),
    # How fast it blinks is not told: found, and no setting can be named.
    ({"coolant": {"lamp": 2}}, "coolant", "while it warns the lamp is now lit blinks, was lit", None),
    ({"oil": {"scale": 0.101}}, "oil", "now shows", "scale of temps.oil: the display has 0.101; type 0.1 instead"),
    ({"oil": {"unit": "bar"}}, "oil", "unit now bar, was psi", "unit of gauge oil: the display has bar; type psi instead"),
    ({"oil": {"back": 2}}, "oil", "the low warning now ends at 17 psi, was 18 psi",
     "hysteresis of gauge oil: the display has 2; type 3 instead"),
    ({"oil": {"page": 2}}, "oil", "now stands on page 2, was on page 1", "page of gauge oil: the display has 2; type 1 instead"),
    ({"gear": {"scale": 2}}, "gear", "now shows", "scale of body.gear: the display has 2; type 1 instead"),
    ({"gear": {"gone_s": 0.3}}, "gear", "without its message the value is now gone after 0.3 s, was after 0.5 s",
     "stale_ms of gauge gear: the display has 300; type 500 instead"),
]
SEEDS = (2, 3, 4)  # where all other values rest, besides 1


BESIDES = """\
kind: bench
name: besides
engine: {strokes: 4, firing_order: [1, 3, 4, 2]}
buses:
  vehicle:
    messages:
      temps:
        id: 0x140
        period_ms: 100 ms
        signals:
          coolant: {start_bit: 0, length_bits: 8, offset: -40, not_available: 255, unit: degC}
          ignition: {start_bit: 8, length_bits: 1}
readouts:
  coolant: {signal: temps.coolant, unit: degC, not_available: n/a}
switching: {dark_ms: 300, key: temps.ignition, off_after_ms: 1000}
"""


class Display(SweptDisplay):
    def test_a_right_one_is_accepted_and_each_wrong_setting_is_found_and_named(self):
        out = self.tmp / "out"
        right = self.swept({}, out)
        self.assertEqual(right.returncode, 0, right.stdout + right.stderr)
        self.assertIn("nothing changed: 4 readouts", right.stdout)
        accepted = run("display", "sweep", self.bench, "--out", out, "--accept", "--by", "R. Fitter")
        self.assertEqual(accepted.returncode, 0, accepted.stderr)
        self.assertIn("# accepted by: R. Fitter", (out / "accepted.csv").read_text())
        again = self.swept({}, out)
        self.assertEqual(again.returncode, 0, again.stdout)
        self.assertIn("Against what R. Fitter has accepted:\nnothing changed: 4 readouts", again.stdout)
        others = self.all_swept([({}, self.tmp / f"seed{seed}", "--seed", seed) for seed in SEEDS])
        for seed, other in zip(SEEDS, others):
            self.assertEqual(other.returncode, 0, other.stdout)
            self.assertIn("nothing changed: 4 readouts", run("compare", out / "accepted.csv", self.tmp / f"seed{seed}").stdout)
        self.each_wrong_one_is_found((out / "accepted.csv").read_text())

    def each_wrong_one_is_found(self, accepted):
        outs = [self.tmp / f"wrong{place}" for place in range(len(WRONG))]
        for out in outs:
            out.mkdir()
            (out / "accepted.csv").write_text(accepted)
        swept = self.all_swept([(settings, out, "--json", out / "c.json", "--seed", 1 + place % 4)
                                for place, ((settings, *_), out) in enumerate(zip(WRONG, outs))])
        for (settings, readout, sentence, setting), out, wrong in zip(WRONG, outs, swept):
            with self.subTest(settings=settings):
                self.assertEqual(wrong.returncode, 1, wrong.stdout + wrong.stderr)
                changes = json.loads((out / "c.json").read_text())["changes"]
                self.assertEqual({c["readout"] for c in changes}, {readout}, changes)
                self.assertIn(sentence, " | ".join(c["sentence"] for c in changes))
                if setting:
                    named = run("display", "setting", self.bench, out)
                    self.assertEqual(named.returncode, 1)
                    self.assertIn(setting, named.stdout)
                compared = run("compare", out / "accepted.csv", out)
                self.assertEqual(compared.returncode, 1)
                self.assertIn("nothing else changed: 3 readouts", compared.stdout)

    def test_a_person_is_asked_and_goes_on_where_it_stopped(self):
        out = self.tmp / "asked"
        first = self.answered(out, ["71", "", "stop"])
        self.assertEqual(first.returncode, 4, first.stdout + first.stderr)
        self.assertIn("readings.csv; the same with --resume goes on", first.stdout)
        kept = (out / "readings.csv").read_text()
        self.assertIn("1,1,coolant,71,,2", kept)
        again = self.answered(out, [])
        self.assertEqual(again.returncode, 2)
        self.assertIn("--resume goes on with it", again.stderr)
        rest = self.answered(out, ["7.5", "30"], "--resume")
        self.assertNotIn("  coolant: ", rest.stdout.split("Against what must be shown")[0], "it was answered before")
        self.assertTrue((out / "readings.csv").read_text().startswith(kept))
        self.assertEqual((out / "readings.csv").read_text().count("1,1,coolant,"), 1)
        self.bench.write_text(self.bench.read_text() + "# another\n")
        changed = self.answered(out, [], "--resume")
        self.assertEqual(changed.returncode, 2)
        self.assertIn("has changed since this sweep began", changed.stderr)

    def answered(self, out, lines, *more):
        """A sweep by a person who types these lines; "stop" is Ctrl-C."""
        words = [DRYCRANK, "display", "sweep", self.bench, "--out", out, "--person", "--bus", "vehicle=multicast", *more]
        asked = subprocess.Popen([*map(str, words)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for line in lines:
            time.sleep(0.4)
            if line == "stop":
                asked.send_signal(signal.SIGINT)
            else:
                asked.stdin.write(line + "\n")
                asked.stdin.flush()
        if "stop" in lines:
            time.sleep(0.4)
        stdout, stderr = asked.communicate(timeout=120)
        return subprocess.CompletedProcess(words, asked.returncode, stdout, stderr)

    def test_what_it_does_besides_is_asked_on_the_terminal_and_kept(self):
        bench, out = self.tmp / "besides.yaml", self.tmp / "besides"
        bench.write_text(BESIDES)
        words = [DRYCRANK, "display", "sweep", bench, "--out", out, "--person", "--bus", "vehicle=multicast"]
        first = subprocess.run(map(str, words), input="71\n\n\n\n\n\nn/a\nsoon\n1 s\n", capture_output=True, text=True, timeout=120)
        self.assertEqual(first.returncode, 4, first.stdout + first.stderr)
        self.assertIn("Page 1, its message says that it has no value: what stands there?", first.stdout)
        self.assertIn("'soon' is no time", first.stdout)
        self.assertNotIn("Switch the display off and on", first.stdout, "it remembers nothing")
        kept = (out / "readings.csv").read_text()
        self.assertIn("\nnot available,1,coolant,n/a,,2", kept)
        self.assertIn("\nstands after,1,coolant,1 s,,2", kept)
        self.assertRegex(first.stdout, r"not shown: page 1: \d of 9 answers are missing: coolant: [2-6, ]*off after\n")
        self.assertIn("next: the same command with --resume asks for what is missing, and for nothing else\n", first.stdout)
        rest = subprocess.run(map(str, [*words, "--resume"]), input="39\n\n\n\n\n1\n", capture_output=True, text=True, timeout=120)
        self.assertEqual(rest.returncode, 4, rest.stdout + rest.stderr)
        self.assertNotIn("has no value: what", rest.stdout)
        self.assertIn("the key has just gone off", rest.stdout)
        self.assertTrue((out / "readings.csv").read_text().startswith(kept))
        self.assertIn("\noff after,1,coolant,1,,2", (out / "readings.csv").read_text())

    def test_one_that_remembers_is_to_be_switched_on_anew_and_sees_again_what_was_answered(self):
        bench, out = self.tmp / "remembers.yaml", self.tmp / "remembers"
        bench.write_text(BESIDES.replace("not_available: n/a}", "keeps: highest}"))
        words = [DRYCRANK, "display", "sweep", bench, "--out", out, "--person", "--bus", "vehicle=multicast"]
        first = subprocess.run(map(str, words), input="71\n71\n", capture_output=True, text=True, timeout=120)
        self.assertTrue(first.stdout.startswith("Switch the display off and on before you begin"), first.stdout)
        # By hand: 7/16 of 254 is 111 steps, 71 °C; 5/16 is less, and 71 is kept; the far end is 214.
        rest = subprocess.run(map(str, [*words, "--resume"]), input="\n\n\n\n\n214\n", capture_output=True, text=True, timeout=120)
        self.assertEqual(rest.returncode, 4, rest.stdout + rest.stderr)
        self.assertNotIn("Switch the display off and on", rest.stdout)
        self.assertIn("nothing changed: 1 readout and 3 points identical", rest.stdout)

    def test_a_camera_that_is_none_is_said(self):
        for device, why in (("/dev/video_none", "open: No such file"), ("/dev/null", "it is no camera")):
            out = subprocess.run([DRYCRANK, "display", "sweep", self.bench, "--out", self.tmp / "camera", "--camera", device, "--marks",
                                  self.bench, "--bus", "vehicle=multicast"], input="\n", capture_output=True, text=True, timeout=60)
            self.assertEqual(out.returncode, 3, out.stdout + out.stderr)
            self.assertIn(f"{device}: {why}", out.stderr)
            self.assertIn("ls /dev/video*", out.stderr)

    def test_one_that_smooths_is_waited_for(self):
        out = self.swept({"air": {"smooth_s": 0.2}}, self.tmp / "smooth")
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)

    def test_limits_of_one_that_smooths_come_out_as_they_are(self):
        """A low pass of first order stays a little on the side that it came from, for the display and for what must be."""
        smooth = {"coolant": {"smooth_s": 0.05}, "oil": {"smooth_s": 0.04}}
        wrongs = (
            ("coolant", "back", 5, "the high warning ends at ", "hysteresis of gauge coolant: the display has 5; type 4 instead"),
            ("oil", "below", 15.3, "warning comes below 15.3 psi, must be 15 psi", "warn_below of gauge oil: the display has 15.3; type 15 instead"))
        began = time.monotonic()
        one = self.swept({"oil": smooth["oil"]}, self.tmp / "one_smooth")
        one_s = time.monotonic() - began
        self.assertEqual(one.returncode, 0, one.stdout + one.stderr)
        began = time.monotonic()
        right = self.swept(smooth, self.tmp / "limits")
        self.assertLess(time.monotonic() - began, 1.4 * one_s, "two come to their ends at the same time (one after the other: 1.6)")
        swept = self.all_swept([
            ({**smooth, name: {**smooth[name], key: value}}, self.tmp / f"limits_{name}") for name, key, value, *_ in wrongs])
        self.assertEqual(right.returncode, 0, right.stdout + right.stderr)
        shown = (self.tmp / "limits/shown.csv").read_text()
        self.assertIn("# smoothed: coolant\n# smoothed: oil\n", shown)
        self.assertIn("coolant,warns above,110,0,quiet at 110; warns at 111,", shown)
        self.assertIn("oil,warns below,15,0,", shown)
        for (name, key, _, sentence, setting), wrong in zip(wrongs, swept):
            with self.subTest(name=name, key=key):
                self.assertEqual(wrong.returncode, 1, wrong.stdout + wrong.stderr)
                self.assertIn(f"{name}: {sentence}", wrong.stdout)
                self.assertIn("nothing else changed: 3 readouts", wrong.stdout)
                self.assertIn(setting, run("display", "setting", self.bench, self.tmp / f"limits_{name}").stdout)

    def test_one_that_tells_every_300_ms_is_not_held_to_less(self):
        slow = self.tmp / "slow.yaml"
        of_air = re.sub(r"\n  (coolant|oil|gear): \{signal[^\n]*", "", self.bench.read_text())
        slow.write_text(of_air.replace("sender: display\n        period_ms: 5 ms", "sender: display\n        period_ms: 300 ms"))
        out = self.swept({"echo_s": 0.3}, self.tmp / "slow", bench=slow)
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)


class Shipped(unittest.TestCase):
    """The hill-climb bench and its stand-in: what is kept, compared, accepted."""

    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = pathlib.Path(folder.name)
        cls.text = pathlib.Path(PROFILES, "benches/hill_climb.yaml").read_text().replace("../parts/", f"{PROFILES}/parts/")
        cls.bench = cls.tmp / "hill_climb.yaml"
        cls.bench.write_text(cls.text)

    def sweep(self, out, *more, bench=None):
        return run("display", "sweep", bench or self.bench, "--out", self.tmp / out, *more)

    def edited(self, was, now):
        self.assertEqual(self.text.count(was), 1, was)
        bench = self.tmp / "edited.yaml"
        bench.write_text(self.text.replace(was, now))
        return bench

    def test_the_same_sweep_twice_is_the_same_file(self):
        for out in ("one", "two"):
            self.assertEqual(self.sweep(out).returncode, 0)
        one = (self.tmp / "one/shown.csv").read_bytes()
        self.assertEqual(one, (self.tmp / "two/shown.csv").read_bytes())
        self.assertNotIn(str(self.tmp).encode(), one)
        compared = run("compare", self.tmp / "one", self.tmp / "two")
        self.assertEqual(compared.returncode, 0)
        self.assertRegex(compared.stdout, r"^nothing changed: 27 readouts and \d+ points identical\n$")

    def test_what_the_page_of_displays_says_of_the_shipped_bench_is_shown(self):
        self.sweep("quoted")
        shown = (self.tmp / "quoted" / "shown.csv").read_text().splitlines()
        page = pathlib.Path(PROFILES, "../hw-notes/displays.md").read_text()
        quoted = re.findall(r"^    ((?:brake_fluid|fuel_level),.*)$", page, re.M)
        self.assertEqual(len(quoted), 6)
        for line in quoted:
            self.assertIn(line, shown)

    def test_another_seed_is_a_note_and_changes_nothing(self):
        self.sweep("seed1")
        self.assertEqual(self.sweep("seed2", "--seed", "2").returncode, 0)
        compared = run("compare", self.tmp / "seed1", self.tmp / "seed2")
        self.assertEqual(compared.returncode, 0)
        self.assertIn("note: seed now 2, was 1", compared.stdout)

    def test_one_limit_changed_is_found_compared_and_named(self):
        self.sweep("before")
        bench = self.edited("unit: degC, warn_above: 112", "unit: degC, warn_above: 107")
        after = self.sweep("after", "--junit", self.tmp / "j.xml", bench=bench)
        self.assertEqual(after.returncode, 1)
        self.assertIn("coolant: warning comes above 107 °C, must be 112 °C", after.stdout)
        cases = xml.etree.ElementTree.parse(self.tmp / "j.xml").getroot().findall(".//testcase")
        self.assertEqual(len(cases), 27)
        self.assertEqual([c.get("name") for c in cases if c.find("failure") is not None], ["coolant"])
        compared = run("compare", self.tmp / "before", self.tmp / "after")
        self.assertEqual(compared.returncode, 1)
        self.assertIn("coolant: warning now comes above 107 °C, was 112 °C", compared.stdout)
        self.assertIn("nothing else changed: 26 readouts", compared.stdout)
        self.assertIn("note: the bench's files are not the same", compared.stdout)
        named = run("display", "setting", self.bench, self.tmp / "after")
        self.assertIn("warn_above of gauge coolant: the display has 107; type 112 instead", named.stdout)
        own = run("display", "setting", bench, self.tmp / "after")
        self.assertIn("the bench's display section has 107; 112 is right", own.stdout)

    def test_what_changed_is_drawn_side_by_side(self):
        self.sweep("before")
        text = self.text
        for was, now in (("unit: degC, warn_above: 112", "unit: degC, warn_above: 107"), ("unit: psi, warn_below: 15", "unit: bar, warn_below: 15")):
            self.assertEqual(text.count(was), 1)
            text = text.replace(was, now)
        bench = self.tmp / "two.yaml"
        bench.write_text(text)
        self.sweep("after", bench=bench)
        page = self.tmp / "changed.html"
        out = run("compare", self.tmp / "before", self.tmp / "after", "--html", page)
        self.assertEqual(out.returncode, 1, out.stderr)
        root = xml.etree.ElementTree.fromstring(page.read_text().removeprefix("<!DOCTYPE html>\n"))
        svgs = root.findall(".//{http://www.w3.org/2000/svg}svg")
        self.assertEqual([svg[0].text for svg in svgs], ["As it was, page 1", "As it is now, page 1"])
        self.assertEqual([h.text for h in root.iter("h2")][:2], ["What changed", "Page 1"])
        said = "".join(root.itertext())
        self.assertIn("warning now comes above 107 °C, was 112 °C", said.replace("\u00a0", " "))
        self.assertIn("coolant at 11", said.replace("\u00a0", " "))
        self.assertIn("accepted bynobody yetnobody yet", said)
        self.assertLessEqual(max(len(row) for row in root.iter("tr")), 3, "more columns scroll sideways on a phone")
        again = self.tmp / "same.html"
        run("compare", self.tmp / "before", self.tmp / "before", "--html", again)
        self.assertIn("Nothing changed.", again.read_text())
        self.assertNotIn("<svg", again.read_text())

    def test_accepted_is_what_somebody_looked_at(self):
        bench = self.edited("unit: degC, warn_above: 112", "unit: degC, warn_above: 107")
        self.assertEqual(self.sweep("kept", bench=bench).returncode, 1)
        nobody = self.sweep("kept", "--accept")
        self.assertEqual(nobody.returncode, 2)
        self.assertIn("--by NAME", nobody.stderr)
        self.refused("kept", bench, "it contradicts what must be shown (coolant); put the display right, or")
        self.refused("kept", self.bench, "has changed since it was swept; sweep again, then accept")
        self.assertEqual(self.sweep("kept").returncode, 0)
        self.assertEqual(self.sweep("kept", "--accept", "--by", "R. Fitter").returncode, 0)
        wrong = self.sweep("kept", bench=bench)
        self.assertEqual(wrong.returncode, 1)
        self.assertIn("Against what R. Fitter has accepted:\ncoolant: warning now comes above 107 °C, was 112 °C", wrong.stdout)

    def refused(self, out, bench, why):
        before = {file.name: file.read_bytes() for file in (self.tmp / out).iterdir()}
        tried = self.sweep(out, "--accept", "--by", "R. Fitter", bench=bench)
        self.assertEqual(tried.returncode, 2, tried.stdout)
        self.assertIn(why, tried.stderr)
        self.assertEqual({file.name: file.read_bytes() for file in (self.tmp / out).iterdir()}, before)

    def test_a_result_that_was_changed_after_it_was_judged_is_not_accepted(self):
        """Each edit contradicts what the bench says must be shown: a limit of 112 °C, a red lamp above it, numbers as sent."""
        self.assertEqual(self.sweep("changed").returncode, 0)
        file = self.tmp / "changed/shown.csv"
        good = file.read_text()
        edits = [(r"(?m)^(coolant,warns above),112,", r"\1,77,"), (r"(?m)^(coolant,up,.*),warning,red$", r"\1,ok,"),
                 (r"(?m)^(coolant,up,[^,]*,1),[^,]*,", r"\1,55,"), (r"(?m)^coolant,(up|down),.*\n", ""),
                 (r"(?m)^# seed: 1$", "# seed: one")]
        for was, now in edits:
            with self.subTest(was=was):
                changed = re.sub(was, now, good)
                self.assertNotEqual(changed, good)
                file.write_text(changed)
                if "seed" in was:
                    self.refused("changed", self.bench, "it does not say with which seed")
                    continue
                self.refused("changed", self.bench, "it was changed since, or judged by another version; sweep again, then accept")
                if ",77," in now:
                    said = self.sweep("changed", "--accept", "--by", "R. Fitter").stderr
                    self.assertIn("coolant: warns above: written as 77, must be 112\n", said)
                self.assertRegex(self.sweep("changed", "--accept", "--by", "R. Fitter").stderr, "(?m)^coolant: ")
        self.says_both_places(good, file, "coolant", ("quiet at 112; warns at 113", "quiet at 77; warns at 113"))
        self.assertIn("coolant: warning comes otherwise: quiet at 77; warns at 113 °C, must be quiet at 112; warns at 113 °C\n",
                      self.sweep("changed", "--accept", "--by", "R. Fitter").stderr)
        self.says_both_places(good, file, "brake_fluid", ("after the warning,,3,ok,,ok,brake blinks 2 Hz", "after the warning,,3,ok,,ok,"))
        file.write_text(good)
        self.assertEqual(self.sweep("changed", "--accept", "--by", "R. Fitter").returncode, 0)

    def says_both_places(self, good, file, readout, edit):
        """The line that was changed, and the line of readouts that it contradicts."""
        self.assertEqual(good.count(edit[0]), 1)
        file.write_text(good.replace(*edit))
        at = 1 + file.read_text()[:good.index(edit[0])].count("\n")
        readouts = pathlib.Path(PROFILES, "parts/displays/hill_climb_readouts.yaml")
        must = 1 + [line.split(":")[0].strip() for line in readouts.read_text().splitlines()].index(readout)
        said = self.sweep("changed", "--accept", "--by", "R. Fitter")
        self.assertEqual(said.returncode, 2, said.stdout)
        self.assertRegex(said.stderr, rf"(?m)changed/shown\.csv:{at}:1: {readout}, .*; \S*hill_climb_readouts\.yaml:{must}:\d+: must be '")

    def test_a_lamp_changed_in_what_was_accepted_is_said_with_both_places(self):
        self.sweep("lamp")
        self.assertEqual(self.sweep("lamp", "--accept", "--by", "R. Fitter").returncode, 0)
        file = self.tmp / "lamp/accepted.csv"
        good = file.read_text()
        line = "brake_fluid,after the warning,,3,ok,,ok,brake blinks 2 Hz"
        self.assertEqual(good.count(line), 1)
        file.write_text(good.replace(line, line.replace("brake blinks 2 Hz", "")))
        again = self.sweep("lamp")
        self.assertEqual(again.returncode, 1, again.stdout)
        at = 1 + good[:good.index(line)].count("\n")
        self.assertRegex(again.stdout, rf"(?m)lamp/accepted\.csv:{at}:1: brake_fluid, after the warning: lamp dark; \S+readouts\.yaml:\d+:\d+: must be 'brake blinks 2 Hz'$")

    def test_another_result_is_not_accepted_over_a_kept_one_unasked(self):
        self.sweep("over")
        self.assertEqual(self.sweep("over", "--accept", "--by", "R. Fitter").returncode, 0)
        kept = (self.tmp / "over/accepted.csv").read_bytes()
        self.assertEqual(self.sweep("over", "--accept", "--by", "R. Fitter").returncode, 0, "nothing is lost")
        other = self.sweep("over", "--accept", "--by", "S. Welder")
        self.assertEqual(other.returncode, 2)
        self.assertIn("would be lost: accepted by R. Fitter; now it is S. Welder\n", other.stderr)
        # The limit that must be shown was another, and so is the display.
        bench = self.tmp / "hotter.yaml"
        readouts = pathlib.Path(PROFILES, "parts/displays/hill_climb_readouts.yaml").read_text()
        self.assertEqual(readouts.count("warn_above: 112"), 1)
        (self.tmp / "readouts.yaml").write_text(readouts.replace("warn_above: 112", "warn_above: 114").replace("warn_above_ends: 108", "warn_above_ends: 110"))
        text = self.text.replace("unit: degC, warn_above: 112", "unit: degC, warn_above: 114")
        where = f"{PROFILES}/parts/displays/hill_climb_readouts.yaml"
        self.assertEqual(text.count(where), 1)
        bench.write_text(text.replace(where, str(self.tmp / "readouts.yaml")))
        self.assertEqual(self.sweep("over", bench=bench).returncode, 1)
        self.refused("over", bench, "would be lost: coolant: warning now comes above 114 °C, was 112 °C\n")
        self.refused("over", bench, "accepted.csv is what R. Fitter has accepted, and that would be lost; give --overwrite")
        self.assertEqual((self.tmp / "over/accepted.csv").read_bytes(), kept)
        replaced = self.sweep("over", "--accept", "--overwrite", "--by", "R. Fitter", bench=bench)
        self.assertEqual(replaced.returncode, 0, replaced.stderr)
        self.assertIn("replaced: coolant: warning now comes above 114 °C, was 112 °C\n", replaced.stdout)
        self.assertEqual(self.sweep("over", bench=bench).returncode, 0)

    def test_a_result_of_another_bench_is_not_accepted_over_a_kept_one(self):
        self.sweep("other")
        self.sweep("other", "--accept", "--by", "R. Fitter")
        bench = self.edited("name: hill_climb\n", "name: another\n")
        self.refused("other", bench, "it is of bench hill_climb, not another")
        self.assertEqual(self.sweep("other", bench=bench).returncode, 0)
        self.refused("other", bench, "is what bench hill_climb was accepted with; give another --out")

    def test_where_readouts_are_missing_nothing_is_accepted(self):
        self.sweep("part", "--echo")
        self.refused("part", self.bench, "; let the display tell them, or ask a person (--person)")

    def test_seen_by_its_echo_the_rest_is_not_shown(self):
        out = self.sweep("echo", "--echo")
        self.assertEqual(out.returncode, 4, out.stdout)
        self.assertIn("6 readouts", out.stdout)
        self.assertEqual(out.stdout.count("no message of the display tells it\n"), 21)
        self.assertIn("coolant: no message of the display tells its ", out.stdout)
        setting = run("display", "setting", self.bench, self.tmp / "echo")
        self.assertEqual(setting.returncode, 4, setting.stdout)
        nothing_of = re.search(r"(?m)^not shown: nothing of (.*)$", setting.stdout)
        self.assertEqual(len(nothing_of.group(1).split(", ")), 21)

    def test_a_lamp_that_is_left_out_is_none_and_another_benchs_result_says_nothing(self):
        bench = self.edited("unit: degC, warn_above: 112, lamp: red", "unit: degC, warn_above: 112")
        self.assertEqual(self.sweep("no_lamp", bench=bench).returncode, 1)
        setting = run("display", "setting", self.bench, self.tmp / "no_lamp")
        self.assertIn("lamp of gauge coolant: the display has none; type red instead\n", setting.stdout)
        (self.tmp / "other.csv").write_text("# drycrank: what it showed\n# format: 1\n# bench: other\nreadout,step,input,page,text,unit,state,lamp\n"
                                            "another,up,1,1,1,,ok,\n")
        other = run("display", "setting", self.bench, self.tmp / "other.csv")
        self.assertEqual(other.returncode, 2)
        self.assertIn("is of bench other, and ", other.stderr)
        self.assertNotIn("must be shown", other.stdout)

    def test_settings_that_show_the_same_are_both_named_and_none_stands_above(self):
        """Held at 0, gear -1 has the word of 0."""
        was = re.search(r"(?m)^ +gear: \{.*min: -1,.*values.*\n", self.text).group(0)
        bench = self.edited(was, was.replace("min: -1", "min: 0"))
        self.assertEqual(self.sweep("alike", bench=bench).returncode, 1)
        setting = run("display", "setting", self.bench, self.tmp / "alike")
        self.assertEqual(setting.returncode, 1)
        self.assertIn("\neither name of -1 of gauge gear: the display has N; type R instead\n"
                      "or min of gauge gear: the display has 0; type -1 instead\n"
                      "What is shown is the same with either: look at both.\n", setting.stdout)

    def test_files_that_are_none_are_refused(self):
        self.assertEqual(run("compare", self.bench, self.bench).returncode, 2)
        self.assertEqual(run("compare", self.tmp / "nowhere", self.bench).returncode, 2)
        self.assertEqual(run("display", "setting", self.bench, self.bench).returncode, 2)
        nothing = self.tmp / "nothing.yaml"
        nothing.write_text("kind: bench\nname: nothing\nengine: {firing_order: [1]}\n")
        out = self.sweep("none", bench=nothing)
        self.assertEqual(out.returncode, 2)
        self.assertIn("says of no value that it must be shown", out.stderr)


class Person(unittest.TestCase):
    """The hill-climb display without its own messages: it only listens."""

    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = pathlib.Path(folder.name)
        cls.bench = cls.tmp / "bench.yaml"
        cls.bench.write_text("""\
kind: bench
name: listens
engine: {strokes: 4, firing_order: [1, 3, 4, 2]}
buses:
  vehicle:
    messages:
      temps:
        id: 0x140
        period_ms: 100 ms
        signals:
          coolant: {start_bit: 0, length_bits: 8, offset: -40, unit: degC}
          oil: {start_bit: 23, length_bits: 16, byte_order: big, scale: 0.01, max: 10, unit: bar}
          gear: {start_bit: 32, length_bits: 8, offset: -1, unit: count, max: 6, min: -1}
readouts:
  coolant: {signal: temps.coolant, unit: degC, page: 1, warn_above: 110, lamp: red}
  oil: {signal: temps.oil, unit: bar, decimals: 1, page: 1}
  gear: {signal: temps.gear, unit: count, page: 2, values: {-1: R, 0: N}}
""")

    # By hand: raw 0 to 255 is -40 to 215 °C, 7/16 of the steps is 111; 110 is quiet, 111 warns. 0 to 10 bar in
    # steps of 0.01: 7/16 is 4.37, 5/16 is 3.12, 11/16 is 6.87. Gear -1 to 6: 7/16, 5/16 and 11/16 of 7 are 3, 2, 4.
    READ = {(1, "coolant"): "71 °C,", (2, "coolant"): "110,", (3, "coolant"): "111,red", (4, "coolant"): "-40,",
            (5, "coolant"): "215,red", (6, "coolant"): "---,",
            (1, "oil"): '"4,4 bar",', (2, "oil"): "3.1,", (3, "oil"): "6.9,", (4, "oil"): "0.0,", (5, "oil"): "10.0,",
            (6, "oil"): "---,",
            (1, "gear"): "2,", (2, "gear"): "1,", (3, "gear"): "3,", (4, "gear"): "R,", (5, "gear"): "6,", (6, "gear"): "---,"}

    def asked(self, readings, out, *more):
        answers = self.tmp / "answers.csv"
        page = {"coolant": 1, "oil": 1, "gear": 2}
        answers.write_text("question,page,readout,reading,lamp\n" + "".join(
            f"{q},{page[name]},{name},{text}\n" for (q, name), text in readings.items()))
        return run("display", "sweep", self.bench, "--out", self.tmp / out, "--answers", answers, "--by", "R. Fitter", *more)

    def test_all_answered_and_right(self):
        out = self.asked(self.READ, "right")
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        self.assertIn("nothing changed: 3 readouts and 18 points identical", out.stdout)
        file = self.tmp / "right" / "shown.csv"
        good = file.read_text()
        self.assertIn("# seen by: a person: R. Fitter", good)
        accept = ("display", "sweep", self.bench, "--out", self.tmp / "right", "--accept", "--by", "R. Fitter")
        changed = re.sub("(?m)^(coolant,up,111,.*),warning,red$", r"\1,ok,", good)
        self.assertNotEqual(changed, good)
        file.write_text(changed)
        refused = run(*accept)
        self.assertEqual(refused.returncode, 2, refused.stdout)
        self.assertIn("it was changed since, or judged by another version", refused.stderr)
        file.write_text(good)
        self.assertEqual(run(*accept).returncode, 0)

    def test_unanswered_is_not_shown(self):
        out = self.asked({key: text for key, text in self.READ.items() if key != (3, "gear")}, "part")
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        self.assertEqual([line for line in out.stdout.splitlines() if line.startswith("not shown: ")],
                         ["not shown: page 2: 1 of 6 answers is missing: gear: 3"])
        more = self.asked({key: text for key, text in self.READ.items() if key not in ((3, "coolant"), (3, "oil")) and key[1] != "gear"}, "more")
        self.assertEqual([line for line in more.stdout.splitlines() if line.startswith("not shown: ")],
                         ["not shown: page 1: 2 of 12 answers are missing: coolant, oil: 3", "not shown: page 2: none of 6 answers was given"])
        self.assertRegex(more.stdout, r"next: write what is missing into \S*answers\.csv and sweep again")

    def test_nothing_vanishes_when_nothing_is_answered(self):
        out = self.asked({}, "nothing")
        self.assertEqual(out.returncode, 4)
        accepted = run("display", "sweep", self.bench, "--out", self.tmp / "nothing", "--accept", "--by", "R. Fitter")
        self.assertEqual(accepted.returncode, 2)
        self.assertIn("it holds 0 facts", accepted.stderr)
        self.assertIn("\nnot shown: page 1: none of 12 answers was given\nnot shown: page 2: none of 6 answers was given\nnext: ", out.stdout)
        self.assertLess(len(out.stdout.splitlines()), 9)
        told = self.asked({}, "nothing", "--json", self.tmp / "nothing.json")
        self.assertEqual(told.returncode, 4)
        self.assertEqual(len(json.loads((self.tmp / "nothing.json").read_text())["not_shown"]), 18, "each for programs")

    def test_a_wrong_reading_fails(self):
        for key, text, sentence in (((2, "coolant"), "110,red", "coolant"), ((1, "oil"), "44 bar,", "oil"),
                                    ((4, "gear"), "P,", "'P' at -1, must be 'R'")):
            out = self.asked({**self.READ, key: text}, "wrong")
            self.assertEqual(out.returncode, 1, out.stdout)
            self.assertIn(sentence, out.stdout)

    def test_what_was_read_too_long_ago_is_not_shown(self):
        old = {**self.READ, (1, "gear"): "2,,2020-01-01T00:00:00Z"}
        out = self.asked(old, "old")
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        self.assertRegex(out.stdout, r"not shown: gear: question 1 on page 2 was read \S+ h ago, and at most 24 h count")
        undated = self.asked(self.READ, "undated", "--greatest-age", "2 h")
        self.assertEqual(undated.stdout.count("nobody wrote down when it was read"), 18)
        self.assertEqual(self.asked(self.READ, "bad_age", "--greatest-age", "soon").returncode, 2)

    def test_an_answer_to_no_question_is_bad_input(self):
        out = self.asked({**self.READ, (9, "oil"): "1,"}, "bad")
        self.assertEqual(out.returncode, 2)
        self.assertIn("there is no question '9'", out.stderr)


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], *sys.argv[3:]], verbosity=0)
