#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank match` against captures that are computed beside it (drawn_capture.py), seeded.

    captures_test.py DRYCRANK PROFILES [CASES]     60 cases; 1000 are the long test

Each case draws a wheel, a motion, a recorder, a cam's error and a wiring. Demanded of all of them:
  the wheel       named right in 99 of 100
  the cam         late by what was drawn, within 0.1 degrees or one sample
  which way round right or "cannot tell", never wrong
"""
import io
import json
import math
import pathlib
import random
import re
import struct
import subprocess
import sys
import tempfile
import unittest
import unittest.mock
import zipfile

import drawn_capture as draw

DRYCRANK, PROFILES = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
CASES = int(sys.argv[3]) if len(sys.argv) > 3 else 60

# name: teeth of the wheel's own degrees. The first eight are profiles/parts/wheels, written out anew.
CRANKS = {
    "60-2": draw.even(60, (59, 60)),
    "36-1": draw.even(36, (36,)),
    "36-2-2-2": draw.even(36, (17, 18, 32, 33, 35, 36)),
    "12+1 teeth": draw.even(12),
    "24+1 teeth": draw.even(24),
    "8-vane": draw.even(8, (), 0.6),
    "4-unequal": [(0, 20), (90, 125), (180, 230), (270, 335)],
    "own 24-2": draw.even(24, (23, 24)),
    "own 44-2-2": draw.even(44, (21, 22, 43, 44)),
    "own 30 two slots": draw.even(30, (10, 29, 30)),
    "own wide": draw.even(40, (1,), 0.7),
    "own five": [(0, 8), (50, 66), (130, 142), (200, 240), (300, 310)],
}
EVEN = {"12+1 teeth", "24+1 teeth", "8-vane"}
CAMS = {
    "four unequal": [(0, 20), (70, 130), (180, 240), (310, 330)],
    "half-moon": [(0, 180)],
    "24+1 mark": [(0, 10)],
    "three": [(0, 15), (100, 130), (220, 300)],
}


def bench_text(crank, crank_offset, coil, cam, cam_offset, firing="[1, 3, 4, 2]"):
    pickup = ("{kind: variable_reluctance, plus: CK.1, minus: CK.2}" if coil else "{kind: hall, supply: CK.1, ground: CK.2, signal: CK.3}")
    return f"""\
kind: bench
format: 1
name: drawn
engine: {{strokes: 4, firing_order: {firing}}}
connectors:
  CK: {{pins: 3}}
  CM: {{pins: 3}}
  BAT: {{pins: 2}}
supplies: {{battery: {{plus: BAT.1, minus: BAT.2, voltage_v: 13.8}}}}
triggers:
  crank:
    shaft: crank
    wheel: {crank}
    offset_deg: {crank_offset}
    pickup: {pickup}
  cam:
    shaft: cam
    wheel: {cam}
    offset_deg: {cam_offset}
    pickup: {{kind: hall, supply: CM.1, ground: CM.2, signal: CM.3}}
