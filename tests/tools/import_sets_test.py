#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Drawn message lists in six formats: what is imported decodes as the list says, and what is odd is named.

list_sets draws and decodes them, list_writers writes them; no library is the judge.
"""
import json
import math
import pathlib
import random
import subprocess
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from import_twice_test import DECODE, DRYCRANK, Folder  # noqa: E402
from list_sets import decode, draw, legal  # noqa: E402
from list_writers import WRITERS  # noqa: E402

SETS = int(sys.argv[4]) if len(sys.argv) > 4 else 4  # of each format
TEXTS = (("utf-8", ()), ("cp1252", ("--encoding", "cp1252")), ("utf-16", ()), ("utf-8-sig", ()))
XMLS = ("utf-8", "windows-1252", "utf-16")


class Sets(Folder):
    def imported(self, suffix, seed):
        """(messages, lines that the tool printed)"""
        rng = random.Random(f"{suffix} {seed}")
        messages, odd = draw(rng, suffix), seed % 2 == 1
        text, words = WRITERS[suffix](messages, odd), ()
        if suffix in ("kcd", "arxml"):
            encoding = XMLS[seed % len(XMLS)]
            text = f'<?xml version="1.0" encoding="{encoding}"?>\n{text}'
        else:
            encoding, words = TEXTS[seed % len(TEXTS)]
        said = self.said(f"a.{suffix}", text, encoding, words)
        lost = [line for line in said if ": lost: " in f": {line}" and "attribute" not in line and "is not read" not in line]
        lost = [line for line in lost if "GARBAGE" not in line]
        self.assertEqual([line.split(": ")[0] for line in lost], ["odd"] * odd, (suffix, seed, said))
        return messages, said

    def same_frames(self, suffix, seed, messages):
        rng = random.Random(seed)
        frames = [(m, rng.randbytes(m["bytes"])) for m in messages for _ in range(20)]
        lines = "".join(f"{legal(m['name'])} {data.hex()}\n" for m, data in frames)
        out = subprocess.run([DECODE, self.yaml], input=lines, capture_output=True, text=True, timeout=60)
        self.assertEqual(out.returncode, 0, (suffix, seed, out.stderr))
        found, compared = [{}], 0
        for words in map(str.split, out.stdout.splitlines()):
            if words:
                found[-1][words[1]] = float(words[2])
            else:
                found.append({})
        for (m, data), mine in zip(frames, found[:-1], strict=True):
            wanted = {legal(name): value for name, value in decode(m, data).items()}
            self.assertEqual(mine.keys(), wanted.keys(), (suffix, seed, m, data.hex()))
            for name, value in wanted.items():
                close = mine[name] == value or math.isclose(mine[name], value, rel_tol=1e-12, abs_tol=1e-9)
                self.assertTrue(close, (suffix, seed, m, name, mine[name], value))
                compared += 1
        return compared

    def same_words(self, suffix, seed, messages):
        """Identifiers, lengths, units, names of values, and periods where the format has them."""
        out = subprocess.run([DRYCRANK, "messages", self.yaml, "--json"], capture_output=True, text=True, timeout=60)
        bus = json.loads(out.stdout)["out"]["messages"]
        self.assertEqual(list(bus), [legal(m["name"]) for m in messages])
        for m in messages:
            mine, where = bus[legal(m["name"])], (suffix, seed, m)
            self.assertEqual((mine["id"], mine.get("extended", False), mine.get("fd", False), mine["length_bytes"]),
                             (m["id"], m["extended"], m["fd"], m["bytes"]), where)
            if suffix not in ("json", "arxml"):
                self.assertEqual(mine.get("period_ms", 0), m["period"], where)
            for s in m["signals"]:
                self.assertEqual(mine["signals"][legal(s["name"])].get("unit", ""), s["unit"], where)
                if not (suffix == "sym" and s.get("selector")):  # its values have the names of the sections
                    self.assertEqual(mine["signals"][legal(s["name"])].get("values", {}), {str(k): v for k, v in s["values"].items()}, where)

    def judge(self, suffix):
        compared = 0
        for seed in range(SETS):
            with self.subTest(seed=seed):
                messages, _ = self.imported(suffix, seed)
                self.same_words(suffix, seed, messages)
                compared += self.same_frames(suffix, seed, messages)
        self.assertGreater(compared, 200 * SETS)

    def test_dbc(self):
        self.judge("dbc")

    def test_kcd(self):
        self.judge("kcd")

    def test_sym(self):
        self.judge("sym")

    def test_dbf(self):
        self.judge("dbf")

    def test_json(self):
        self.judge("json")

    def test_arxml(self):
        self.judge("arxml")

    def test_the_judge_sees_another_byte_order(self):
        messages, _ = self.imported("dbc", 0)
        turned = next(s for m in messages for s in m["signals"] if not s["big"] and s["bits"] == 16 or s["bits"] == 8)
        turned["start"] += 1
        with self.assertRaises(AssertionError):
            self.same_frames("dbc", 0, messages)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], warnings="ignore")
