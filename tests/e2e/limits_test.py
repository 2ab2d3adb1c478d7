#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank limits` as a user types it: table, page, JSON and JUnit XML say the same, exit codes, bad input.

What is due is taken from the bench file's text by a reader of its own.
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree

DRYCRANK, PROFILES = sys.argv[1:3]
BENCH = f"{PROFILES}/benches/hill_climb.yaml"
NAMES = ["oil_pressure_low", "coolant_hot", "over_speed"]


def limits(*words):
    return subprocess.run([DRYCRANK, "limits", *words], capture_output=True, text=True, timeout=300)


def written(name, key):
    """A number of the bench's own section."""
    section = re.search(rf"\n  {name}:\n((?:    .*\n)+)", pathlib.Path(BENCH).read_text())[1]
    found = re.search(rf"^    {key}: (-?[\d.]+)", section, re.M)
    return float(found[1]) if found else None


class Limits(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.tmp = pathlib.Path(cls.folder.name)

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def test_the_shipped_bench_in_all_forms(self):
        page, data, junit = (self.tmp / name for name in ("a.html", "a.json", "a.xml"))
        out = limits(BENCH, "--out", page, "--json", data, "--junit", junit)
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        self.assertIn("3 of 3 protections act as they should.", out.stdout)
        self.assertIn("With its sensor's wire broken nothing protects any more: coolant_hot.", out.stdout)
        self.assertIn("Nothing real was judged", out.stdout)
        report = json.loads(data.read_text())
        self.assertEqual([one["name"] for one in report["limits"]], NAMES)
        for one in report["limits"]:
            due = written(one["name"], "below") or written(one["name"], "above")
            self.assertAlmostEqual(one["trips_at"], due, delta=0.02 * due)
            self.assertAlmostEqual(one["released_at"], written(one["name"], "release"), delta=0.02 * due)
            delay = written(one["name"], "delay_ms") or 0
            self.assertGreaterEqual(one["within_ms"], delay - 20)
            self.assertLess(one["within_ms"], delay + 200)
            self.assertEqual(one["verdict"], "met")
        self.assertAlmostEqual(report["limits"][1]["limited_to_rpm"], 4000, delta=80)
        self.assertFalse(report["controller_real"])
        suite = xml.etree.ElementTree.parse(junit).getroot()
        self.assertEqual((suite.get("tests"), suite.get("failures"), suite.get("errors")), ("3", "0", "0"))
        text = page.read_text()
        for words in ("Oil pressure low", "no longer acts", "Cautions", "acts after"):
            self.assertIn(words, text)
        xml.etree.ElementTree.fromstring(text.replace("<!DOCTYPE html>", ""))

    def test_told_wrong_fails_that_one_alone(self):
        data, junit = self.tmp / "b.json", self.tmp / "b.xml"
        out = limits(BENCH, "--fault", "{kind: told, at: coolant_hot, limit: 112.1 degC}", "--json", data, "--junit", junit)
        self.assertEqual(out.returncode, 1, out.stdout + out.stderr)
        report = json.loads(data.read_text())
        self.assertEqual([one["verdict"] for one in report["limits"]], ["met", "failed", "met"])
        self.assertAlmostEqual(report["limits"][1]["trips_at"], 112.1, delta=1.5)
        self.assertRegex(out.stdout, r"✗ It acts at 11[12]\.\d °C; it should act at 118\.0 °C ± 2\.4 °C\.")
        suite = xml.etree.ElementTree.parse(junit).getroot()
        self.assertEqual((suite.get("failures"), suite.get("errors")), ("1", "0"))

    def test_not_shown_is_4(self):
        out = limits(BENCH, "--fault", "{kind: open, at: ECU.12}")
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        self.assertIn("No spark and no injection came at all", out.stdout)

    def test_the_same_seed_gives_the_same(self):
        self.assertEqual(limits(BENCH, "--seed", "7").stdout, limits(BENCH, "--seed", "7").stdout)

    def test_bad_input_drives_nothing(self):
        for words, say in (((f"{PROFILES}/benches/generator.yaml",), "has no protections to try"),
                           ((BENCH, "--fault", "{kind: told, at: coolant_hot}"), "tells nothing"),
                           ((BENCH, "--fault", "{kind: told, at: coolant_hot, edge: rising}"), "name a trigger channel"),
                           ((BENCH, "--fault", "{kind: told, at: crank, limit: 3}"), "name a protection"),
                           ((BENCH, "--out", BENCH), "hill_climb.yaml"),
                           (("none.yaml",), "none.yaml")):
            out = limits(*words)
            self.assertEqual(out.returncode, 2, words)
            self.assertIn(say, out.stderr, words)
            self.assertEqual(out.stdout, "", words)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