"""


def wheel_yaml(teeth, name=None):
    edges = ", ".join(f"[{b:.9g}, {e:.9g}]" for b, e in teeth)
    return "{" + (f'name: "{name}", ' if name else "") + f"tooth_edges_deg: [{edges}]" + "}"


def match(*words):
    return subprocess.run([DRYCRANK, "match", *map(str, words)], capture_output=True, text=True, timeout=300)


class Case:
    """One seeded capture: what was drawn, and what was said of it."""

    def __init__(self, seed, folder, parts):
        rng = self.rng = random.Random(seed)
        self.seed, self.folder, self.parts = seed, folder, parts
        self.crank = rng.choice(list(CRANKS))
        self.cam = rng.choice(list(CAMS))
        self.coil = self.crank not in ("4-unequal", "own five", "8-vane", "own wide") and rng.random() < 0.45
        # The bench has the wheel, or another one and the parts have it.
        self.told = self.crank if rng.random() < 0.6 else rng.choice([c for c in CRANKS if c != self.crank])
        self.offset = round(rng.uniform(0, 359), 1)
        self.cam_offset = round(rng.uniform(0, 719), 1)
        self.open_deg = {"12+1 teeth": 30, "24+1 teeth": 15, "8-vane": 45}.get(self.crank, 360)
        most = min(60, 0.4 * self.open_deg)
        self.late = rng.choice([0, round(rng.uniform(-most, most), 2)])
        self.crank_reversed, self.cam_reversed = rng.random() < 0.3, rng.random() < 0.3
        self.motion()
        self.recorder()

    def motion(self):
        rng = self.rng
        kind = rng.choice(["steady", "steady", "ramp", "crank"])
        start = rng.uniform(0, 720)
        # While cranking the speed swings between the edges of a wheel of few: its angles say little there.
        if len(CRANKS[self.crank]) < 12:
            kind = "steady" if kind == "crank" else kind
        if kind == "crank":
            self.rpm = rng.uniform(150, 260)
            self.m = draw.Motion(kind, self.rpm, ripple=rng.uniform(0.05, 0.25), per_turn=2, start_deg=start)
            self.most_rpm, self.turns = self.rpm / 0.75, rng.uniform(5, 8)
        else:
            self.rpm = math.exp(rng.uniform(math.log(500), math.log(7000)))
            to = self.rpm * rng.uniform(1.05, 1.6) if kind == "ramp" else self.rpm
            self.turns = rng.uniform(6, 12)
            self.for_s = self.turns * 120 / (self.rpm + to)
            self.m = draw.Motion(kind, self.rpm, to, self.for_s, start_deg=start)
            self.most_rpm = max(self.rpm, to)
            return
        self.for_s = self.turns * 60 / self.rpm

    def recorder(self):
        rng = self.rng
        self.how = rng.choice(["csv", "csv;", "wav8", "wav16", "wav24", "wavf", "vcd", "sr logic", "sr analogue"])
        if self.coil and self.how in ("vcd", "sr logic"):
            self.how = "wav16"
        teeth = CRANKS[self.crank]
        pitch = min((b[0] - a[0] for a, b in zip(teeth, teeth[1:])), default=360)
        # A tooth or a gap of which one sample at most is whole may not be seen.
        pitch = min([pitch] + [3 * (e - b) for b, e in teeth] + [3 * (n[0] - t[1]) for t, n in zip(teeth, teeth[1:])])
        least = 6.15 * self.most_rpm * 6 / pitch
        most = min(1e6, 120_000 / self.for_s)
        self.rate = int(math.exp(rng.uniform(math.log(least), math.log(max(most, least * 1.01)))))
        self.rate = max(self.rate, 200)
        self.ac_hz = rng.uniform(3, 15) if self.how.startswith(("wav", "sr a")) and rng.random() < 0.4 else 0
        self.clip = self.coil and rng.random() < 0.3
        self.sigma = rng.choice([0, 0.005, 0.02])

    def channels(self):
        rng, ppm = self.rng, self.rng.choice([-100, 0, 100])
        s = draw.Sampler(self.rate, self.for_s, ppm)
        crank_edges = draw.wheel_edges(CRANKS[self.crank], self.offset, 360, 0, self.m, self.for_s)
        cam_edges = draw.wheel_edges(CAMS[self.cam], self.cam_offset, 720, self.late, self.m, self.for_s)
        jitter = lambda edges: [(t + rng.gauss(0, 2e-7), metal) for t, metal in edges]
        self.edges = [jitter(crank_edges), jitter(cam_edges)]
        self.polarity = [not self.crank_reversed, not self.cam_reversed]
        if self.how == "vcd":
            return None
        box = self.how != "sr logic"
        if self.coil:
            crank = s.coil(CRANKS[self.crank], self.offset, 360, self.m, 1.0, 250, -1 if self.crank_reversed else 1)
            top = max(abs(v) for v in crank)
            crank = draw.noisy(crank, self.sigma * top * 0.5, rng)
            if self.clip:
                crank = draw.clipped(crank, -0.5 * top, 0.5 * top)
        else:
            crank = s.level(self.edges[0], 0.1, 4.9, self.polarity[0], box=box)
            crank = draw.noisy(crank, self.sigma * 5, rng) if box else crank
        cam = s.level(self.edges[1], 0.1, 4.9, self.polarity[1], box=box)
        cam = draw.noisy(cam, self.sigma * 5, rng) if box else cam
        if self.ac_hz:
            crank, cam = draw.ac_coupled(crank, self.rate, self.ac_hz), draw.ac_coupled(cam, self.rate, self.ac_hz)
        return [crank, cam]

    def write(self):
        rows = self.channels()
        names = ["crank", "cam"]
        if self.how == "vcd":
            edges = [[(t, (not metal) if low else metal) for t, metal in e] for e, low in zip(self.edges, self.polarity)]
            # What it is before its first edge within the file.
            firsts = [not next(level for t, level in e if t > 0) for e in edges]
            return ".vcd", draw.vcd(names, [[(t, l) for t, l in e if t < self.for_s] for e in edges], firsts)
        top = max(max(map(abs, r)) for r in rows) * 1.02
        if self.how.startswith("wav"):
            bits = {"wav8": 8, "wav16": 16, "wav24": 24, "wavf": 32}[self.how]
            return ".wav", draw.wav(rows, self.rate, bits, top, self.how == "wavf")
        if self.how == "sr logic":
            return ".sr", draw.sr(names, [[v > 2.5 for v in r] for r in rows], [], [], self.rate)
        if self.how == "sr analogue":
            return ".sr", draw.sr([], [], names, rows, self.rate)
        if self.how == "csv;":
            return ".csv", draw.csv_text(names, rows, self.rate, ";", ",", ["V", "V"], unit="ms", digits=7)
        return ".csv", draw.csv_text(names, rows, self.rate, digits=5)

    def run(self):
        base = self.folder / f"case{self.seed}"
        suffix, data = self.write()
        capture = base.with_suffix(suffix)
        capture.write_bytes(data)
        bench = self.folder / f"case{self.seed}_bench.yaml"
        bench.write_text(bench_text(wheel_yaml(CRANKS[self.told], self.told), self.offset, self.coil, wheel_yaml(CAMS[self.cam]), self.cam_offset))
        names = self.folder / "map.yaml"
        if not names.exists():
            names.write_text("kind: capture\nformat: 1\nchannels:\n  crank: {column: 1}\n  cam: {column: 2}\n")
        out_json = base.with_suffix(".json")
        words = [bench, capture, "--parts", self.parts, "--json", out_json]
        if suffix == ".wav":
            words += ["--map", names]
        out = match(*words)
        self.said = json.loads(out_json.read_text()) if out.returncode in (0, 1, 4) else None
        self.text = out.stdout + out.stderr
        capture.unlink()

    def one_sample_deg(self):
        return 0 if self.how == "vcd" else 6 * self.most_rpm / self.rate

    def wrong(self):
        """Of wheel, phase, polarity: what is wrong, by name."""
        if self.said is None:
            return {"wheel": self.text[-400:]}
        wrong = {}
        crank = next(t for t in self.said["triggers"] if t["name"] == "crank")
        cam = next((t for t in self.said["triggers"] if t["name"] == "cam"), None)
        if crank["wheel"] != self.crank:
            wrong["wheel"] = crank["wheel"]
        allowed = max(0.1, self.one_sample_deg()) + self.moved_by_capacitor_deg()
        if cam is None or cam["late_deg"] is None or abs(self.off(cam["late_deg"])) > allowed:
            wrong["phase"] = f"{cam and cam['late_deg']} for {self.late} within {allowed:.2f}"
        for trigger, reversed_ in ((crank, self.crank_reversed), (cam, self.cam_reversed)):
            if trigger and trigger["wiring"] not in ("cannot tell", "reversed" if reversed_ else "as drawn"):
                wrong["polarity"] = f"{trigger['name']}: {trigger['wiring']}"
        return wrong

    def moved_by_capacitor_deg(self):
        """A high-pass of corner fc leads a wave of f by atan(fc / f); a coil's crossings come that much early,
        and those beside a gap, where the wave is slower, twice that."""
        if not (self.coil and self.ac_hz):
            return 0
        teeth = CRANKS[self.crank]
        pitch = min(b[0] - a[0] for a, b in zip(teeth, teeth[1:]))
        slowest = self.rpm * (0.8 if self.m.kind == "crank" else 1)
        return 2 * pitch * math.atan(self.ac_hz / (slowest * 6 / pitch)) / (2 * math.pi)

    def off(self, said):
        """A half-moon inverted is one half a turn on; the crank is the same after each turn."""
        off = (said - self.late + 180) % 360 - 180
        # Even teeth as wide as their gaps, or of a coil: the other way round is half a pitch on.
        if self.crank in ("12+1 teeth", "24+1 teeth") and self.crank_reversed or self.crank == "8-vane" and self.coil:
            half = self.open_deg / 2
            off = (off + half / 2) % half - half / 2
        return off

    def __str__(self):
        return (f"seed {self.seed}: {self.crank} ({'coil' if self.coil else 'hall'}{', reversed' if self.crank_reversed else ''}), told {self.told}, cam {self.cam}"
                f"{' reversed' if self.cam_reversed else ''} {self.late:+}, {self.m.kind} {self.rpm:.0f} r/min, {self.how} {self.rate} Hz, ac {self.ac_hz:.1f}, clip {self.clip}, noise {self.sigma}")


def write_parts(folder):
    for name, teeth in CRANKS.items():
        (folder / f"{name.replace(' ', '_').replace('+', '_')}.yaml").write_text(
            f'name: "{name}"\ntooth_edges_deg: [' + ", ".join(f"[{b:.9g}, {e:.9g}]" for b, e in teeth) + "]\n")


class Drawn(unittest.TestCase):
    def test_wheel_phase_and_polarity(self):
        wrong = {"wheel": [], "phase": [], "polarity": []}
        with tempfile.TemporaryDirectory() as tmp:
            folder = pathlib.Path(tmp)
            parts = folder / "wheels"
            parts.mkdir()
            write_parts(parts)
            for seed in range(CASES):
                case = Case(seed, folder, parts)
                case.run()
                for what, said in case.wrong().items():
                    wrong[what].append(f"{case}\n    {what}: {said}")
        for what, cases in wrong.items():
            print(f"{what}: {CASES - len(cases)} of {CASES} right")
            if cases:
                print("  " + "\n  ".join(cases[:40]))
        self.assertLessEqual(len(wrong["wheel"]), CASES // 100)
        self.assertLessEqual(len(wrong["phase"]), CASES // 100)
        self.assertEqual(len(wrong["polarity"]), 0)


class Engine:
    """A four-cylinder with 60-2, a cam and outputs, at a steady speed; as drawn unless something is put in."""
    TDC = {1: 0, 3: 180, 4: 360, 2: 540}
    CAM = CAMS["four unequal"]

    def __init__(self, **put_in):
        self.crank_teeth, self.cam_teeth, self.cam_offset = CRANKS["60-2"], self.CAM, 20
        self.crank_late = self.cam_late = 0.0
        self.gone, self.cam_gone, self.cam_low = (), (), True
        self.coil_sign, self.advance, self.dwell_ms = 1, 12.0, 3.0
        self.coils, self.injectors = (1, 3, 4, 2), ()
        self.exchange, self.skip, self.wasted = {}, {}, False
        self.injection_ms, self.injection_before = 4.0, 60.0
        self.spark_late = 0.0
        self.rpm, self.for_s, self.rate = 1500, 1.0, 50_000
        self.high_pass_hz, self.behind_comparator, self.noise_v = 0, False, 0.01
        self.__dict__.update(put_in)

    def spark_events(self, cylinder, m):
        step = 360 if self.wasted else 720
        events = []
        for n in range(-1, int(m.angle(self.for_s) / step) + 2):
            if n % 20 in self.skip.get(f"coil_{cylinder}", ()):
                continue
            off = m.time(self.TDC[cylinder] + n * step - self.advance + self.spark_late)
            events.append((off - self.dwell_ms * 1e-3, off))
        return events

    def injection_events(self, cylinder, m):
        events = []
        for n in range(-1, int(m.angle(self.for_s) / 720) + 2):
            off = m.time(self.TDC[cylinder] + 360 + n * 720 - self.injection_before)
            events.append((off - self.injection_ms * 1e-3, off))
        return events

    def write(self, path, rng_seed=1):
        rng = random.Random(rng_seed)
        m = draw.Motion("steady", self.rpm, start_deg=rng.uniform(0, 720))
        s = draw.Sampler(self.rate, self.for_s)
        names = ["crank", "cam_intake"]
        rows = [s.coil(self.crank_teeth, 300 + self.crank_late, 360, m, 0.867, 200, self.coil_sign, self.gone),
                s.level(draw.wheel_edges(self.cam_teeth, self.cam_offset, 720, self.cam_late, m, self.for_s, self.cam_gone), 0, 5, self.cam_low, box=True)]
        if self.high_pass_hz:
            rows[0] = draw.ac_coupled(rows[0], self.rate, self.high_pass_hz)
        if self.behind_comparator:
            rows[0] = self.compared(rows[0])
        for cylinder in self.coils:
            names.append(f"coil_{self.exchange.get(cylinder, cylinder)}")
            rows.append(s.level([(t, on) for t, on in draw.pulses(self.spark_events(cylinder, m), self.for_s)], 0.3, 13.5, True))
        for cylinder in self.injectors:
            names.append(f"injector_{cylinder}")
            rows.append(s.level([(t, on) for t, on in draw.pulses(self.injection_events(cylinder, m), self.for_s)], 0.3, 13.5, True))
        rows = [draw.noisy(r, self.noise_v, rng) for r in rows]
        path.write_bytes(draw.csv_text(names, rows, self.rate, digits=5))

    @staticmethod
    def compared(wave):
        """As an input circuit has it: 5 V from a twentieth of the peak on, 0 V where the wave falls through zero."""
        arm, high, out = max(wave) / 20, False, []
        for v in wave:
            high = v > 0 if high else v > arm
            out.append(5.0 if high else 0.0)
        return out


class Deliberate(unittest.TestCase):
    """Each error is named, with its degrees; the engine as drawn has none."""
    BENCH = PROFILES / "benches/hill_climb.yaml"

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.tmp = pathlib.Path(self.folder.name)

    def said(self, engine, *words, bench=None, code=1):
        capture = self.tmp / "capture.csv"
        engine.write(capture)
        out = match(bench or self.BENCH, capture, "--json", self.tmp / "said.json", *words)
        self.assertEqual(out.returncode, code, out.stdout + out.stderr)
        self.json = json.loads((self.tmp / "said.json").read_text())
        return [f["text"] for f in self.json["findings"] if f["says"] == "off"]

    def only(self, pattern, *args, **kwargs):
        said = self.said(*args, **kwargs)
        self.assertEqual(len(said), 1, said)
        self.assertRegex(said[0], pattern)

    def belt(self):
        path = self.tmp / "map.yaml"
        path.write_text("kind: capture\nformat: 1\nchannels:\n  crank: {}\n  cam_intake: {belt_teeth: 40}\n"
                        + "".join(f"  coil_{c}: {{}}\n" for c in (1, 2, 3, 4)))
        return path

    def test_as_drawn_nothing_is_off(self):
        self.assertEqual(self.said(Engine(injectors=(1, 2, 3, 4)), bench=self.stated(), code=0), [])
        cam = self.json["triggers"][1]
        self.assertAlmostEqual(cam["late_deg"], 0, delta=0.1)
        for output in self.json["outputs"]:
            self.assertAlmostEqual(output["before_deg"], 12 if output["kind"] == "coil" else 60, delta=0.1)
            self.assertAlmostEqual(output["on_ms"], 3 if output["kind"] == "coil" else 4, delta=0.03)

    def test_cam_one_belt_tooth_late(self):
        # 720 / 40 = 18 degrees of the crank for a tooth of the cam's belt wheel.
        self.only(r"^cam_intake is 18\.0° late ± 0\.\d°: 1 belt tooth of 18\.0°", Engine(cam_late=18), "--map", self.belt())

    def changed(self, old, new, after=""):
        """The bench, with one thing changed."""
        path = self.tmp / "changed.yaml"
        text = self.BENCH.read_text().replace("../parts", str(PROFILES / "parts"))
        at = text.index(after)
        self.assertIn(old, text[at:])
        path.write_text(text[:at] + text[at:].replace(old, new, 1))
        return path

    def test_cam_two_belt_teeth_early(self):
        said = r"36\.0° early ± 0\.\d°: 2 belt teeth of 18\.0°"
        fixed = self.changed("    advance: intake_cam_advance\n", "")
        self.only(said, Engine(cam_late=-36), "--map", self.belt(), bench=fixed, code=1)
        # One that can be turned by 40 degrees may be.
        self.assertEqual(self.said(Engine(cam_late=-36), "--map", self.belt(), code=4), [])
        self.assertRegex([f["text"] for f in self.json["findings"] if f["says"] == "cannot tell"][0], said + ".*or turned: it can be by up to 40°")

    def test_cam_off_by_no_belt_tooth(self):
        self.only(r"7\.0° late ± 0\.\d°: no whole number of belt teeth \(18\.0° each\)", Engine(cam_late=7), "--map", self.belt())

    def test_crank_leads_swapped(self):
        self.only(r"^crank: the two leads are swapped: .* each tooth 3\.0° late", Engine(coil_sign=-1))

    def test_leads_swapped_behind_a_capacitor(self):
        """8 samples a tooth, no noise: which way round is told, or all angles are told within half a tooth."""
        for seed in range(1, 7):
            engine = Engine(coil_sign=-1, rpm=3000, for_s=0.6, rate=24_000, high_pass_hz=2, noise_v=0)
            engine.write = lambda path, seed=seed, engine=engine: Engine.write(engine, path, seed)
            with self.subTest(seed=seed):
                said = self.said(engine, code=unittest.mock.ANY)
                # Edges may be missed until the capacitor has settled; no angle is wrong.
                self.assertFalse([s for s in said if not re.match("crank: (the two leads|[0-9]+ edges missing)", s)], said)
                cam = self.json["triggers"][1]
                self.assertLess(abs(cam["late_deg"]), 0.4 + cam["uncertain_deg"])

    def test_a_comparator_given_in_volts_is_no_wave(self):
        """5 V and 0 V, as 1 and 0 are: its edges are those of the coil's fall, and no leads are swapped."""
        self.assertEqual(self.said(Engine(behind_comparator=True, noise_v=0), code=0), [])
        self.assertLess(abs(self.json["triggers"][1]["late_deg"]), 0.2)

    def test_cam_half_a_turn_off(self):
        self.only(r"^coils fire -?3(60|59)\.\d° off, a whole turn of the crank: the cam is half a turn off$", Engine(cam_late=360))

    def test_half_moon_inverted(self):
        bench = self.changed("tooth_edges_deg: [[0, 20], [70, 130], [180, 240], [310, 330]]", "tooth_edges_deg: [[0, 180]]")
        self.only(r"3(60|59)\.\d° off.*, or the level of cam_intake is inverted", Engine(cam_teeth=CAMS["half-moon"], cam_low=False), bench=bench)
        self.assertEqual(self.said(Engine(cam_teeth=CAMS["half-moon"]), bench=bench, code=0), [])

    def test_crank_and_cam_late_together(self):
        self.only(r"^coils fire [56]\.\d° early ± \d\.\d°, all alike, against the 12\.0° before", Engine(advance=18))
        self.only(r"^coils fire [56]\.\d° late", Engine(advance=6))

    def test_coils_exchanged(self):
        said = self.said(Engine(exchange={1: 3, 3: 1}))
        self.assertEqual(len(said), 2, said)
        self.assertRegex(said[0], r"^coil_[13]: fires at the place of cylinder [13], -?180\.\d° from its own: crossed with it$")

    def test_offset_told_wrong(self):
        # Told 310 where 300 is right: it takes the crank to be 10 degrees further on, and fires 10 early.
        bench = self.changed("offset_deg: 300", "offset_deg: 310", "  triggers:\n    crank:\n      terminal")
        said = self.said(Engine(advance=20), "--fixed-advance", "10", bench=bench)
        self.assertEqual(len(said), 1, said)
        self.assertRegex(said[0], r"^told 10\.0°, it fires 20\.0° ± 0\.\d° before top dead centre: the offset is 10\.0° ± 0\.\d° off: tell it 300 instead of 310$")
        self.assertEqual(self.said(Engine(advance=10), "--fixed-advance", "10", bench=bench, code=0), [])

    def test_a_crank_tooth_gone(self):
        # Tooth 12 begins at 300 + 11 x 6 = 366, at 6 degrees of the turn.
        self.only(r"^crank: tooth 12, which begins at 6\.0° of the crank, is not there$", Engine(gone=(12,)))

    def test_a_cam_tooth_gone(self):
        # Tooth 2 of the cam begins at 20 + 2 x 70 = 160 and ends at 20 + 2 x 130 = 280.
        self.only(r"^cam_intake: 2 edges missing in each cycle, 0 too many; missing: tooth 2 begins \(160\.0°\), tooth 2 ends \(280\.0°\)", Engine(cam_gone=(2,)))

    def test_a_cam_tooth_bent(self):
        self.only(r"^cam_intake: where tooth 3 begins, it is [567]\.\d° late against the wheel's other edges$",
                  Engine(cam_teeth=[(0, 20), (70, 130), (183.5, 240), (310, 330)]), "--tolerance", "3")

    def test_another_wheel(self):
        said = self.said(Engine(crank_teeth=CRANKS["36-1"]))
        self.assertRegex(said[0], r"^crank: this is a 36-1, not the bench's 60-2: it fits .*36-1\.yaml$")

    def stated(self):
        return self.changed("    primary: crank\n", "    primary: crank\n    injection_end_deg: 60\n")

    def injections(self, before_deg, code=1, **how):
        return self.said(Engine(injectors=(1, 2, 3, 4), injection_before=before_deg, **how), bench=self.stated(), code=code)

    def test_injections_that_end_elsewhere_all_alike(self):
        """Told 60 degrees before. 4 ms at 1500 r/min are 36 degrees: what begins at 60 ends at 24."""
        for before, words in ((240, r"1(80|79)\.\d° (early|late)"), (330, r"2(70\.0|69\.9)° early"), (420, r"3(60|59)\.\d° (late|early)"),
                              (24, r"3[56]\.\d° late"), (75, r"1[45]\.\d° early")):
            said = self.injections(before)
            self.assertEqual(len(said), 1, said)
            self.assertRegex(said[0], f"^injectors end {words}, all alike, against the 60.0° before top dead centre of the bench", before)
            self.assertEqual("a whole turn of the crank" in said[0], before == 420, said)
            self.assertEqual("they begin there" in said[0], before == 24, said)
        for before in (52, 68):  # within ten degrees
            self.assertEqual(self.injections(before, code=0), [])

    def test_injections_beside_a_cam_half_a_turn_off(self):
        """Coils and injections are a whole turn off by one cause."""
        said = self.injections(60, cam_late=360)
        self.assertEqual(len(said), 1, said)
        self.assertRegex(said[0], "^coils fire .* a whole turn of the crank: the cam is half a turn off")

    def test_injections_of_a_bench_that_does_not_state_their_end_are_not_judged(self):
        self.assertEqual(self.said(Engine(injectors=(1, 2, 3, 4), injection_before=240), code=4), [])
        self.assertIn("whether injections end where they should: the bench does not state injection_end_deg, so that is not judged",
                      [f["text"] for f in self.json["findings"] if f["says"] == "cannot tell"])

    def test_injection_misses_and_sparks_miss(self):
        said = self.said(Engine(skip={"coil_4": (7,)}, injectors=(1, 2, 3, 4)))
        self.assertEqual(len(said), 1, said)
        self.assertRegex(said[0], r"^coil_4: 1 missing, 0 too many in \d+ pulses$")


