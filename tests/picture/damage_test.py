#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Pictures whose text is damaged (damage.py) are read rightly or are in doubt: `drycrank display sweep --picture` on displays that
never were, in nine letterings, with points and digits that are faint or gone, spots and scratches on their strokes, two values in
one picture, marks that cut. No reading that is believed may be wrong; of what is not damaged nearly all is believed.

    damage_test.py DRYCRANK [SEEDS] [WAY...]        # SEEDS, "3" or "3-8": large, with each doubt
"""
import collections
import csv
import pathlib
import random
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import damage  # noqa: E402
import photographs  # noqa: E402

DRYCRANK = sys.argv[1]
FIELDS = 8
LEAST_BELIEVED = 0.95  # of what is not damaged, in the letterings that can be read
READ = [look for look in damage.LOOKS if look not in ("mono", "segments")]  # a dot in each 0; pieces that do not hang together
VALUES = ("11.1", "1.1", "-4.0", "-40", "7.0", "70", "111", "416", "7200", "-12.5", "0.98", "1013", "15.6", "131.3", "93.8", "4", "-7", "0", "8",
          "1228.7", "0.5", "38.1", "88.8", "8.75", "0.0", "6.0", "0.4", "9.5", "87.5", "1.7", "7.1", "4.7")


def bench_text():
    signals = "".join(f"          f{i}: {{start_bit: {8 * i}, length_bits: 8, unit: count}}\n" for i in range(FIELDS))
    readouts = "".join(f"  f{i}: {{signal: first.f{i}, unit: count, page: 1, dashes_after_ms: 500}}\n" for i in range(FIELDS))
    return ("kind: bench\nname: damaged\nengine: {strokes: 4, firing_order: [1]}\nbuses:\n  vehicle:\n    messages:\n      first:\n"
            f"        id: 0x100\n        length_bytes: 8\n        period_ms: 50 ms\n        signals:\n{signals}readouts:\n{readouts}")


def marks_text(cuts):
    width, height = (photographs.FINE * n for n in photographs.SIZE)
    text = (f"kind: marks\nformat: 1\npages:\n  1:\n    size: {list(photographs.SIZE)}\n"
            f"    corners: [[0, 0], [{width}, 0], [{width}, {height}], [0, {height}]]\n    readouts:\n")
    for i, (from_left, until) in enumerate(cuts):
        left, top, wide, high = photographs.place(i)[0]
        text += f"      f{i}: {{text: [{left + from_left}, {top}, {(until or wide) - from_left}, {high}]}}\n"
    return text


def read(folder, questions, look, way, level, seed):
    """Of each field of some pictures (what was shown, what may be read, what was read, the doubt)."""
    rng = random.Random(f"{look} {way} {level} {seed}")
    folder.mkdir()
    truth = {}
    for question in range(1, (1 if way == "crop" else questions) + 1):  # one mark for all pictures
        texts = [rng.choice(VALUES) if rng.random() < 0.5 else photographs.number(rng) for _ in range(FIELDS)]
        picture, right, cuts = damage.damaged(look, texts, way, level, rng)
        picture.save(folder / f"page1_question{question}.png", compress_level=1)
        truth.update({(str(question), f"f{i}"): (texts[i], right[i]) for i in range(FIELDS)})
    (folder / "bench.yaml").write_text(bench_text())
    (folder / "marks.yaml").write_text(marks_text(cuts))
    words = [DRYCRANK, "display", "sweep", folder / "bench.yaml", "--picture", folder, "--marks", folder / "marks.yaml", "--out", folder / "out"]
    out = subprocess.run(list(map(str, words)), capture_output=True, text=True, timeout=300)
    assert out.returncode in (0, 1, 4), out.stderr
    lines = [line for line in (folder / "out/read.csv").read_text().splitlines() if not line.startswith("#")]
    asked = [r for r in csv.DictReader(lines) if (r["question"], r["readout"]) in truth]
    assert len(asked) == len(truth), asked
    return [(*truth[r["question"], r["readout"]], r["reading"], r["doubt"]) for r in asked]


def runs():
    """(look, way, level, seed): large, all; else each way once, and what is not damaged."""
    if len(sys.argv) > 2:
        first, last = (re.findall(r"\d+", sys.argv[2]) * 2)[:2]
        ways = sys.argv[3:] or damage.WAYS
        return [(look, way, level, seed) for seed in range(int(first), int(last) + 1) for way in ways for level in damage.LEVELS for look in damage.LOOKS]
    each = [(list(damage.LOOKS)[i % 8], way, 1 + i % 5, 1) for i, way in enumerate(damage.WAYS) if way != "clean"]
    # A point that is gone, in the lettering whose points are nearest; light on a 0 of a warning.
    return each + [("narrow", "point gone", 3, 1), ("warning", "spots", 4, 1), *((look, "clean", 1, 1) for look in ("narrow", "warning"))]


def main():
    counted, wrong, doubts = collections.Counter(), [], collections.Counter()
    with tempfile.TemporaryDirectory() as tmp:
        for number, (look, way, level, seed) in enumerate(runs()):
            for shown, right, reading, doubt in read(pathlib.Path(tmp) / str(number), 3 if way == "clean" or len(sys.argv) > 2 else 2, look, way, level, seed):
                counted["all"] += 1
                counted[way, level] += 1
                counted["clean"] += way == "clean" and look in READ
                if doubt:
                    doubts[f"{look} {way}", re.sub(r"[0-9.'-]+", "#", doubt)] += 1
                    continue
                counted["believed"] += 1
                counted[way, level, "believed"] += 1
                counted["clean believed"] += way == "clean" and look in READ
                if reading not in right:
                    wrong.append((look, way, level, seed, shown, reading))
    print("believed without a question, of 100")
    for way in damage.WAYS:
        print(f"{way:12}" + "".join(f"{100 * counted[way, level, 'believed'] / counted[way, level]:5.0f}" if counted[way, level] else "    -" for level in damage.LEVELS))
    print(f"{counted['all']} readings, {counted['believed']} believed, {len(wrong)} of them wrong")
    for one in wrong:
        print("wrong:", *one)
    if len(sys.argv) > 2:
        for (way, doubt), n in doubts.most_common(100):
            print(f"{n:5} {way}: {doubt}")
    is_poor = counted["clean believed"] < LEAST_BELIEVED * counted["clean"]
    if is_poor:
        print(f"of {counted['clean']} that are not damaged {counted['clean believed']} are believed")
    return 1 if wrong or is_poor else 0


if __name__ == "__main__":
    sys.exit(main())
