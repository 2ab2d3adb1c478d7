#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank match` against coils drawn as in hw-notes/signal-laws.md, recorded as recorders do.

    lobes_test.py DRYCRANK [CASES]     40 cases

The wave is drawn here, from the laws as that page states them, and nothing of the program is used:

  half sine   each tooth edge one lobe, up where metal comes, over half the way to its neighbours; 0 V in a gap
  pole        each tooth edge (1 + (d / s)^2)^-1.5, s = 0.3 of the tooth: a point of metal that passes a field's
              source (Biot and Savart, the field on the axis of a ring): nowhere flat

Recorded at a rate, clipped, in 8 bits, behind a capacitor, with noise, by a clock that is off by 100 ppm.
"""
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile
import unittest

import numpy as np

import drawn_capture as draw

DRYCRANK = pathlib.Path(sys.argv[1]).resolve()
STEPS = 36_000  # of a turn
CAM = [(0, 20), (70, 130), (180, 240), (310, 330)]


def half_sines(teeth, deg):
    wave = np.zeros_like(deg)
    for k, (begin, end) in enumerate(teeth):
        before, behind = (begin - teeth[k - 1][1]) % 360, (teeth[(k + 1) % len(teeth)][0] - end) % 360
        wide = end - begin
        for at, left, right, sign in ((begin, min(before, wide) / 2, wide / 2, 1), (end, wide / 2, min(behind, wide) / 2, -1)):
            x = (deg - at + left) % 360 / (left + right)
            wave += np.where(x <= 1, sign * np.sin(np.pi * x) / (left + right), 0)
    return wave


def poles(teeth, deg):
    wave = np.zeros_like(deg)
    for begin, end in teeth:
        for at, sign in ((begin, 1), (end, -1)):
            d = (deg - at + 180) % 360 - 180
            wave += sign / (1 + (d / (0.3 * (end - begin))) ** 2) ** 1.5
    return wave


def bench_text(teeth, offset, cam_offset, hall=False):
    wheel = lambda t: "{name: drawn, tooth_edges_deg: [" + ", ".join(f"[{b:.9g}, {e:.9g}]" for b, e in t) + "]}"
    hall_at = lambda c: f"{{kind: hall, supply: {c}.1, ground: {c}.2, signal: {c}.3}}"
    pickup = hall_at("CK") if hall else "{kind: variable_reluctance, plus: CK.1, minus: CK.2}"
    return f"""\
kind: bench
format: 1
name: drawn
engine: {{strokes: 4, firing_order: [1, 3, 4, 2]}}
connectors: {{CK: {{pins: 3}}, CM: {{pins: 3}}, BAT: {{pins: 2}}}}
supplies: {{battery: {{plus: BAT.1, minus: BAT.2, voltage_v: 13.8}}}}
triggers:
  crank: {{shaft: crank, wheel: {wheel(teeth)}, offset_deg: {offset}, pickup: {pickup}}}
  cam: {{shaft: cam, wheel: {wheel(CAM)}, offset_deg: {cam_offset}, pickup: {hall_at("CM")}}}