class Rotary(unittest.TestCase):
    """Two rotors, each with a leading and a trailing coil and an injector: leads exchanged in pairs."""
    BENCH = PROFILES / "benches/hovercraft.yaml"
    LEADING_DEG, TRAILING_DEG, INJECTION_DEG = 5, -7, 60  # before top dead centre, as the bench has it

    def capture(self, path, exchanged):
        m, s, for_s = draw.Motion("steady", 900, start_deg=77), draw.Sampler(24_000, 1.2), 1.2
        rows = {"shaft": s.level(draw.wheel_edges(CRANKS["36-2-2-2"], 100, 360, 0, m, for_s), 0, 5, True, box=True),
                "rotor": s.level(draw.wheel_edges([(0, 8), (120, 128), (240, 248)], 262, 1080, 0, m, for_s), 0, 5, True, box=True)}
        for kind, before, wide in (("coil", self.LEADING_DEG, 10), ("trailing_coil", self.TRAILING_DEG, 10), ("injector", self.INJECTION_DEG, 14)):
            for rotor in (1, 2):
                tdc = 180 * ((3 - rotor if kind in exchanged else rotor) - 1)
                ends = [tdc - before + 360 * n for n in range(-1, int(m.angle(for_s) / 360) + 2)]
                rows[f"{kind}_{rotor}"] = s.level(draw.pulses([(m.time(e - wide), m.time(e)) for e in ends], for_s), 0.3, 12, True)
        path.write_bytes(draw.csv_text(list(rows), list(rows.values()), 24_000, digits=5))

    def off(self, *exchanged):
        with tempfile.TemporaryDirectory() as tmp:
            path, said = pathlib.Path(tmp) / "capture.csv", pathlib.Path(tmp) / "said.json"
            self.capture(path, exchanged)
            out = match(self.BENCH, path, "--json", said)
            walked = subprocess.run([DRYCRANK, "walk", self.BENCH, "--capture", path, "--out", tmp + "/walk", "--quiet"], capture_output=True, text=True, timeout=300)
            self.assertIn(walked.returncode, (1, 4), walked.stderr)
            report = json.loads(pathlib.Path(tmp, "walk/report.json").read_text())
            self.outcomes = {e["name"]: e["outcome"] for e in report["expectations"] if e["name"].startswith("output_injector")}
            self.assertEqual(out.returncode, 1 if exchanged else 0, out.stdout + out.stderr)
            return [f["text"] for f in json.loads(said.read_text())["findings"] if f["says"] == "off"]

    def named(self, *exchanged):
        return [text.split(":")[0] for text in self.off(*exchanged)]

    def test_leads_exchanged_name_their_own_kind(self):
        self.assertEqual(self.named(), [])
        self.assertEqual(set(self.outcomes.values()), {"met"})
        self.assertEqual(self.named("coil"), ["coil_1", "coil_2"])
        self.assertEqual(self.named("trailing_coil"), ["trailing_coil_1", "trailing_coil_2"])

    def test_both_pairs_exchanged_may_be_the_wheel(self):
        said = self.off("coil", "trailing_coil")
        self.assertEqual(len(said), 1, said)
        self.assertRegex(said[0], r"^coils fire 1(80|79)\.\d° (early|late) ± .*all alike.*; or the two are exchanged, leading and trailing$")

    def test_injectors_exchanged(self):
        said = self.off("injector")
        self.assertEqual(len(said), 1, said)
        self.assertRegex(said[0], r"^injectors end 1(80|79)\.\d° (early|late), all alike, against the 60\.0° .*; or the two are exchanged$")
        self.assertEqual(self.outcomes, {"output_injector_1": "failed", "output_injector_2": "failed"})


