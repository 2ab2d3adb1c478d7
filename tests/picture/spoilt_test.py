#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Pictures that were spoilt (spoilt.py) are read rightly or are in doubt: `drycrank display sweep --picture` on displays that
never were, with points, minus signs and values of one digit. What stands on them is known here, as it was drawn. No reading that is
believed may be wrong, however a picture was spoilt; of all on the mildest levels most are believed, or nothing was tried.

    spoilt_test.py DRYCRANK [SEEDS] [WAY...]        # SEEDS, "3" or "3-8": large, 3840 readings a seed, with each doubt
"""
import collections
import csv
import pathlib
import random
import re
import subprocess
import sys
import tempfile

import PIL.Image
import PIL.ImageDraw
import PIL.ImageFont

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import photographs  # noqa: E402
import spoilt  # noqa: E402

DRYCRANK = sys.argv[1]
SEEDS = sys.argv[2] if len(sys.argv) > 2 else "1"
ONLY = sys.argv[3:] or spoilt.WAYS
LEAST_BELIEVED = 0.75  # of all on the mildest level of each way
FONTS = "/usr/share/fonts/truetype/dejavu/DejaVu"
# Font, ground, ink, ring of the lamp, size of the letters: paper, a dark screen, a grey one with serifs, and one whose
# zeros have a dot inside, which is mostly in doubt.
LOOKS = {"paper": ("Sans.ttf", (255, 255, 250), (22, 22, 26), (150, 150, 150), 44), "dark": ("Sans.ttf", (14, 16, 18), (225, 228, 230), (70, 70, 72), 44),
         "serif": ("Serif.ttf", (205, 214, 208), (28, 34, 40), (140, 146, 142), 40), "dotted": ("SansMono-Bold.ttf", (205, 214, 208), (28, 34, 40), (140, 146, 142), 36)}
FIELDS = [("a", "red"), ("b", None), ("c", "amber"), ("d", None), ("e", "green"), ("f", None), ("g", None), ("h", "blue")]
VALUES = ("11.1", "1.1", "-4.0", "-40", "7.0", "70", "111", "416", "7200", "-12.5", "0.98", "1013", "15.6", "131.3", "93.8", "4", "-7", "0", "8", "1228.7", "-3276.8", "0.5", "38.1", "88.8")


def bench_text():
    signals = "".join(f"          {name}: {{start_bit: {8 * i}, length_bits: 8, unit: count}}\n" for i, (name, _) in enumerate(FIELDS))
    readouts = "".join(f"  {name}: {{signal: first.{name}, unit: count, page: 1, dashes_after_ms: 500{f', warn_above: 100, lamp: {lamp}' if lamp else ''}}}\n" for name, lamp in FIELDS)
    return ("kind: bench\nname: spoilt\nengine: {strokes: 4, firing_order: [1]}\nbuses:\n  vehicle:\n    messages:\n      first:\n"
            f"        id: 0x100\n        length_bytes: 8\n        period_ms: 50 ms\n        signals:\n{signals}readouts:\n{readouts}")


def drawn(look, fields):
    font_name, ground, ink, ring, largest = LOOKS[look]
    fine = photographs.FINE
    page = PIL.Image.new("RGB", (photographs.SIZE[0] * fine, photographs.SIZE[1] * fine), ground)
    pen = PIL.ImageDraw.Draw(page)
    for index, (text, lamp, lit) in enumerate(fields):
        (left, top, width, height), (x, y, across, _) = photographs.place(index)
        size = largest
        font = PIL.ImageFont.truetype(FONTS + font_name, size * fine)
        while font.getlength(text) > (width - 24) * fine:
            size -= 2
            font = PIL.ImageFont.truetype(FONTS + font_name, size * fine)
        pen.text(((left + 12) * fine, (top + height - 16) * fine), text, ink, font, "ls")
        if lamp:
            colour = photographs.LAMPS[lamp] if lit else tuple((g + r) // 2 for g, r in zip(ground, ring))
            pen.ellipse([x * fine, y * fine, (x + across) * fine, (y + across) * fine], colour, ring)
    return page


def boxes():
    for index in range(len(FIELDS)):
        left, top, width, height = (photographs.FINE * n for n in photographs.place(index)[0])
        yield left, top, left + width, top + height


def marks_text(corners):
    text = f"kind: marks\nformat: 1\npages:\n  1:\n    size: {list(photographs.SIZE)}\n    dark: dark.png\n    readouts:\n"
    for index, (name, lamp) in enumerate(FIELDS):
        place, round_ = photographs.place(index)
        text += f"      {name}: {{text: {place}" + (f", lamp: {round_}" if lamp else "") + "}\n"
    return text + "pictures:\n" + "".join(f"  {name}: {{corners: {[[round(x, 1), round(y, 1)] for x, y in four]}}}\n" for name, four in corners.items())


def text_of(rng):
    """A value that is easily misread, or any."""
    return rng.choice(VALUES) if rng.random() < 0.5 else photographs.number(rng)


def readings(path):
    return list(csv.DictReader(line for line in path.read_text().splitlines() if not line.startswith("#")))


def read(bench, folder, questions, look, way, level, seed):
    """What was believed and what not of some pictures, each as (question, field, truth, reading)."""
    rng = random.Random(f"{look} {way} {level} {seed}")
    truth, corners = {}, {}
    folder.mkdir()
    for question in range(questions + 1):
        fields = [(text_of(rng), lamp, lamp is not None and question > 0 and rng.random() < 0.5) for _, lamp in FIELDS]
        for (name, _), (text, lamp, lit) in zip(FIELDS, fields):
            truth[str(question), name] = (text, lamp if lit else "")
        name = f"page1_question{question}.png" if question else "dark.png"
        page = drawn(look, fields)
        # Nobody keeps a picture of the dark lamps that is spoilt beyond use.
        picture, corners[name] = spoilt.spoilt(page, way, level if question or way == "dim" else 1, rng, list(boxes()))
        picture.save(folder / name, compress_level=1)
    (folder / "marks.yaml").write_text(marks_text(corners))
    words = [DRYCRANK, "display", "sweep", bench, "--picture", folder, "--marks", folder / "marks.yaml", "--out", folder / "out"]
    out = subprocess.run(list(map(str, words)), capture_output=True, text=True, timeout=300)
    assert out.returncode in (0, 1, 4), out.stderr
    asked = [r for r in readings(folder / "out/read.csv") if int(r["question"]) <= questions]
    assert len(asked) == questions * len(FIELDS), asked
    return asked, truth


def main():
    first, last = (re.findall(r"\d+", SEEDS) * 2)[:2]
    is_large = len(sys.argv) > 2
    questions = 3 if is_large else 1
    counted, wrong, doubts = collections.Counter(), [], collections.Counter()
    with tempfile.TemporaryDirectory() as tmp:
        bench = pathlib.Path(tmp) / "bench.yaml"
        bench.write_text(bench_text())
        for seed in range(int(first), int(last) + 1):
            for way in ONLY:
                for level in spoilt.LEVELS:
                    for look in LOOKS if is_large else [list(LOOKS)[(level + spoilt.WAYS.index(way)) % 3]]:
                        folder = pathlib.Path(tmp) / f"{look}_{way}_{level}_{seed}"
                        asked, truth = read(bench, folder, questions, look, way, level, seed)
                        for r in asked:
                            counted[way, level] += 1
                            if r["doubt"]:
                                doubts[f'{look} {way} {level}', re.sub(r"[0-9.'-]+", "#", r["doubt"])] += 1
                                continue
                            counted[way, level, "believed"] += 1
                            due = truth[r["question"], r["readout"]]
                            if (r["reading"], r["lamp"]) != due:
                                wrong.append((look, way, level, seed, r["question"], r["readout"], due, (r["reading"], r["lamp"], r["confidence"])))
    print("believed without a question, of 100\nway    " + "".join(f"{level:5}" for level in spoilt.LEVELS))
    for way in ONLY:
        print(f"{way:7}" + "".join(f"{100 * counted[way, level, 'believed'] / counted[way, level]:5.0f}" for level in spoilt.LEVELS))
    total = sum(n for key, n in counted.items() if len(key) == 2)
    believed = sum(n for key, n in counted.items() if len(key) == 3)
    print(f"{total} readings, {believed} believed, {len(wrong)} of them wrong")
    for one in wrong:
        print("wrong:", *one)
    if is_large:
        for (way, doubt), n in doubts.most_common(200):
            print(f"{n:5} {way}: {doubt}")
    is_poor = sum(counted[way, 1, "believed"] for way in ONLY) < LEAST_BELIEVED * sum(counted[way, 1] for way in ONLY)
    if is_poor:
        print("too little is believed on the mildest levels")
    return 1 if wrong or is_poor else 0


if __name__ == "__main__":
    sys.exit(main())
