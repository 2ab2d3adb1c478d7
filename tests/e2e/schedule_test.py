#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank schedule` as a person types it: exit codes, what it says, files left behind."""
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree

DRYCRANK, PROFILES, TESTS = (str(pathlib.Path(word).resolve()) for word in sys.argv[1:4])
KART = f"{PROFILES}/schedules/kart.csv"


def schedule(*words):
    return subprocess.run([DRYCRANK, "schedule", *words], capture_output=True, text=True, timeout=120)


class Scratch(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def path(self, name):
        return f"{self.folder.name}/{name}"

    def write(self, name, content):
        mode = "wb" if isinstance(content, bytes) else "w"
        with open(self.path(name), mode) as file:
            file.write(content)
        return self.path(name)

    def text(self, name):
        return pathlib.Path(self.path(name)).read_text(encoding="utf-8")


class Diff(Scratch):
    def test_says_what_changed_and_what_must_be_proven_again(self):
        text = pathlib.Path(KART).read_text(encoding="utf-8")
        old = self.write("old.csv", text.replace("TW,3,CU,5,teeth_signal,0.34", "TW,3,CU,5,teeth_signal,0.5"))
        out = schedule("diff", old, KART, "--json", self.path("diff.json"))
        self.assertEqual((out.returncode, out.stderr), (1, ""))
        self.assertIn("~ teeth_signal: TW.3 to CU.5, 0.34 mm2, 0.9 m, white; it was 0.5 mm2", out.stdout)
        self.assertIn("To be proven again: 1 circuit of 27\n  teeth_signal: changed", out.stdout)
        made = json.loads(self.text("diff.json"))
        self.assertEqual((made["changed"], made["proven_again"]), (1, [{"circuit": "teeth_signal", "why": "changed"}]))
        out = schedule("diff", KART, KART)
        self.assertEqual((out.returncode, out.stdout), (0, "Nothing changed.\n"))

    def test_a_line_that_was_not_read_is_not_one_that_was_taken_away(self):
        bad = self.write("bad.csv", pathlib.Path(KART).read_text(encoding="utf-8").replace("TW,3,CU,5", "TW,3,,"))
        out = schedule("diff", KART, bad)
        self.assertEqual(out.returncode, 2)
        self.assertIn("bad.csv", out.stderr)


class Import(Scratch):
    def test_says_what_was_taken_for_what_and_writes_a_harness(self):
        out = schedule("import", KART, "--out", self.path("harness.yaml"))
        self.assertEqual((out.returncode, out.stderr), (0, ""))
        self.assertRegex(out.stdout, r"gauge +from column +6, 'Gauge \(mm2\)', in mm2")
        self.assertIn("28 wires, 12 connectors, 2 splices", out.stdout)
        self.assertIn("- {circuit: teeth_signal, from: TW.3, to: CU.5, length_m: 0.9, gauge: 0.34 mm2, "
                      "colour: white}\n", self.text("harness.yaml"))

    def test_keeps_what_was_good_unless_strict(self):
        sheet = self.write("a.csv", "From,To,Circuit\nCLT.1,ECU.20,coolant\nCLT.2,,ground\n")
        out = schedule("import", sheet, "--out", self.path("a.yaml"))
        self.assertEqual(out.returncode, 1)
        self.assertIn("a.csv:3:7: the wire has no end 'to';", out.stderr)
        self.assertIn("from: CLT.1", self.text("a.yaml"))
        out = schedule("import", sheet, "--strict", "--out", self.path("strict.yaml"))
        self.assertEqual(out.returncode, 2)
        self.assertFalse(pathlib.Path(self.path("strict.yaml")).exists())

    def test_takes_columns_as_named(self):
        sheet = self.write("a.csv", "Hier;Dort\nCLT.1;ECU.20\n")
        self.assertEqual(schedule("import", sheet).returncode, 2)
        out = schedule("import", sheet, "--column", "from_connector=Hier", "--column", "to_connector=Dort")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertIn("'Dort', as you said", out.stdout)
        out = schedule("import", sheet, "--column", "form_connector=Hier")
        self.assertEqual(out.returncode, 2)
        self.assertIn("did you mean 'from_connector'?", out.stderr)

    def test_hostile_files_are_2_and_said_in_one_line_each(self):
        for name, content, said in (
                ("nul.csv", b"From,To\nA.1,\0B.1\n", "nul.csv:2:5: the control character U+0000"),
                ("latin1.csv", "From,To\nÖl.1,B.1\n".encode("latin-1"), "latin1.csv:2:1: a byte that is not UTF-8"),
                ("utf16.csv", "From,To\nA.1,B.1\n".encode("utf-16"), "utf16.csv:1:1: a byte that is not UTF-8"),
                ("wide.csv", b"," * (1 << 20), "more than 256 columns"),
                ("large.csv", b"From,To\n" + b"A.1,B.1\n" * 200000, "bytes"),
                ("empty.csv", b"", "no line names the columns")):
            out = schedule("import", self.write(name, content), "--out", self.path("out.yaml"))
            self.assertEqual(out.returncode, 2, name)
            self.assertIn(said, out.stderr, name)
            self.assertLess(len(out.stderr.splitlines()), 5, name)
            self.assertFalse(pathlib.Path(self.path("out.yaml")).exists())
        self.assertEqual(schedule("import", self.path("missing.csv")).returncode, 2)


class Check(Scratch):
    WRONG = [f"{TESTS}/schedule/workshop_wrong.csv", "--bench", f"{TESTS}/schedule/workshop_wrong.yaml"]

    def test_a_schedule_without_mistake_is_0_and_one_with_is_1(self):
        out = schedule("check", KART, "--bench", f"{PROFILES}/benches/kart.yaml")
        self.assertEqual(out.returncode, 0, out.stdout)
        self.assertIn("0 errors", out.stdout)
        out = schedule("check", *self.WRONG)
        self.assertEqual(out.returncode, 1)
        self.assertRegex(out.stdout, r"workshop_wrong.csv:\d+:\d+: error: terminal ECU.27 has 2 wires")

    def test_says_what_the_notes_show(self):
        sheet = pathlib.Path(KART).read_text(encoding="utf-8")
        for right, wrong in (("TW,2,G,", "TW,2,P,"), ("HT,1,CU,7,", "HT,1,CU,6,")):
            self.assertIn(right, sheet)
            sheet = sheet.replace(right, wrong)
        loom = self.write("loom.csv", sheet)
        out = schedule("check", loom, "--bench", f"{PROFILES}/benches/kart.yaml")
        said = [line.replace(loom, "loom.csv") for line in out.stdout.splitlines()]
        page = pathlib.Path(PROFILES, "..", "hw-notes", "making-a-schedule.md").read_text(encoding="utf-8")
        self.assertIn("\n".join("    " + line for line in said), page)

    def test_notes_count_when_asked(self):
        words = ["check", KART, "--bench", f"{PROFILES}/benches/kart.yaml", "--strict"]
        self.assertEqual(schedule(*words).returncode, 1)

    def test_findings_are_json_as_well(self):
        self.assertEqual(schedule("check", *self.WRONG, "--json", self.path("f.json")).returncode, 1)
        found = json.loads(self.text("f.json"))
        kinds = [finding["kind"] for finding in found["findings"]]
        self.assertIn("bus_pair_open", kinds)
        self.assertEqual(found["errors"], sum(f["severity"] == "error" for f in found["findings"]))

    def test_shipped_benches_have_no_error(self):
        for bench in sorted(pathlib.Path(PROFILES, "benches").glob("*.yaml")):
            out = schedule("check", str(bench))
            self.assertEqual(out.returncode, 0, out.stdout)

    def test_a_scenario_says_what_it_leaves_unproven(self):
        out = schedule("check", f"{PROFILES}/benches/kart.yaml", "--scenario",
                       f"{PROFILES}/scenarios/kart/healthy.yaml")
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)

    def test_a_bench_that_the_loader_refuses_is_checked(self):
        bench = pathlib.Path(PROFILES, "benches", "kart.yaml").read_text(encoding="utf-8")
        bench = bench.replace("../parts", f"{PROFILES}/parts").replace("from: HT.1, to: CU.7", "from: HT.1, to: CU.6")
        out = schedule("check", self.write("kart.yaml", bench))
        self.assertEqual(out.returncode, 1)
        self.assertIn("terminal CU.6 has 2 wires", out.stdout)
        self.assertIn("1 error, 2 notes", out.stdout)  # the notes are of the bench as shipped

    def test_what_cannot_be_read_is_2(self):
        for words in ([self.path("none.csv")], [self.path("none.yaml")], [KART, "--bench", KART],
                      [self.write("harness.yaml", "wires: []\n")]):
            self.assertEqual(schedule("check", *words).returncode, 2, words)


class Draw(Scratch):
    def test_leaves_drawings_that_are_xml(self):
        bench = f"{PROFILES}/benches/hill_climb.yaml"
        out = schedule("draw", bench, "--mark", "CMP.3", "--out", self.path("out"))
        self.assertEqual(out.returncode, 0, out.stderr)
        drawings = sorted(pathlib.Path(self.path("out")).glob("*.svg"))
        self.assertEqual(len(drawings), 14)
        for drawing in drawings:
            xml.etree.ElementTree.parse(drawing)
        self.assertIn("▶ cam_signal", self.text("out/harness.svg"))
        self.assertNotIn("http:", self.text("out/index.html").replace("http://www.w3.org/2000/svg", ""))

    def test_an_unknown_mark_is_2(self):
        out = schedule("draw", f"{PROFILES}/benches/kart.yaml", "--mark", "XX.1", "--out", self.path("out"))
        self.assertEqual(out.returncode, 2)
        self.assertIn("XX.1", out.stderr)


sys.argv = sys.argv[:1]
unittest.main()