class OwnRuns(unittest.TestCase):
    """What the stand-in did in a scenario, written by `signals` and matched: integration, no measure of its own."""

    def match(self, scenario):
        with tempfile.TemporaryDirectory() as tmp:
            made = subprocess.run([DRYCRANK, "signals", PROFILES / f"scenarios/{scenario}.yaml", "--out", tmp], capture_output=True, text=True, timeout=120)
            self.assertEqual(made.returncode, 0, made.stderr)
            out = match(PROFILES / f"benches/{scenario.split('/')[0]}.yaml", pathlib.Path(tmp) / "edges.vcd")
        return out.returncode, " ".join(out.stdout.replace("\u00a0", " ").split())

    def test_a_healthy_run(self):
        code, said = self.match("hill_climb/healthy")
        self.assertEqual(code, 4, said)  # behind a comparator a coil does not show which way round it is
        self.assertNotIn("✗", said)
        self.assertIn("cam_intake: at rest it is where it belongs", said)
        self.assertEqual(said.count("12.00° before firing"), 4)

    def test_a_cam_one_tooth_late(self):
        # The scenario puts in 18 degrees.
        code, said = self.match("hill_climb/cam_one_tooth_late")
        self.assertEqual(code, 1, said)
        self.assertRegex(said, r"✗ cam_intake is 18\.\d° late")


