#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Cut list and labels of the shipped kart, against its sheet as Python's csv reads it."""
import collections
import csv
import pathlib
import subprocess
import sys
import tempfile
import unittest
import xml.etree.ElementTree

DRYCRANK, PROFILES = sys.argv[1:3]
SHEET = f"{PROFILES}/schedules/kart.csv"


def sheet():
    """The wires of the sheet, numbered as they stand; each end CONNECTOR.PIN, or a splice."""
    with open(SHEET, encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    end = lambda row, side: f"{row[side]}.{row[side + ' pin']}" if row[side + " pin"] else row[side]
    return [{"wire": str(n), "circuit": row["Circuit"], "length": float(row["Length (m)"]), "gauge": row["Gauge (mm2)"],
             "colour": row["Colour"], "ends": (end(row, "From"), end(row, "To"))} for n, row in enumerate(rows, 1)]


class CutList(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.done = cls.cut(SHEET, "cut")

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    @classmethod
    def cut(cls, source, out):
        return subprocess.run([DRYCRANK, "schedule", "cut", source, "--out", str(pathlib.Path(cls.folder.name, out))], capture_output=True, text=True)

    def table(self, name):
        with open(pathlib.Path(self.folder.name, "cut", name), encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def test_each_wire_once_as_the_sheet_has_it(self):
        self.assertEqual(self.done.returncode, 0, self.done.stderr)
        cuts = {row["wire"]: row for row in self.table("cut_list.csv")}
        wires = sheet()
        self.assertEqual(len(cuts), len(wires))
        for wire in wires:
            cut = cuts[wire["wire"]]
            self.assertEqual((cut["circuit"], cut["colour"], (cut["from"], cut["to"])), (wire["circuit"], wire["colour"], wire["ends"]))
            self.assertAlmostEqual(float(cut["length_m"]), wire["length"], places=2)
            self.assertEqual(cut["gauge"].split()[0], wire["gauge"])

    def test_one_cuts_from_the_thin_to_the_thick(self):
        areas = [float(row["gauge"].split()[0]) for row in self.table("cut_list.csv")]
        self.assertEqual(areas, sorted(areas))

    def test_the_totals_are_the_sums(self):
        metres, count = collections.Counter(), collections.Counter()
        for wire in sheet():
            metres[wire["gauge"], wire["colour"]] += wire["length"]
            count[wire["gauge"], wire["colour"]] += 1
        totals = {(row["gauge"].split()[0], row["colour"]): row for row in self.table("cut_totals.csv")}
        self.assertEqual(set(totals), set(metres))
        for key, row in totals.items():
            self.assertAlmostEqual(float(row["length_m"]), metres[key], places=2)
            self.assertEqual((row["wires"], row["without_length"]), (str(count[key]), "0"))

    def test_each_end_has_a_label(self):
        labels = [(row["wire"], row["at"], row["goes_to"]) for row in self.table("labels.csv")]
        wanted = [(wire["wire"], here, there) for wire in sheet() for here, there in (wire["ends"], wire["ends"][::-1])]
        self.assertEqual(labels, wanted)

    def test_the_page_has_both(self):
        page = pathlib.Path(self.folder.name, "cut", "cut_list.html").read_text(encoding="utf-8")
        root = xml.etree.ElementTree.fromstring(page.removeprefix("<!DOCTYPE html>"))
        labels = [e for e in root.iter("div") if e.get("class") == "label"]
        self.assertEqual(len(labels), 2 * len(sheet()))
        self.assertEqual(len(next(root.iter("table")).findall("tr")), len(sheet()) + 1)

    def test_of_a_bench_fuses_are_no_wires(self):
        done = self.cut(f"{PROFILES}/benches/buggy.yaml", "buggy")
        self.assertEqual(done.returncode, 0, done.stderr)
        text = pathlib.Path(self.folder.name, "buggy", "cut_list.csv").read_text(encoding="utf-8")
        self.assertNotRegex(text, r"(?m)^\d+,F\d+,")
        self.assertIn(",display_can_high,1.40,", text)

    def test_a_length_that_is_not_there_is_said(self):
        path = pathlib.Path(self.folder.name, "short.csv")
        path.write_text("From,To,Circuit,Gauge,Length\nA.1,B.1,one,0.5 mm2,\nA.2,B.2,two,0.5 mm2,1.5\n")
        done = self.cut(str(path), "short")
        self.assertIn("1 without a length: measure before you cut.", done.stdout)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=2)
