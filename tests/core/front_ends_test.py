#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""hw-notes/front-ends.md says what ngspice makes of its netlists, and what a formula makes of them.

    front_ends_test.py ROOT
"""
import cmath
import math
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(sys.argv[1]).resolve()
FOLDER = ROOT / "hw-notes/front-ends"


def parallel(*ohms):
    return 1 / sum(1 / ohm for ohm in ohms)


def through_transformer(hz):
    """Two meshes: V = (Z1 + jw L1) i - jw M j, 0 = (Z2 + jw L2) j - jw M i."""
    w = 2j * math.pi * hz
    load = parallel(1e4, 1 / (w * 1e-9))
    first, second = 140 + 1 / (w * 10e-6) + w * 2, 640 + load + w * 32
    mutual = w * 0.9995 * 8
    return 1.4 * mutual / (first * second - mutual**2) * load


def hysteresis():
    """Where 101 x - 2.5 tanh(1000 x) of the input turns round."""
    tanh = math.sqrt(1 - 101 / 2500)
    return (2.5 * tanh - 101 * math.atanh(tanh) / 1000) / 100


LATE = parallel(2040, 1e4) * 1e-9 * math.log(2)  # an RC from one end to the other, at zero
FORMULAS = {
    ("line-to-coil", "v_50"): abs(through_transformer(50)),
    ("line-to-coil", "v_1000"): abs(through_transformer(1000)),
    ("line-to-coil", "v_8500"): abs(through_transformer(8500)),
    ("line-to-coil", "lead_50"): cmath.phase(through_transformer(50)),
    ("line-to-coil", "lead_8500"): cmath.phase(through_transformer(8500)),
    ("line-to-hall", "up"): hysteresis(),
    ("line-to-hall", "down"): -hysteresis(),
    ("line-to-hall", "low"): 5 * 10 / 1010,
    ("line-to-hall", "high"): 5,
    ("pin-to-hall", "low"): None,  # of a transistor's model: ngspice alone
    ("pin-to-hall", "high"): 5,
    ("pin-to-hall", "fall"): None,
    ("pin-to-hall", "rise"): 1e-6 * math.log(2),
    ("pin-to-coil", "high"): 5e4 / 12040,
    ("pin-to-coil", "low"): -5e4 / 12040,
    ("pin-to-coil", "cross"): LATE,
    ("dac-to-sensor", "held"): (2.5 * 1e5 + 5 * 100) / 100100,
    ("dac-to-sensor", "half_lsb"): parallel(100, 1e5) * 1e-7 * math.log(2.5024975 / 0.0011975),
    ("potentiometer-as-ntc", "volts"): 5 * 387.5 / 2587.5,
}


def simulated(name):
    out = subprocess.run(["ngspice", "-b", FOLDER / f"{name}.cir"], capture_output=True, text=True)
    return {m[1]: float(m[2]) for m in re.finditer(r"^(\w+)\s+=\s+([-+.\de]+)", out.stdout, re.M)}


def rows():
    circuit = None
    for line in (ROOT / "hw-notes/front-ends.md").read_text().splitlines():
        words = [word.strip() for word in line.split("|")]
        if len(words) != 6:
            continue
        if words[2] == "value":
            circuit = words[1]
        elif not words[1].startswith("-"):
            yield circuit, words[1], float(words[2]), float(words[4].rstrip(" %")) / 100


def main():
    known, wrong, count = {}, [], 0
    for circuit, name, value, within in rows():
        known.setdefault(circuit, simulated(circuit))
        found, formula = known[circuit].get(name), FORMULAS[circuit, name]
        for source, truth in (("ngspice", found), ("a formula", formula)):
            if truth is None and source == "ngspice":
                wrong.append(f"{circuit}: ngspice prints no {name}")
            elif truth is not None and abs(value - truth) > within * abs(truth):
                wrong.append(f"{circuit} {name}: {value} on the page, {truth:.6g} by {source}")
        count += 1
    if count != len(FORMULAS):
        wrong.append(f"{count} rows on the page, {len(FORMULAS)} formulas here")
    drawn = subprocess.run([FOLDER / "draw", "--check"], capture_output=True, text=True)
    wrong += drawn.stdout.splitlines() + drawn.stderr.splitlines()
    print("\n".join(wrong) or f"{count} figures of six circuits; drawings are those of the netlists")
    sys.exit(1 if wrong else 0)


main()
