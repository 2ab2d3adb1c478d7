#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A page says one size of one place: after a reading at the bench the list, the rows of the next test, the repair, the JSON
and the page for a browser have the ohms that the reading makes likeliest.

    one_size_test.py DRYCRANK DRYCRANKD PROFILES

What the meter shows of 200 ohm from the coolant sensor's signal to the battery is reckoned by hand: 13.8 V over them, 5 V
behind the input's 2.2 kohm, 12.5 kohm of the thermistor at 20 degC (its part's table):
(13.8 / 200 + 5 / 2200) / (1 / 200 + 1 / 2200 + 1 / 12500) = 12.88 V. Of 300 ohm from it to ground, key off, 300 / (1 + 300 /
12500) = 293 ohm.
"""
import collections
import html
import json
import re
import unittest

from program_case import BENCH, PROFILES, Case, drycrank


def sizes_by_place(text):
    """By the words after it, which name the place, all sizes that are said of it."""
    sizes = collections.defaultdict(set)
    for size, place in re.findall(r"about (\d[\d.]* [kM]?Ω) ([^;,\n\"<]*)", text):
        sizes[place.strip()].add(size)
    return sizes


class OneSize(Case):
    def page(self, fault, reading):
        record, as_json, page = str(self.out), self.tmp / "d.json", self.tmp / "d.html"
        drycrank("walk", BENCH, "--out", record, "--fault", fault)
        said = drycrank("diagnose", record, "--measured", reading, "--json", str(as_json), "--html", str(page)).stdout
        written = json.dumps(json.loads(as_json.read_text()), ensure_ascii=False)
        return said, "\n".join([said, written, html.unescape(page.read_text())])

    def check(self, text, place, ohm):
        sizes = sizes_by_place(text)
        for where, said in sizes.items():
            self.assertEqual(len(said), 1, f"{where}: {said}")
        of_place = [float(next(iter(said)).split()[0]) for where, said in sizes.items() if place in where]
        self.assertTrue(of_place, sizes)
        self.assertAlmostEqual(of_place[0], ohm, delta=0.15 * ohm)

    def test_in_the_rows_of_the_next_test(self):
        said, text = self.page("{kind: short_to_supply, at: CLT.1, ohm: 200}", "CLT.1=12.88 V")
        self.assertIn("Next test", said)
        self.assertIn("CLT.1", said[said.index("Next test"):])
        self.check(text, "CLT.1 ", 200)

    def test_under_the_repair(self):
        said, text = self.page("{kind: leakage, at: CLT.1, ohm: 300}", "CLT.1=293 ohm")
        self.assertIn("REPAIR: CLT.1 and ", said)
        self.check(text, "CLT.1 ", 300)

    def test_what_is_not_on_the_list_keeps_its_row(self):
        record = str(self.out)
        drycrank("walk", f"{PROFILES}/benches/kart.yaml", "--out", record, "--fault", "{kind: open, at: AX.2}")
        # By hand: without its ground the sensor has the battery at its supply, and its output hangs at the input's 5 V.
        said = drycrank("diagnose", record, "--measured", "CU.11=5 V", "--measured", "AX.3=4.99 V", "--measured", "AX.1=12.77 V").stdout
        left = said[said.index("Left, by repair:"):said.index("Next test")]
        self.assertRegex(left, r"\n +(<1|\d+) %  something that is not on my list")

    def test_the_sizes_of_a_text_are_found(self):
        two = sizes_by_place("about 204 Ω from CLT.1\nabout 1.05 kΩ from CLT.1\nabout 3 Ω at X\n")
        self.assertEqual(two, {"from CLT.1": {"204 Ω", "1.05 kΩ"}, "at X": {"3 Ω"}})


if __name__ == "__main__":
    unittest.main(argv=["one_size_test"], verbosity=2)
