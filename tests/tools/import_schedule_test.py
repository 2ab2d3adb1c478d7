#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Workbooks made by openpyxl, a library of its own, against the shipped schedule of the kart as CSV."""
import csv
import datetime
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

import openpyxl

DRYCRANK, ROOT = sys.argv[1:3]
KART = f"{ROOT}/profiles/schedules/kart.csv"
TOOL = f"{ROOT}/tools/import-schedule"


class ImportSchedule(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)

    def path(self, name):
        return str(pathlib.Path(self.folder.name, name))

    def book(self, sheets, name="loom.xlsx"):
        book = openpyxl.Workbook()
        book.remove(book.active)
        for title, rows in sheets.items():
            sheet = book.create_sheet(title)
            for row in rows:
                sheet.append(row)
        book.save(self.path(name))
        return book

    def run_tool(self, *words):
        done = subprocess.run([TOOL, self.path("loom.xlsx"), self.path("loom.csv"), *words], capture_output=True, text=True)
        return done.returncode, done.stdout, done.stderr

    def harness(self, sheet):
        out = self.path(os.path.basename(sheet) + ".yaml")
        done = subprocess.run([DRYCRANK, "schedule", "import", sheet, "--out", out], capture_output=True, text=True)
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        # Without its first lines, which name the file it came from.
        return [line for line in pathlib.Path(out).read_text().splitlines() if not line.startswith("#")]

    def kart(self):
        """As a spreadsheet has it: numbers are numbers."""
        def cell(text):
            try:
                return float(text)
            except ValueError:
                return text or None
        with open(KART, encoding="utf-8") as file:
            return [[cell(text) for text in row] for row in csv.reader(file)]

    def test_the_kart_is_the_same_by_either_way(self):
        self.book({"Wires": self.kart(), "Empty": []})
        code, out, err = self.run_tool()
        self.assertEqual((code, err), (0, ""))
        self.assertIn("sheet Wires", out)
        self.assertEqual(self.harness(self.path("loom.csv")), self.harness(KART))

    def test_a_row_is_a_line(self):
        self.book({"Wires": [["From", "Circuit"], [], ["A\nB", 12.0], ["x", 0.35], ["y", True]]})
        self.assertEqual(self.run_tool()[0], 0)
        self.assertEqual(pathlib.Path(self.path("loom.csv")).read_text(), "From,Circuit\n,\nA B,12\nx,0.35\ny,TRUE\n")

    def test_of_several_sheets_one_is_chosen(self):
        self.book({"Left": [["a"]], "Right": [["b"]]})
        code, _, err = self.run_tool()
        self.assertEqual(code, 2)
        self.assertIn("choose one of Left, Right with --sheet", err)
        self.assertFalse(os.path.exists(self.path("loom.csv")))
        self.assertIn("there is no sheet 'Middle'", self.run_tool("--sheet", "Middle")[2])
        self.assertEqual(self.run_tool("--sheet", "Right")[0], 0)
        self.assertEqual(pathlib.Path(self.path("loom.csv")).read_text(), "b\n")

    def test_what_has_no_value_is_refused_with_its_cell(self):
        self.book({"Wires": [["From"], ["=A1"], [datetime.date(2026, 3, 1)]]})
        code, _, err = self.run_tool()
        self.assertEqual(code, 2)
        self.assertIn("loom.xlsx:Wires!A2: a formula without a value", err)
        self.assertIn("loom.xlsx:Wires!A3: the spreadsheet took", err)

    def test_what_is_hidden_is_said(self):
        book = self.book({"Wires": [["From"], ["a"], ["b"]]})
        book["Wires"].row_dimensions[2].hidden = True
        book.save(self.path("loom.xlsx"))
        self.assertIn("hidden rows 2: written too", self.run_tool()[1])

    def test_what_is_no_workbook_is_refused(self):
        pathlib.Path(self.path("loom.xlsx")).write_text("no zip")
        code, _, err = self.run_tool()
        self.assertEqual(code, 2)
        self.assertIn("save it anew", err)
        self.assertNotIn("Traceback", err)

    def test_a_target_is_not_replaced_unasked(self):
        self.book({"Wires": [["From"]]})
        self.assertEqual(self.run_tool()[0], 0)
        self.assertIn("is there already", self.run_tool()[2])
        self.assertEqual(self.run_tool("--overwrite")[0], 0)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=2)
