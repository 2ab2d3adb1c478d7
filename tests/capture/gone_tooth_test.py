#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank match` against a crank's wheel of five or six nearly even teeth of which one is gone, drawn as any_engine_test.py draws.

    gone_tooth_test.py DRYCRANK [CASES]     40 cases
"""
import pathlib
import sys
import tempfile
import unittest

import any_engine_test as engines


def nearly_even(rng):
    """Five or six teeth, each up to 15 degrees from where even ones stand; no two pitches alike within three degrees."""
    while True:
        count = rng.randint(5, 6)
        begins = [round(k * 360 / count + (rng.uniform(-15, 15) if k else 0)) for k in range(count)]
        pitches = sorted((b - a) % 360 for a, b in zip(begins, begins[1:] + [360]))
        if all(b - a >= 3 for a, b in zip(pitches, pitches[1:])):
            return [(b, b + rng.choice([12, 15, 20])) for b in begins]


class GoneTooth(unittest.TestCase):
    def test_a_tooth_gone_from_a_wheel_of_few_nearly_even_ones(self):
        """Another tooth's place, or the other way round, lies nearly as well: of twenty one may be wrong; the way round, never."""
        wrong = []
        with tempfile.TemporaryDirectory() as tmp:
            for seed in range(CASES):
                engine = engines.Engine(seed, nearly_even, "tooth gone")
                told = {k: what for k, what in engine.wrong(pathlib.Path(tmp)) if k not in ("way not told", "not told", "refused rightly")}
                self.assertNotIn("way", told, engine)
                wrong += [f"{engine}, {engine.gone} gone\n      {told}"] if told else []
        print(f"a tooth gone: {CASES - len(wrong)} of {CASES} right", *wrong, sep="\n    ")
        self.assertLessEqual(len(wrong), max(1, CASES // 20))


if __name__ == "__main__":
    CASES = int((sys.argv[2:] + ["40"])[0])
    unittest.main(argv=sys.argv[:1], verbosity=1)