"""


class Recording:
    """A crank's coil and a cam's Hall sensor at a speed that may rise."""

    def __init__(self, teeth, rng, wave=half_sines, rpm=850.0, to_rpm=None, samples=20.0, rate=None, turns=12, late=0.0,
                 swapped=False, noise=0.0, clip=0.0, high_pass_hz=0.0, ppm=0, form="csv", hall=False, gone=None):
        self.teeth, self.swapped, self.late, self.form, self.hall = teeth, swapped, late, form, hall
        self.turning = [tooth for k, tooth in enumerate(teeth, 1) if k != gone]
        self.offset, self.cam_offset = round(rng.uniform(0, 359), 1), round(rng.uniform(0, 719), 1)
        to_rpm = to_rpm or rpm
        pitch = min(b[0] - a[0] for a, b in zip(teeth, teeth[1:]))
        self.rate = rate or round(samples * 6 * max(rpm, to_rpm) / pitch)
        for_s = turns * 120 / (rpm + to_rpm)
        self.step_deg = 6 * max(rpm, to_rpm) / self.rate
        t = np.arange(int(self.rate * for_s)) / (self.rate * (1 + ppm * 1e-6))
        crank_deg = rng.uniform(0, 720) + 6 * (rpm * t + (to_rpm - rpm) * t * t / (2 * for_s))
        speed = (rpm + (to_rpm - rpm) * t / for_s) / max(rpm, to_rpm)
        self.moved_deg = self.by_capacitor(high_pass_hz, min(rpm, to_rpm))
        crank = self.levels(crank_deg - self.offset, teeth, 360) if hall else self.coil(wave, crank_deg) * speed
        rows = [crank, self.levels(crank_deg - self.cam_offset - late, CAM, 720)]
        draws = np.random.default_rng(rng.randrange(1 << 30))
        rows = [row + draws.normal(0, noise, len(row)) for row in rows] if noise else rows
        if clip:
            rows[0] = np.clip(rows[0], -clip, clip)
        if high_pass_hz:
            rows = [draw.ac_coupled(row.tolist(), self.rate, high_pass_hz) for row in rows]
        self.rows = rows

    def coil(self, wave, crank_deg):
        grid = np.linspace(0, 360, STEPS + 1)
        table = wave(self.turning, grid)
        volts = np.interp((crank_deg - self.offset) % 360, grid, table / np.abs(table).max())
        return -volts if self.swapped else volts

    @staticmethod
    def levels(deg, teeth, turn_deg):
        x, level = deg % turn_deg * 360 / turn_deg, np.ones_like(deg)
        for begin, end in teeth:
            level[(x >= begin) & (x < end)] = 0
        return level

    def by_capacitor(self, corner_hz, rpm):
        """A high-pass leads a wave of f by atan(corner / f): twice that for the wide waves beside a gap."""
        gap = max((b[0] - a[0]) % 360 for a, b in zip(self.teeth, self.teeth[1:] + self.teeth[:1]))
        return 2 * gap * math.atan(corner_hz * gap / (6 * rpm)) / (2 * math.pi)

    def bytes(self):
        rows = [np.asarray(row).tolist() for row in self.rows]
        top = max(max(map(abs, row)) for row in rows) * 1.02
        if self.form.startswith("wav"):
            return ".wav", draw.wav(rows, self.rate, int(self.form[3:]), top)
        if self.form == "sr":
            return ".sr", draw.sr([], [], ["crank", "cam"], rows, self.rate)
        return ".csv", draw.csv_text(["crank", "cam"], rows, self.rate)

    def matched(self, folder):
        suffix, data = self.bytes()
        capture, bench, said, names = folder / f"c{suffix}", folder / "bench.yaml", folder / "said.json", folder / "map.yaml"
        capture.write_bytes(data)
        bench.write_text(bench_text(self.teeth, self.offset, self.cam_offset, self.hall))
        names.write_text("kind: capture\nformat: 1\nchannels: {crank: {column: 1}, cam: {column: 2}}\n")
        said.unlink(missing_ok=True)
        words = [DRYCRANK, "match", bench, capture, "--json", said] + (["--map", names] if suffix == ".wav" else [])
        out = subprocess.run(list(map(str, words)), capture_output=True, text=True, timeout=300)
        self.code, self.text = out.returncode, out.stdout + out.stderr
        return json.loads(said.read_text()) if said.exists() else None

    def wrong(self, folder):
        """What is said wrongly, in words; empty: all is right."""
        said = self.matched(folder)
        if said is None:
            return [f"refused: {self.text[-200:]}"]
        crank, cams = said["triggers"][0], said["triggers"][1:]
        if not crank["as_built"] or not cams:
            return ["wheel"]
        cam = cams[0]
        wrong = [] if crank["wiring"] == ("reversed" if self.swapped else "as drawn") else [f"way round: {crank['wiring']}"]
        allowed = max(0.1, self.step_deg) + self.moved_deg
        if cam["late_deg"] is None or abs((cam["late_deg"] - self.late + 360) % 720 - 360) > allowed:
            wrong.append(f"cam {cam['late_deg']} for {self.late} within {allowed:.2f}")
        if crank["missing"] or crank["extra"]:
            wrong.append(f"{crank['missing']} missing, {crank['extra']} too many")
        return wrong


def drawn(seed):
    """One of the coils that a workshop may meet, six samples a tooth to 1 MS/s."""
    rng = random.Random(seed)
    places = rng.choice([12, 16, 20, 24, 30, 36, 48, 60, 90])
    gap = rng.choice([1, 1, 2, 3]) if places > 12 else 1
    missing = set(range(places - gap + 1, places + 1)) | ({rng.randint(3, places // 2)} if rng.random() < 0.25 else set())
    rpm = math.exp(rng.uniform(math.log(500), math.log(7000)))
    how = {"wave": rng.choice([half_sines, half_sines, poles]), "rpm": rpm, "turns": rng.uniform(8, 14), "swapped": rng.random() < 0.4,
           "to_rpm": rpm * rng.choice([1, 1, rng.uniform(1.05, 1.5)]), "late": rng.choice([0, round(rng.uniform(-30, 30), 2)]),
           "noise": rng.choice([0, 0, 0.003, 0.01, 0.02]), "ppm": rng.choice([0, -100, 100]), "form": rng.choice(["csv", "wav8", "wav16", "sr"]),
           "samples": rng.choice([rng.uniform(6.2, 9), math.exp(rng.uniform(math.log(6.2), math.log(200)))]),
           "clip": rng.choice([0, 0, rng.uniform(0.25, 0.8)])}
    how["high_pass_hz"] = rng.uniform(1.5, 6) if how["form"] != "csv" and rng.random() < 0.4 else 0
    if rng.random() < 0.05:
        how.update(rate=1_000_000, turns=8, rpm=3000, to_rpm=3000)
    return draw.even(places, missing), rng, how


class Lobes(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def right(self, *args, **kwargs):
        with self.subTest(**{k: str(v) for k, v in kwargs.items()}):
            self.assertEqual(Recording(*args, **kwargs).wrong(self.folder), [])

    def test_a_flat_gap_tells_which_way_round_at_any_rate(self):
        rng = random.Random(1)
        for teeth in (draw.even(60, (59, 60)), draw.even(36, (36,))):
            for swapped in (False, True):
                for samples in (6.2, 10, 20, 40, 52, 150):
                    self.right(teeth, rng, samples=samples, swapped=swapped, turns=8)
                self.right(teeth, rng, rate=1_000_000, rpm=3000, turns=6, swapped=swapped)

    def test_drawn_by_chance(self):
        """Wheel, cam and strays right in 98 of 100; which way round right in 95 of 100, and never wrong."""
        kinds = {"wheel": [], "cam": [], "way": [], "way wrong": [], "stray": []}
        for seed in range(CASES):
            teeth, rng, how = drawn(seed)
            for wrong in Recording(teeth, rng, **how).wrong(self.folder):
                kind = ("way" if wrong.endswith("cannot tell") else "way wrong" if wrong.startswith("way") else
                        "stray" if "missing" in wrong else "cam" if wrong.startswith("cam") else "wheel")
                kinds[kind].append(f"seed {seed}: {len(teeth)} teeth, {wrong}, {how}")
        for kind, cases in kinds.items():
            print(f"{kind}: {CASES - len(cases)} of {CASES} right", *cases[:20], sep="\n  ")
        self.assertEqual(kinds["way wrong"], [])
        for kind, of_hundred in (("wheel", 1), ("cam", 2), ("stray", 2), ("way", 5)):
            self.assertLessEqual(len(kinds[kind]), max(1, CASES * of_hundred // 100), kind)

    def test_clipped_waves_of_few_samples_are_waves(self):
        rng = random.Random(2)
        for samples in (6.2, 6.7, 7.4, 8.2, 9.5):
            for clip in (0.25, 0.4):
                for wave in (half_sines, poles):
                    self.right(draw.even(36, (17, 18, 36)), rng, wave=wave, samples=samples, clip=clip, swapped=clip > 0.3, ppm=100)

    FIVE = [(0, 10), (60, 75), (120, 130), (205, 222), (300, 310)]  # the nearest begin 60 degrees apart

    def test_a_tooth_of_two_samples_is_seen_as_one_or_three(self):
        rng = random.Random(3)
        for wide in (1.96, 2.0, 2.04, 2.5, 3):
            for to_rpm in (600, 624):
                self.right(self.FIVE, rng, hall=True, samples=wide * 6, rpm=600, to_rpm=to_rpm, turns=40)

    def test_narrower_it_is_read_right_or_refused(self):
        rng = random.Random(5)
        for wide in (1.1, 1.3, 1.5, 1.7):
            engine = Recording(self.FIVE, rng, hall=True, samples=wide * 6, rpm=600, to_rpm=624, turns=40)
            wrong = engine.wrong(self.folder)
            self.assertTrue(engine.code == 2 and "at least 2: " in engine.text or wrong == [], wrong)

    def test_so_is_a_coil_whose_lobes_are_narrower(self):
        for seed in [*range(8), 11, 23]:  # of the last two a few turns at most can be followed
            samples = 7.4 if 4 <= seed < 8 else 6.3
            engine = Recording(self.FIVE, random.Random(seed), samples=samples, rpm=3000, turns=24, swapped=seed % 2 == 1, form="wav8")
            wrong = engine.wrong(self.folder)
            self.assertTrue(engine.code == 2 and "at least 2: " in engine.text or
                            set(wrong) <= {"way round: cannot tell"}, wrong)

    def test_a_tooth_that_is_gone_is_named_and_the_way_round_is_told(self):
        wheel = [(6 * k, 6 * k + 3) for k in range(58)]
        for seed, gone in enumerate((3, 8, 20, 30, 41, 52)):
            for samples in (12, 26, 100):
                engine = Recording(wheel, random.Random(seed), samples=samples, turns=20, swapped=seed % 2 == 1, gone=gone,
                                   noise=0.003 if seed > 2 else 0)
                said = engine.matched(self.folder)
                crank, cam = said["triggers"][:2]
                self.assertIn(f"tooth {gone}, which begins at", engine.text)
                self.assertEqual(crank["wiring"], "reversed" if engine.swapped else "as drawn", (gone, samples))
                self.assertLess(abs(cam["late_deg"]), max(0.2, engine.step_deg), (gone, samples))

    def test_of_two_teeth_that_leave_the_same_wheel_the_cam_decides(self):
        """36-1: one gone makes two gaps of one, whichever of the two was there before."""
        wheel = [(10 * k, 10 * k + 5) for k in range(35)]
        for seed, gone in enumerate((8, 16, 20, 28)):
            engine = Recording(wheel, random.Random(seed), samples=26, turns=20, gone=gone)
            cam = engine.matched(self.folder)["triggers"][1]
            self.assertIn(f"tooth {gone}, which begins at", engine.text)
            self.assertIn(f"whether tooth {gone} or {36 - gone} is gone", engine.text)
            self.assertLess(abs(cam["late_deg"]), max(0.2, engine.step_deg), gone)

    def test_a_tooth_of_less_than_a_sample_is_refused_with_the_rate(self):
        narrow = [(0, 5)] + CAM[1:]  # 5 of 70 degrees: 0.57 of a sample
        engine = Recording(narrow, random.Random(4), hall=True, samples=8, rpm=600, turns=40)
        engine.matched(self.folder)
        self.assertEqual(engine.code, 2, engine.text)
        # 600 r/min are 3600 degrees in a second: two samples in 5 degrees are 1440 Hz.
        self.assertRegex(engine.text, r"crank: 0\.6 samples in its narrowest tooth or space of 5\.0°.*at least 2: 1\.4[45] kHz")

    def test_while_a_capacitor_settles_no_edge_is_called_missing(self):
        for seed in range(8):
            engine = Recording(draw.even(24, (23, 24)), random.Random(seed), rpm=1500, high_pass_hz=2.5, samples=9, turns=30, form="wav16")
            with self.subTest(seed=seed):
                self.assertEqual(engine.wrong(self.folder), [])
                self.assertNotEqual(engine.code, 1, engine.text)

    def test_a_channel_that_never_changes_is_no_wheel(self):
        engine = Recording(draw.even(60, (59, 60)), random.Random(6), turns=4)
        engine.rows[0] = np.full_like(engine.rows[0], 0.4)
        engine.matched(self.folder)
        self.assertEqual(engine.code, 1)
        self.assertIn("crank: never changes: the engine stands, or nothing is connected", engine.text)
        self.assertNotRegex(engine.text, "wheel of|no known wheel")


if __name__ == "__main__":
    CASES = int(sys.argv[2]) if len(sys.argv) > 2 else 40
    unittest.main(argv=sys.argv[:1] + sys.argv[3:], verbosity=1)