HALL = bench_text(wheel_yaml(CRANKS["60-2"], "60-2"), 300, False, wheel_yaml(CAMS["four unequal"]), 20)


class Files(unittest.TestCase):
    """Formats alike, hostile and damaged files refused with the offset, little memory, what one channel says."""

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.tmp = pathlib.Path(self.folder.name)
        self.bench = self.tmp / "bench.yaml"
        self.bench.write_text(HALL)
        self.names = self.tmp / "map.yaml"
        self.names.write_text("kind: capture\nformat: 1\nchannels:\n  crank: {column: 1}\n  cam: {column: 2}\n")

    def rows(self, rate=20_000, for_s=0.5, rpm=1200, crank=None, ppm=0):
        m, s = draw.Motion("steady", rpm, start_deg=77), draw.Sampler(rate, for_s, ppm)
        return [s.level(draw.wheel_edges(crank or CRANKS["60-2"], 300, 360, 0, m, for_s), 0, 5, True, box=True),
                s.level(draw.wheel_edges(CAMS["four unequal"], 20, 720, 4.5, m, for_s), 0, 5, True, box=True)]

    def put(self, name, data):
        path = self.tmp / name
        path.write_bytes(data)
        return path

    def said(self, path, *words):
        out = match(self.bench, path, "--parts", PROFILES / "parts/wheels", "--json", self.tmp / "said.json", *words)
        self.assertIn(out.returncode, (0, 1, 4), out.stderr)
        return json.loads((self.tmp / "said.json").read_text())

    def refused(self, path, pattern, *words):
        out = match(self.bench, path, *words)
        self.assertEqual((out.returncode, out.stdout), (2, ""), out.stderr)
        self.assertRegex(out.stderr, pattern)
        self.assertLess(len(out.stderr), 600, out.stderr)

    def test_every_format_says_the_same(self):
        rows, names = self.rows(), ["crank", "cam"]
        files = {"a.csv": draw.csv_text(names, rows, 20_000), "b.csv": draw.csv_text(names, rows, 20_000, ";", ",", ["V", "V"], unit="ms"),
                 "tab.csv": draw.csv_text(names, rows, 20_000, "\t", unit="us"), "bare.csv": draw.csv_text(names, rows, 20_000, times=False),
                 "mark.csv": b"\xef\xbb\xbf# a scope\r\nmodel;X1\r\n" + draw.csv_text(names, rows, 20_000, ";", ",").replace(b"\n", b"\r\n"),
                 "16.wav": draw.wav(rows, 20_000, 16, 5), "8.wav": draw.wav(rows, 20_000, 8, 5), "24.wav": draw.wav(rows, 20_000, 24, 5),
                 "32.wav": draw.wav(rows, 20_000, 32, 5), "f.wav": draw.wav(rows, 20_000, 32, 5, True), "d.wav": draw.wav(rows, 20_000, 64, 5, True),
                 "l.sr": draw.sr(names, [[v > 2.5 for v in r] for r in rows], [], [], 20_000), "a.sr": draw.sr([], [], names, rows, 20_000),
                 "m.sr": draw.sr(["crank"], [[v > 2.5 for v in rows[0]]], ["cam"], [rows[1]], 20_000, 1)}
        for name, data in files.items():
            words = ["--map", self.names] if name.endswith(".wav") else []
            words += ["--sample-rate", "20000"] if name == "bare.csv" else []
            said = self.said(self.put(name, data), *words)
            self.assertEqual([(t["wheel"], t["wiring"]) for t in said["triggers"]], [("60-2", "as drawn"), ("", "as drawn")], name)
            # 1200 r/min are 7200 degrees a second, a sample 0.36 degrees.
            self.assertAlmostEqual(said["triggers"][1]["late_deg"], 4.5, delta=0.36 if name in ("l.sr", "m.sr") else 0.1, msg=name)
            self.assertAlmostEqual(said["most_rpm"], 1200, delta=3, msg=name)

    def test_fewer_than_six_samples_a_tooth_are_refused_with_the_rate(self):
        # 58 of 60 teeth of 6 degrees at 1200 r/min: 1200 pitches a second. 4 kHz are 3.3 samples, 7.2 kHz are six.
        path = self.put("slow.csv", draw.csv_text(["crank", "cam"], self.rows(rate=4000), 4000))
        self.refused(path, r"slow.csv: crank: 3\.\d samples from tooth to tooth at 4 kHz, .*; at least 6: [78](\.\d)? kHz or more")
        self.said(self.put("enough.csv", draw.csv_text(["crank", "cam"], self.rows(rate=7300), 7300)))

    def test_three_samples_a_tooth_are_refused_wherever_they_fall(self):
        """A level averaged over each of three samples a tooth seldom reaches both of its ends: no edges, and still no
        silence. 1200 pitches a second as above, the crank begun elsewhere, some noise."""
        for rate in (2400, 2640, 3000, 3600, 3960):
            for start in (77, 78.3, 79.1):
                m, s = draw.Motion("steady", 1200, start_deg=start), draw.Sampler(rate, 0.5)
                crank = s.level(draw.wheel_edges(CRANKS["60-2"], 300, 360, 0, m, 0.5), 0, 5, True, box=True)
                path = self.put("three.csv", draw.csv_text(["crank"], [draw.noisy(crank, 0.02, random.Random(1))], rate))
                with self.subTest(rate=rate, start=start):
                    self.refused(path, r"three.csv: crank: [1-4]\.\d samples from tooth to tooth at .*; at least 6: ")

    def with_holes(self, holes, rate=20_000, **how):
        """CSV of which rows are left out: {first row: how many}."""
        lines = draw.csv_text(["crank", "cam"], self.rows(rate=rate, **how), rate).split(b"\n")
        gone = {row for first, count in holes.items() for row in range(first, first + count)}
        return b"\n".join(line for number, line in enumerate(lines) if number - 1 not in gone)

    def test_rows_that_are_missing_are_said_with_their_place(self):
        """Row k stands at k / 20 kHz, in line k + 2. Of three holes: 5 rows, 40, 3000 (150 ms, three turns)."""
        path = self.put("holes.csv", self.with_holes({1000: 5, 3000: 40, 5000: 3000}))
        said = self.said(path)
        unseen = [f["text"] for f in said["findings"] if f["says"] == "cannot tell" and "missing" in f["text"]]
        self.assertEqual(unseen, [
            "what happened from 0.049950 s to 0.050250 s, 0.3 ms: 5 rows are missing before line 1002",
            "what happened from 0.149950 s to 0.152000 s, 2.05 ms: 40 rows are missing before line 2997",
            "what happened from 0.249950 s to 0.400000 s, 150 ms: 3000 rows are missing before line 4957"])
        # Nothing is made up of them: no edge is missing, or too many, and the cam is where it was put.
        self.assertFalse([f for f in said["findings"] if f["says"] == "off" and "cam is" not in f["text"]], said["findings"])
        self.assertEqual(said["triggers"][0]["wheel"], "60-2")
        self.assertAlmostEqual(said["triggers"][1]["late_deg"], 4.5, delta=0.1)
        whole = self.said(self.put("whole.csv", self.with_holes({})))
        self.assertFalse([f for f in whole["findings"] if "missing" in f["text"]])

    def test_a_hole_that_swallows_the_last_tooth_before_a_gap_moves_nothing(self):
        """Tooth 58 of 60-2 stands at 1362 to 1365 degrees, 0.36 degrees a row from 77 on: rows 3569 to 3578; the gap ends at
        1380, row 3619. 20 kHz, 1200 r/min all along; the teeth behind the hole are at the places they were drawn at."""
        for first, count in ((3555, 30), (3564, 18), (3564, 40), (3540, 60), (3530, 80), (3564, 62)):
            with self.subTest(first=first, count=count):
                said = self.said(self.put("tooth.csv", self.with_holes({first: count})))
                self.assertAlmostEqual(said["least_rpm"], 1200, delta=3)
                self.assertAlmostEqual(said["most_rpm"], 1200, delta=3)
                self.assertEqual((said["triggers"][0]["missing"], said["triggers"][0]["extra"]), (0, 0))
                self.assertAlmostEqual(said["turns"], 10, delta=0.3)
                self.assertAlmostEqual(said["triggers"][1]["late_deg"], 4.5, delta=0.1)
                self.assertLess(said["triggers"][1]["uncertain_deg"], 0.1)

    def test_a_coil_of_fewer_than_six_samples_a_tooth_is_refused(self):
        """1200 pitches a second as above: 7080 Hz are 5.9 of them."""
        self.bench.write_text(HALL.replace("{kind: hall, supply: CK.1, ground: CK.2, signal: CK.3}", "{kind: variable_reluctance, plus: CK.1, minus: CK.2}"))
        m = draw.Motion("steady", 1200, start_deg=77)
        for rate in (7080, 6600):
            crank = draw.Sampler(rate, 1).coil(CRANKS["60-2"], 300, 360, m, 1, 1200)
            self.refused(self.put("coil.csv", draw.csv_text(["crank"], [crank], rate)), r"coil.csv: crank: 5\.\d samples from tooth to tooth at ")

    def test_teeth_less_than_two_samples_apart_are_not_given_a_rate_as_sure(self):
        """1.5 samples a tooth look as 3 (a wave of 2/3 of the rate folds to 1/3): six need four times the rate, not twice."""
        self.bench.write_text(HALL.replace("{kind: hall, supply: CK.1, ground: CK.2, signal: CK.3}", "{kind: variable_reluctance, plus: CK.1, minus: CK.2}"))
        crank = draw.Sampler(1800, 1).coil(CRANKS["60-2"], 300, 360, draw.Motion("steady", 1200, start_deg=77), 1, 1200)
        self.refused(self.put("fast.csv", draw.csv_text(["crank"], [crank], 1800)), "six times as many as teeth pass in a second")

    def test_what_is_cut_out_or_left_over_is_refused(self):
        rows, names = self.rows(), ["crank", "cam"]
        self.refused(self.put("one.csv", draw.csv_text(names, [row[:1] for row in rows], 20_000)), "one row alone: nothing moves in it")
        whole = draw.sr(names, [[v > 2.5 for v in row] for row in rows], [], [], 20_000)
        cut = io.BytesIO()
        with zipfile.ZipFile(io.BytesIO(whole)) as a, zipfile.ZipFile(cut, "w") as b:
            for name in a.namelist():
                if name != "logic-1-2":
                    b.writestr(name, a.read(name))
        self.refused(self.put("gap.sr", cut.getvalue()), "'logic-1' is damaged: part 2 is not in it, part 3 is")
        head = "$timescale 1 ns $end\n$var wire 1 ! crank $end\n$var string 1 s text $end\n$enddefinitions $end\n#0\n0!\n"
        self.refused(self.put("unknown.vcd", (head + "#5\n1!\n#9\n0?\n").encode()), "unknown.vcd:10:.*a value of '\\?', which none of its variables is called by|a value of '\\?'")

    def test_rows_of_levels_that_are_missing_are_no_changes(self):
        """0 and 1 with a hole among the first rows: still samples of a clock."""
        rows = [[1.0 if v > 2.5 else 0.0 for v in row] for row in self.rows()]
        lines = draw.csv_text(["crank", "cam"], rows, 20_000).split(b"\n")
        said = self.said(self.put("logic.csv", b"\n".join(lines[:100] + lines[107:])))
        self.assertIn("7 rows are missing before line 101", str(said["findings"]))
        self.assertAlmostEqual(said["triggers"][1]["late_deg"], 4.5, delta=0.36)

    def test_numbers_of_rows_that_jump_are_said_too(self):
        """Numbered rows, of which twenty are gone: times that go on, or a rate, hide them."""
        lines = draw.csv_text(["crank", "cam"], self.rows(), 20_000, times=False).decode().split("\n")
        numbered = [(k, line) for k, line in enumerate(lines[1:-1]) if not 2000 <= k < 2020]
        bare = "index,crank,cam\n" + "".join(f"{k},{line}\n" for k, line in numbered)
        said = self.said(self.put("bare.csv", bare.encode()), "--sample-rate", "20000")
        self.assertIn("from 0.099950 s to 0.101000 s, 1.05 ms: 20 rows are missing before line 2002", str(said["findings"]))
        self.assertAlmostEqual(said["triggers"][1]["late_deg"], 4.5, delta=0.1)
        timed = "index,time,crank,cam\n" + "".join(f"{k},{i / 20000:.6f},{line}\n" for i, (k, line) in enumerate(numbered))
        said = self.said(self.put("timed.csv", timed.encode()))
        self.assertIn("20 rows are missing before line 2002", str(said["findings"]))

    def test_coarse_times_are_no_holes(self):
        """Two rows each 0.1 ms that the times are written in."""
        lines = draw.csv_text(["crank", "cam"], self.rows(), 20_000, times=False).decode().split("\n")
        text = "time,crank,cam\n" + "".join(f"{int(k / 2) * 1e-4:.4f},{line}\n" for k, line in enumerate(lines[1:-1]))
        self.assertNotIn("missing", str(self.said(self.put("coarse.csv", text.encode()))["findings"]))

    def test_a_row_whose_time_does_not_advance_is_left_out_and_said(self):
        """20 kHz: rows 50 us apart. Row 3000 stands in line 3002, and a second time in the line after it."""
        lines = draw.csv_text(["crank", "cam"], self.rows(), 20_000).split(b"\n")
        once = self.said(self.put("once.csv", b"\n".join(lines)))
        for name, row in (("same", lines[3001]), ("other", lines[3001].split(b",")[0] + b",2,2")):
            said = self.said(self.put(f"{name}.csv", b"\n".join(lines[:3002] + [row] + lines[3002:])))
            extra = [f for f in said["findings"] if f not in once["findings"]]
            self.assertEqual(extra, [{"says": "cannot tell", "text": "what happened at 0.150000 s: line 3003 has the time of the line before, and is left out"}], name)

    def test_times_that_are_rounded_stand_still_and_are_read(self):
        """200 kHz: 5 us a row. Rounded to 7 digits (IEEE 754 binary32, by struct), from 60 s on times are 3.8 us apart, from 64 s on 7.6 us;
        written to 1e-9 s all the same. Rounded to 10 us by their digits: each twice. Neither leaves anything out."""
        rows = self.rows(rate=200_000, for_s=0.3)
        lines = draw.csv_text(["crank", "cam"], rows, 200_000, times=False).decode().split("\n")[1:-1]
        single = [struct.unpack("f", struct.pack("f", 63.9 + k / 200_000))[0] for k in range(len(lines))]
        self.assertLess(len(set(single)), len(single) - 1000)
        for name, times in (("single", [f"{t:.9f}" for t in single]), ("digits", [f"{int(k / 2) * 1e-5:.5f}" for k in range(len(lines))]),
                            ("power", [f"{int(k / 2) * 1e-5 + 1:.5e}" for k in range(len(lines))])):
            with self.subTest(name):
                text = "time,crank,cam\n" + "".join(f"{t},{line}\n" for t, line in zip(times, lines))
                said = self.said(self.put(f"{name}.csv", text.encode()))
                self.assertNotIn("left out", str(said["findings"]))
                self.assertNotIn("missing", str(said["findings"]))

    def test_a_coil_is_seen_at_a_tenth_of_its_highest_wave_beside_noise(self):
        """200 r/min, then 2000, its wave ten times as high, and noise of a ninth of the low one; the other way too."""
        for first, last in ((200, 2000), (2000, 200)):
            m, s = draw.Motion("ramp", first, last, 1.5, start_deg=77), draw.Sampler(50_000, 2.5)
            still = draw.Motion("steady", first, start_deg=77 - 6 * first * 0.5)
            angle, time = m.angle, m.time
            m.angle = lambda t: still.angle(t) if t < 0.5 else angle(t - 0.5)
            m.time = lambda a: still.time(a) if a < 77 else time(a) + 0.5
            crank = draw.noisy(s.coil(CRANKS["60-2"], 300, 360, m, 0.867, 200), 0.1, random.Random(3))
            cam = s.level(draw.wheel_edges(CAMS["four unequal"], 20, 720, 0, m, 2.5), 0, 5, True, box=True)
            self.bench.write_text(HALL.replace("{kind: hall, supply: CK.1, ground: CK.2, signal: CK.3}", "{kind: variable_reluctance, plus: CK.1, minus: CK.2}", 1))
            said = self.said(self.put("coil.csv", draw.csv_text(["crank", "cam"], [crank, cam], 50_000, digits=5)))
            self.assertEqual([f["text"] for f in said["findings"] if f["says"] == "off"], [])
            self.assertAlmostEqual(said["least_rpm"], 200, delta=4)
            self.assertAlmostEqual(said["most_rpm"], 2000, delta=10)

    @staticmethod
    def slowing_coil(start_deg, sign, steps, rate=20_000):
        """36-1, offset 270, teeth as wide as their gaps: of each edge half a sine, 5 degrees wide, up where a tooth begins,
        times the speed; nothing in the gap. 1500 r/min for 0.6 s, down to 115 in 0.6 s, then 1.2 s there, swinging by a quarter
        twice a turn. Written in so many steps of the highest. And the cam, a half-moon at 330, low at its tooth."""
        turned, crank, cam = start_deg, [], []
        for k in range(int(2.4 * rate)):
            t = k / rate
            rpm = 1500 if t < 0.6 else max(115.4, 1500 - (t - 0.6) / 0.6 * (1500 - 115.4))
            if t > 1.2:
                rpm *= 1 / (1 + 0.25 * math.cos(2 * math.radians(turned)))
            turned += 6 * rpm / rate
            x = (turned - 270 + 2.5) % 360
            crank.append(sign * rpm / 1500 * (math.cos(math.pi * (x - 2.5) / 5) if x < 350 else 0))
            cam.append(0 if (turned - 330) % 720 < 360 else 5)
        top = max(map(abs, crank))
        return [round(v / top * steps) / steps for v in crank], cam, (turned - start_deg) / 360

    def test_a_coil_of_few_steps_that_slows_down_is_never_said_to_be_the_wrong_way_round(self):
        self.bench.write_text(bench_text(wheel_yaml(CRANKS["36-1"], "36-1"), 270, True, wheel_yaml(CAMS["half-moon"]), 330))
        for start in (13, 201, 530, 718):
            for sign in (1, -1):
                with self.subTest(start=start, sign=sign):
                    crank, cam, _ = self.slowing_coil(start, sign, 128)
                    said = self.said(self.put("few.csv", draw.csv_text(["crank", "cam"], [crank, cam], 20_000)))
                    self.assertIn(said["triggers"][0]["wiring"], ("cannot tell", "as drawn" if sign > 0 else "reversed"))
                    self.assertEqual([f["text"] for f in said["findings"] if f["says"] == "off" and "cam" in f["text"]], [])

    def test_turns_that_were_not_are_never_counted(self):
        """The same, where its low waves leave too few edges, or too many."""
        self.bench.write_text(bench_text(wheel_yaml(CRANKS["36-1"], "36-1"), 270, True, wheel_yaml(CAMS["half-moon"]), 330))
        for start in (154, 342, 483):
            with self.subTest(start=start):
                crank, cam, turns = self.slowing_coil(start, -1, 128)
                said = self.said(self.put("lost.csv", draw.csv_text(["crank", "cam"], [crank, cam], 20_000)))
                self.assertLess(said["turns"], turns + 0.2)
                self.assertLess(said["triggers"][0]["missing"], 20)
                if said["turns"] < turns - 1.5:
                    self.assertRegex(str(said["findings"]), r"what happened from [0-9.]+ s to [0-9.]+ s: \d+ edges of crank could not be followed there")

    def test_one_channel_says_what_it_cannot_tell(self):
        path = self.put("one.csv", draw.csv_text(["CH1"], self.rows()[:1], 20_000))
        out = match(self.bench, path)
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        self.assertIn("cannot tell: anything of cam: not in this capture", out.stdout)
        self.assertIn("cannot tell: which of the two turns of a cycle is which", out.stdout)
        even = self.put("even.csv", draw.csv_text(["CH1"], self.rows(crank=draw.even(24))[:1], 20_000))
        self.bench.write_text(HALL.replace(wheel_yaml(CRANKS["60-2"], "60-2"), "{teeth: 24}"))
        out = match(self.bench, even)
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        for words in ("how many teeth it has", "which way round it is wired", "where its turn begins"):
            self.assertIn(words, " ".join(out.stdout.split()))

    def test_a_wheel_is_learnt_as_a_part(self):
        wheels = {"learnt_36_2_2_2": CRANKS["36-2-2-2"], "learnt_24_2": CRANKS["own 24-2"], "learnt_five": CRANKS["own five"]}
        for name, teeth in wheels.items():
            path = self.put("wheel.csv", draw.csv_text(["crank", "cam"], self.rows(crank=teeth), 20_000))
            part = self.tmp / f"{name}.yaml"
            match(self.bench, path, "--learn", part)
            self.assertIn(f"name: {name}", part.read_text())
            # Taken up as what is built, it fits; and its teeth are those drawn, from some tooth on.
            self.bench.write_text(HALL.replace(wheel_yaml(CRANKS["60-2"], "60-2"), f"{{include: {part}}}"))
            self.assertTrue(self.said(path)["triggers"][0]["as_built"], part.read_text())
            self.bench.write_text(HALL)
        self.assertIn("teeth: 36\n", (self.tmp / "learnt_36_2_2_2.yaml").read_text())
        self.assertIn("missing: [", (self.tmp / "learnt_24_2.yaml").read_text())

    def test_hostile_and_damaged_files_are_refused_with_their_offset(self):
        rows, names = self.rows(for_s=0.2), ["crank", "cam"]
        wav, text = draw.wav(rows, 20_000, 16, 5), draw.csv_text(names, rows, 20_000)
        dump = draw.vcd(names, [[(0.01 * k, k % 2) for k in range(1, 20)]] * 2, [1, 1])
        zipped = draw.sr(names, [[v > 2.5 for v in r] for r in rows], [], [], 20_000)
        line_3 = len(b"\n".join(text.split(b"\n")[:3])) + 1
        for name, data, said, *words in (
                ("empty.csv", b"", "at byte 0: the file is empty"),
                ("words.csv", b"hello\nworld\n", "at byte 0: no two lines of numbers"),
                ("zeros.csv", bytes(5000), "at byte 0: bytes of 0"),
                ("long.csv", b"1" * 200_000, "at byte 0: a line of more than 64 KiB"),
                ("short_row.csv", text[:line_3] + b"5\n" + text[line_3:], rf":4:1: at byte {line_3}: 1 fields; 3 as"),
                ("word_row.csv", text[:line_3] + b"5,x,1\n", rf":4:1: at byte {line_3}: 'x' is no number"),
                ("back.csv", text[:line_3] + b"-5,0,1\n", rf":4:1: at byte {line_3}: time goes back"),
                ("nan.csv", text[:line_3] + b"nan,0,1\n", rf"at byte {line_3}: 'nan' is no number"),
                ("no_time.csv", b"crank,cam\n1,2\n0,2\n", "no column of times; say the sample rate"),
                ("cut.wav", wav[:len(wav) // 2], r"at byte 36: \d+ bytes of samples, \d+ in the file"),
                ("head.wav", wav[:30], "at byte 20: the file ends before its samples begin"),
                ("bits.wav", wav[:34] + b"\x0b" + wav[35:], "at byte 12: samples of code 1 with 11 bits"),
                ("channels.wav", wav[:22] + b"\xff\xff" + wav[24:], "at byte 12: 65535 channels"),
                ("rate.wav", wav[:24] + bytes(4) + wav[28:], "at byte 12: 2 channels at 0 Hz"),
                ("huge_part.wav", wav[:12] + b"LIST\xff\xff\xff\x7f" + wav[12:], "at byte 12: a part of 2147483647 bytes"),
                ("scale.vcd", dump.replace(b"1 ns", b"1 fortnight"), ":1:1: at byte 0: a time scale of"),
                ("back.vcd", dump + b"#5\n", r"at byte \d+: time goes back from 190000000 to 5"),
                ("cut.vcd", dump[:-1], r":\d+:1: at byte \d+: the file ends in a line, without a line feed: it was cut off; export it again"),
                ("bare.vcd", b"$timescale 1 ns $end $enddefinitions $end", "no variables"),
                ("open.vcd", b"$comment never", "'\\$end' is missing"),
                ("cut.sr", zipped[:len(zipped) // 2], "at byte 0: the zip cannot be read"),
                ("other.sr", self.zip_of({"a": b"b"}), "a zip without 'metadata'"),
                ("no_rate.sr", self.zip_of({"metadata": b"[device 1]\ncapturefile=logic-1\nunitsize=1\nprobe1=a\n"}), "no samplerate"),
                ("unit.sr", self.zip_of({"metadata": b"[device 1]\ncapturefile=logic-1\nsamplerate=1 MHz\nunitsize=99\nprobe1=a\n"}), "samples of 99 bytes"),
                ("gone.sr", self.zip_of({"metadata": b"[device 1]\ncapturefile=logic-1\nsamplerate=1 MHz\nunitsize=1\nprobe1=a\n"}), "'logic-1' is not in it"),
        ):
            self.refused(self.put(name, data), said)
        # A bit turned within the packed samples.
        at = zipped.index(b"logic-1-1") + 40
        self.refused(self.put("turned.sr", zipped[:at] + bytes([zipped[at] ^ 0x55]) + zipped[at + 1:]), "(is damaged|cannot be read|ends within)")
        self.refused(self.tmp / "nowhere.csv", "nowhere.csv: cannot be read")
        self.refused(self.tmp, "cannot be read")

    @staticmethod
    def zip_of(files):
        import io
        import zipfile
        buffer = io.BytesIO()
        with zipfile.ZipFile(buffer, "w") as z:
            for name, data in files.items():
                z.writestr(name, data)
        return buffer.getvalue()

    def test_stray_pulses_are_counted_and_followed_over(self):
        # One pulse too many in about every 40th gap between teeth, by chance.
        rng, m, s = random.Random(5), draw.Motion("steady", 1200, start_deg=77), draw.Sampler(100_000, 0.8)
        edges = draw.wheel_edges(CRANKS["60-2"], 300, 360, 0, m, 0.8)
        ends = [t for t, metal in edges if not metal and rng.random() < 0.025]
        edges = sorted(edges + [(t + 1e-4, True) for t in ends] + [(t + 1.4e-4, False) for t in ends])
        cam = s.level(draw.wheel_edges(CAMS["four unequal"], 20, 720, 4.5, m, 0.8), 0, 5, True)
        said = self.said(self.put("stray.csv", draw.csv_text(["crank", "cam"], [s.level(edges, 0, 5, True), cam], 100_000)))
        crank, cam = said["triggers"]
        self.assertEqual(crank["wheel"], "60-2")
        inside = sum(0 < t < 0.8 for t in ends)
        self.assertAlmostEqual(crank["extra"], 2 * inside, delta=4)
        self.assertAlmostEqual(cam["late_deg"], 4.5, delta=0.1)

    def test_maps_that_are_wrong_are_refused_with_their_place(self):
        path = self.put("a.csv", draw.csv_text(["CH1", "CH2"], self.rows(for_s=0.2), 20_000))
        self.refused(path, r"no column is called as a trigger or output of the bench \(CH1, CH2\); say what they are with --map; known: crank, cam")
        for text, said in (("channels: {crank: {column: CH9}}", r"map.yaml:3:\d+: .* has no column 'CH9'; its columns: CH1, CH2"),
                           ("channels: {crank: {column: 1}, cam: {column: CH1}}", "column 'CH1' is used twice"),
                           ("channels: {clamp: {column: 1}}", r"map.yaml:3:12: the bench has no trigger or output 'clamp'; add 'is: crank'"),
                           ("channels: {clamp: {column: 1, is: coil_current}}", "no cylinder; one of 1, 3, 4, 2"),
                           ("channels: {crank: {column: 1, scal: 2}}", "unknown key 'scal'|'scal'"),
                           ("channels: {crank: {column: 1, threshold: 2, zero_crossing: true}}", "write one of the two")):
            self.names.write_text("kind: capture\nformat: 1\n" + text + "\n")
            self.refused(path, said, "--map", self.names)

    def peak_mib(self, path):
        code = ("import resource, subprocess, sys; out = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL);"
                "print(out.returncode, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)")
        out = subprocess.run([sys.executable, "-c", code, DRYCRANK, "match", self.bench, path, "--json", self.tmp / "said.json"],
                             capture_output=True, text=True, timeout=600)
        exit_code, kilobytes = map(int, out.stdout.split())
        self.assertIn(exit_code, (0, 1, 4), out.stderr)
        self.assertAlmostEqual(json.loads((self.tmp / "said.json").read_text())["triggers"][1]["late_deg"], 4.5, delta=0.1)
        return kilobytes / 1024

    def test_ten_times_the_lines_need_no_more_memory(self):
        """A cycle of 0.1 s at 1200 r/min, over and over: 6 and 60 MB of CSV. What grows are the edges alone, 24 bytes each."""
        crank, cam = self.rows(rate=400_000, for_s=0.1)
        rows = [f"{k / 400_000:.7f}"[3:] + f",{a:.3f},{b:.3f}" for k, (a, b) in enumerate(zip(crank, cam))]
        peaks = []
        for cycles in (7, 70):
            path = self.tmp / "cycles.csv"
            with open(path, "w") as out:
                out.write("time,crank,cam\n")
                for cycle in range(cycles):
                    begin = f"{cycle // 10}.{cycle % 10}"
                    out.write(begin + ("\n" + begin).join(rows) + "\n")
            peaks.append(self.peak_mib(path))
            size_mb = path.stat().st_size / 1e6
        print(f"{size_mb:.0f} MB of CSV in {peaks[1]:.1f} MiB, a tenth of it in {peaks[0]:.1f}")
        self.assertGreater(size_mb, 55)
        self.assertLess(peaks[1] - peaks[0], 6)

    def test_a_long_file_needs_no_more_memory(self):
        """RIFF of 32-bit float, two channels; a hole in the file reads as zeros. With 1000 cases 1 GB."""
        size = (1 << 30) if CASES >= 1000 else (1 << 26)
        rows = self.rows(for_s=1)
        head = draw.wav(rows, 20_000, 32, 5, True)
        path = self.tmp / "long.wav"
        with open(path, "wb") as f:
            f.write(head[:40] + size.to_bytes(4, "little") + head[44:])
            f.truncate(44 + size)
        code = ("import resource, subprocess, sys; out = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL);"
                "print(out.returncode, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)")
        out = subprocess.run([sys.executable, "-c", code, DRYCRANK, "match", self.bench, path, "--map", self.names], capture_output=True, text=True, timeout=600)
        exit_code, kilobytes = map(int, out.stdout.split())
        print(f"{size >> 20} MiB read with at most {kilobytes / 1024:.1f} MiB of memory")
        self.assertIn(exit_code, (0, 1, 4), out.stderr)
        self.assertLess(kilobytes, 64 * 1024)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[4:])
