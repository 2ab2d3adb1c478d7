#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank match` against whole engines that a seed draws: wheel, pickup, damage, motion, recorder, file.

    any_engine_test.py DRYCRANK [CASES [FIRST]]     40 cases; 1000 are the figure of hw-notes/captures.md

The truth is drawn here, and nothing of the program is used: wheels of N-1 and N-2, four to eight uneven teeth, one
long tooth, a half-moon, vanes; a coil by the laws of hw-notes/signal-laws.md or of a pole, or a Hall sensor; a cam; coils that fire. Of
each case one thing is put wrong, or none. Demanded:

  wheel          the bench's own, or the tooth that is gone
  cam            late by what was drawn, within 0.1 degrees or one sample
  way round      right, or "cannot tell"
  a sound one    is accused of nothing
  a damage       is said, or "cannot tell" is
  refused        only where the rate is truly too low: six samples a tooth, two in the narrowest tooth or space
"""
import collections
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
import zipfile

import numpy as np

import drawn_capture as draw

DRYCRANK = pathlib.Path(sys.argv[1]).resolve()
CAMS = {"four": [(0, 20), (70, 130), (180, 240), (310, 330)], "half-moon": [(0, 180)], "mark": [(0, 10)], "three": [(0, 15), (100, 130), (220, 300)]}
ORDER, TDC = [1, 3, 4, 2], {1: 0, 3: 180, 4: 360, 2: 540}


def half_sines(teeth, deg):
    """Of each tooth edge one lobe, up where metal comes: half the way to the air's other side, no wider than the tooth; on to
    the tooth's centre, at most three times as far as into the air; its height by its width (hw-notes/signal-laws.md)."""
    wave = np.zeros_like(deg)
    for k, (begin, end) in enumerate(teeth):
        before, behind, wide = (begin - teeth[k - 1][1]) % 360, (teeth[(k + 1) % len(teeth)][0] - end) % 360, end - begin
        for at, air, sign in ((begin, min(before, wide) / 2, 1), (end, min(behind, wide) / 2, -1)):
            metal = min(wide / 2, 3 * air)
            left, right = (air, metal) if sign > 0 else (metal, air)
            x = (deg - at + left) % 360 / (left + right)
            wave += np.where(x <= 1, sign * np.sin(np.pi * x) / (left + right), 0)
    return wave


def poles(teeth, deg):
    """A point of metal that passes a field's source (Biot and Savart, on the axis of a ring): nowhere flat. The ring is the
    sensor's, the same for all edges."""
    wave, s = np.zeros_like(deg), 0.3 * min(end - begin for begin, end in teeth)
    for begin, end in teeth:
        for at, sign in ((begin, 1), (end, -1)):
            d = (deg - at + 180) % 360 - 180
            wave += sign / (1 + (d / s) ** 2) ** 1.5
    return wave


def is_wide(teeth):
    """A tooth so wide that where its wave falls through zero depends on the sensor: of such a coil no angle is demanded."""
    gaps = [(b[0] - a[1]) % 360 for a, b in zip(teeth, teeth[1:] + teeth[:1])]
    return any(end - begin > 3 * min(gaps[k - 1], gaps[k]) for k, (begin, end) in enumerate(teeth))


def uneven(rng, hall):
    """Four to eight teeth, each way of its own: no two pitches alike within three degrees."""
    while True:
        count = rng.randint(4, 8)
        begins = [0] + sorted(rng.sample(range(18, 345), count - 1))
        pitches = [(b - a) % 360 for a, b in zip(begins, begins[1:] + [360])]
        close = any(abs(a - b) < 3 for i, a in enumerate(pitches) for b in pitches[i + 1:])
        if min(pitches) >= 18 and not close:
            teeth = [(b, b + round(p * rng.uniform(0.25, 0.6), 1)) for b, p in zip(begins, pitches)]
            if hall or not is_wide(teeth):
                return teeth


def wheel_of(kind, rng, hall):
    if kind == "N-1" or kind == "N-2":
        places, gap = rng.choice([12, 16, 20, 24, 30, 36, 48, 60]), int(kind[2:])
        return draw.even(places, set(range(places - gap + 1, places + 1)))
    if kind == "long tooth":  # of even teeth one as long as a tooth, its space and the next
        places = rng.choice([8, 12, 18, 24, 36])
        teeth = draw.even(places)
        return [(teeth[0][0], teeth[1][1])] + teeth[2:]
    if kind == "vanes":
        places = rng.choice([3, 4, 6, 8])
        teeth = draw.even(places, (), rng.uniform(0.55, 0.75))
        return [(0, teeth[0][1] - 0.2 * 360 / places)] + teeth[1:]  # of which one is narrower
    return [(0, 180)] if kind == "half-moon" else uneven(rng, hall)


class Engine:
    def __init__(self, seed, wheel=None, damage=None):
        rng = self.rng = random.Random(seed)
        self.seed = seed
        self.kind = "uneven" if wheel else rng.choice(["N-1", "N-1", "N-2", "N-2", "uneven", "uneven", "long tooth", "half-moon", "vanes"])
        self.hall = self.kind in ("half-moon", "vanes") or rng.random() < 0.4
        self.teeth = wheel(rng) if wheel else wheel_of(self.kind, rng, self.hall)
        self.cam = rng.choice(list(CAMS))
        self.offset, self.cam_offset = round(rng.uniform(0, 359), 1), round(rng.uniform(0, 719), 1)
        self.coils = rng.random() < 0.6
        self.damage = damage or rng.choice(["none"] * 4 + ["cam late", "cam late", "crank reversed", "crank reversed", "cam inverted"] +
                                 (["tooth gone"] if self.kind in ("N-1", "N-2") else []) +
                                 (["coils crossed", "coils late", "cam half a turn"] if self.coils else []))
        self.late = round(rng.choice([-1, 1]) * rng.uniform(3, 40), 2) if self.damage == "cam late" else 0
        first, last = (1, len(self.teeth)) if self.kind == "uneven" else (3, len(self.teeth) - 2)
        self.gone = rng.randint(first, last) if self.damage == "tooth gone" else None
        self.advance = 12 - (round(rng.uniform(5, 25), 1) if self.damage == "coils late" else 0)
        self.moves()
        self.records()

    def steps(self):
        ends = [e for t in self.teeth for e in t] + [360]
        return [b - a for a, b in zip(ends, ends[1:])]

    def pitch(self):
        begins = [t[0] for t in self.teeth] + [360]
        return min(b - a for a, b in zip(begins, begins[1:]))

    def moves(self):
        rng = self.rng
        few = len(self.teeth) < 11
        self.motion = rng.choice(["steady", "steady", "ramp"] if few else ["steady", "ramp", "crank", "ripple"])
        self.rpm = rng.uniform(150, 260) if self.motion == "crank" else math.exp(rng.uniform(math.log(500), math.log(7000)))
        self.to_rpm = self.rpm * rng.uniform(1.02, 1.06 if few else 1.5) if self.motion == "ramp" else self.rpm
        self.swing = {"crank": rng.uniform(0.05, 0.25), "ripple": 0.03}.get(self.motion, 0)
        self.most_rpm = max(self.rpm, self.to_rpm) / (1 - self.swing)
        self.turns = rng.uniform(8, 16) if self.motion == "crank" else rng.uniform(10, 40)

    def records(self):
        rng = self.rng
        self.form = rng.choice(["csv", "csv;", "wav8", "wav16", "wav24", "wav32", "vcd", "sr", "sr logic"])
        if not self.hall and self.form in ("vcd", "sr logic"):
            self.form = "csv"
        self.samples = rng.choice([rng.uniform(6.2, 9), math.exp(rng.uniform(math.log(6.2), math.log(150)))])
        # Of a wheel of few teeth too no less than 40 in a turn: the cam's mark is 20 degrees wide.
        self.rate = round(max(self.samples * 6 / self.pitch(), 40 / 60) * self.most_rpm)
        # Most recorders take twenty samples and more of what they show; one in four is left as it falls.
        narrow = 2.1 if rng.random() < 0.75 else 0
        self.rate = max(self.rate, round(narrow * 6 * self.most_rpm / min(self.steps())))
        if rng.random() < 0.04:
            self.rate = 1_000_000
        self.turns = max(6, min(self.turns, 150_000 / self.rate * self.rpm / 60))
        self.for_s = self.turns * 120 / (self.rpm + self.to_rpm)
        self.noise = rng.choice([0, 0, 0.003, 0.01, 0.02]) if self.form not in ("vcd", "sr logic") else 0
        self.clip = rng.choice([0, 0, rng.uniform(0.3, 0.8)]) if not self.hall else 0
        self.ac_hz = rng.uniform(1.5, 6) if self.form.startswith(("wav", "sr")) and self.form != "sr logic" and rng.random() < 0.4 else 0
        self.jitter = rng.choice([0, 0, 0.1, 0.25]) if self.hall else 0  # samples, one standard deviation
        self.ppm = rng.choice([0, -100, 100])
        self.law = rng.choice([half_sines, half_sines, poles])
        self.fine_rate = min(2_000_000, self.rate * 20)  # of a VCD's times
        self.step_deg = 6 * self.most_rpm / (self.fine_rate if self.form == "vcd" else self.rate)
        # Of a VCD what the edges themselves stray; a mean over few is off by as much.
        self.step_deg += 6 * self.most_rpm / self.rate * self.jitter if self.form == "vcd" else 0

    # ---- what is recorded ----
    def angle(self, t):
        a = self.rng_start + 6 * (self.rpm * t + (self.to_rpm - self.rpm) * t * t / (2 * self.for_s))
        if self.swing == 0:
            return a
        turned = a.copy()  # angle + swing / 2 sin(2 angle) goes on evenly: two compressions a turn
        for _ in range(40):
            turned = a - np.degrees(self.swing / 2) * np.sin(np.radians(2 * turned))
        return turned

    def level(self, deg, teeth, turn_deg, inverted):
        """1 in the air, 0 at metal; each edge strays by itself."""
        scale = turn_deg / 360
        x = deg / turn_deg
        edges = sorted((scale * e + n * turn_deg + self.stray_deg(), e in {b for b, _ in teeth})
                       for n in range(math.floor(x[0]) - 1, math.ceil(x[-1]) + 1) for t in teeth for e in t)
        at = np.searchsorted([e for e, _ in edges], deg, side="right") - 1
        low = np.array([begin for _, begin in edges])[at]
        return np.where(low != inverted, 0.0, 1.0)

    def stray_deg(self):
        return self.rng.gauss(0, self.jitter) * 6 * self.rpm / self.rate if self.jitter else 0

    def rows(self):
        self.rng_start = self.rng.uniform(0, 720)
        true_rate = self.rate * (1 + self.ppm * 1e-6)
        t = np.arange(int(self.rate * self.for_s)) / true_rate
        if self.form == "vcd":  # its times are finer than all of it
            t = np.arange(int(self.for_s * self.fine_rate)) / self.fine_rate
        self.t = t
        deg = self.angle(t)
        turning = [tooth for k, tooth in enumerate(self.teeth, 1) if k != self.gone]
        reversed_ = self.damage == "crank reversed"
        if self.hall:
            crank = self.level(deg - self.offset, turning, 360, reversed_)
        else:
            grid = np.linspace(0, 360, 36_001)
            wave = self.law(turning, grid)
            speed = np.gradient(deg, t) / 6 / self.most_rpm
            crank = np.interp((deg - self.offset) % 360, grid, wave / np.abs(wave).max()) * speed * (-1 if reversed_ else 1)
        late = self.late + (360 if self.damage == "cam half a turn" else 0)
        out = {"crank": crank, "cam": self.level(deg - self.cam_offset - late, CAMS[self.cam], 720, self.damage == "cam inverted")}
        for cylinder in ORDER if self.coils else []:
            fires = {1: 3, 3: 1}.get(cylinder, cylinder) if self.damage == "coils crossed" else cylinder
            x = (deg - TDC[fires] + self.advance) % 720
            out[f"coil_{cylinder}"] = np.where(x > 700, 1.0, 0.0)  # on for 20 degrees
        return {name: self.recorded(name, row) for name, row in out.items()}

    def recorded(self, name, row):
        draws = np.random.default_rng(self.rng.randrange(1 << 30))
        if self.noise:
            row = row + draws.normal(0, self.noise, len(row))
        if self.clip and name == "crank":
            row = np.clip(row, -self.clip * np.abs(row).max(), self.clip * np.abs(row).max())
        if self.ac_hz:
            row = np.array(draw.ac_coupled(row.tolist(), self.rate, self.ac_hz))
        return row

    def write(self, folder):
        rows = self.rows()
        names, table = list(rows), np.column_stack(list(rows.values()))
        if self.form == "vcd":
            return self.put(folder, "vcd", self.vcd(names, table))
        if self.form.startswith("wav"):
            return self.put(folder, "wav", self.wav(table, int(self.form[3:])))
        if self.form.startswith("sr"):
            return self.put(folder, "sr", self.sr(names, table, self.form == "sr logic"))
        text, separator = io.StringIO(), "," if self.form == "csv" else ";"
        times = np.arange(len(table))[:, None] / self.rate * (1 if self.form == "csv" else 1000)
        text.write(separator.join(["time" if self.form == "csv" else "time (ms)"] + names) + "\n")
        np.savetxt(text, np.hstack([times, 5 * table]), fmt=["%.9f"] + ["%.4f"] * len(names), delimiter=separator)
        return self.put(folder, "csv", (text.getvalue() if self.form == "csv" else text.getvalue().replace(".", ",")).encode())

    @staticmethod
    def put(folder, suffix, data):
        path = folder / f"c.{suffix}"
        path.write_bytes(data)
        return path

    def wav(self, table, bits):
        x = np.clip(table / (np.abs(table).max(0) * 1.02), -1, 1)
        if bits == 8:
            data = np.round(x * 127 + 128).astype("u1").tobytes()
        elif bits == 24:
            data = np.round(x * 8388607).astype("<i4").reshape(-1, 1).view("u1")[:, :3].tobytes()
        else:
            data = np.round(x * (2 ** (bits - 1) - 1)).astype(f"<i{bits // 8}").tobytes()
        count, width = table.shape[1], table.shape[1] * bits // 8
        head = struct.pack("<4sIHHIIHH", b"fmt ", 16, 1, count, self.rate, self.rate * width, width, bits)
        return b"RIFF" + struct.pack("<I", 4 + len(head) + 8 + len(data)) + b"WAVE" + head + struct.pack("<4sI", b"data", len(data)) + data

    def sr(self, names, table, logic):
        buffer, kind = io.BytesIO(), "probe" if logic else "analog"
        meta = ["[device 1]", f"samplerate={self.rate} Hz"] + ([f"total probes={len(names)}", "capturefile=logic-1", "unitsize=1"] if logic else [f"total analog={len(names)}"])
        meta += [f"{kind}{i}={name}" for i, name in enumerate(names, 1)]
        with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as z:
            z.writestr("version", "2")
            z.writestr("metadata", "\n".join(meta) + "\n")
            if logic:
                z.writestr("logic-1-1", np.packbits(table > 0.5, axis=1, bitorder="little").astype("u1").tobytes())
            else:
                for i, column in enumerate(table.T, 1):
                    z.writestr(f"analog-1-{i}-1", (5 * column).astype("<f4").tobytes())
        return buffer.getvalue()

    def vcd(self, names, table):
        high = table > 0.5
        at = [np.flatnonzero(np.diff(column.astype(int))) + 1 for column in high.T]
        edges = [[(self.t[k], bool(column[k])) for k in places] for column, places in zip(high.T, at)]
        return draw.vcd(names, edges, [bool(column[0]) for column in high.T])

    # ---- what is said of it ----
    def bench(self):
        wheel = lambda teeth: "{name: drawn, tooth_edges_deg: [" + ", ".join(f"[{b:.9g}, {e:.9g}]" for b, e in teeth) + "]}"
        hall_at = lambda c: f"{{kind: hall, supply: {c}.1, ground: {c}.2, signal: {c}.3}}"
        pickup = hall_at("CK") if self.hall else "{kind: variable_reluctance, plus: CK.1, minus: CK.2}"
        return f"""\
kind: bench
format: 1
name: drawn
engine: {{strokes: 4, firing_order: {ORDER}, advance_deg: 12}}
connectors: {{CK: {{pins: 3}}, CM: {{pins: 3}}, BAT: {{pins: 2}}}}
supplies: {{battery: {{plus: BAT.1, minus: BAT.2, voltage_v: 13.8}}}}
triggers:
  crank: {{shaft: crank, wheel: {wheel(self.teeth)}, offset_deg: {self.offset}, pickup: {pickup}}}
  cam: {{shaft: cam, wheel: {wheel(CAMS[self.cam])}, offset_deg: {self.cam_offset}, pickup: {hall_at("CM")}}}
"""

    def map(self):
        names = ["crank", "cam"] + ([f"coil_{c}" for c in ORDER] if self.coils else [])
        level = lambda name: ", is: coil, cylinder: " + name[5:] + ", on: high" if name.startswith("coil") else ""
        return "kind: capture\nformat: 1\nchannels:\n" + "".join(f"  {n}: {{column: {i}{level(n)}}}\n" for i, n in enumerate(names, 1))

    def matched(self, folder):
        capture, bench, said, names = self.write(folder), folder / "bench.yaml", folder / "said.json", folder / "map.yaml"
        bench.write_text(self.bench())
        names.write_text(self.map())
        said.unlink(missing_ok=True)
        words = [DRYCRANK, "match", bench, capture, "--json", said, "--map", names]
        out = subprocess.run(list(map(str, words)), capture_output=True, text=True, timeout=300)
        self.code, self.text = out.returncode, out.stdout + out.stderr
        return json.loads(said.read_text()) if said.exists() else None

    def moved_deg(self):
        """A high-pass leads a wave of f by atan(corner / f): twice that for the wide waves beside a gap."""
        if not self.ac_hz or self.hall:
            return 0
        begins = [t[0] for t in self.teeth] + [360]
        wide = max(b - a for a, b in zip(begins, begins[1:]))
        return 2 * wide * math.atan(self.ac_hz * wide / (6 * self.rpm * (1 - self.swing))) / (2 * math.pi)

    def too_slow(self):
        return self.form != "vcd" and (self.pitch() / self.step_deg < 6.1 or min(self.steps()) / self.step_deg < 2.1)

    def wrong(self, folder):
        """(kind, what) of all that is said wrongly, and what is not told."""
        said = self.matched(folder)
        if said is None:
            return [("refused rightly" if self.too_slow() and re.search(r"at least [26]: ", self.text) else "refused", self.text[-240:])]
        crank, cam = said["triggers"][0], (said["triggers"][1:] or [None])[0]
        off = [f["text"] for f in said["findings"] if f["says"] == "off"]
        wheel = f"tooth {self.gone}," in " ".join(off) if self.gone else crank["as_built"]
        if not wheel or cam is None:
            return [("wheel", f"{crank['wheel']!r} {off[:3]}")] + (self.wrong_way(crank, cam) if cam else [])
        return self.wrong_way(crank, cam) + self.wrong_cam(crank, cam) + self.wrong_verdict(off)

    def wrong_way(self, crank, cam):
        out = []
        for trigger, reversed_ in ((crank, self.damage == "crank reversed"), (cam, self.damage == "cam inverted")):
            if trigger["wiring"] == "cannot tell":
                out.append(("way not told", trigger["name"]))
            elif trigger["wiring"] != ("reversed" if reversed_ else "as drawn"):
                out.append(("way", f"{trigger['name']}: {trigger['wiring']}"))
        return out

    def wrong_cam(self, crank, cam):
        allowed = max(0.1, self.step_deg) + self.moved_deg()
        # Without a coil half a turn is not told, and a half-moon inverted is one half a turn on; so is a crank's.
        period = 720 if self.coils and not self.hall else 360
        period = 360 if self.damage in ("cam half a turn", "cam inverted") or not self.coils else period
        late = cam["late_deg"]
        if self.kind == "half-moon" and crank["wiring"] == "cannot tell":
            period = 180
        if crank["wiring"] == "cannot tell" and not self.hall:
            allowed += cam["uncertain_deg"]  # as is said
        if late is None or abs((late - self.late + period / 2) % period - period / 2) > allowed:
            return [("cam", f"{late} for {self.late} within {allowed:.2f}")]
        return []

    SAID = {"cam late": r"^cam is|^cam: ", "crank reversed": "^crank: (the two leads are swapped|its level is inverted)|or the level of crank is inverted$", "cam inverted": "^cam: its level is inverted|a whole turn",
            "tooth gone": "^crank: tooth", "coils crossed": "^coil_[13]: .*crossed", "coils late": "^coils fire .* late", "cam half a turn": "a whole turn of the crank"}

    def wrong_verdict(self, off):
        mine = [text for text in off if self.damage != "none" and re.search(self.SAID[self.damage], text)]
        others = [text for text in off if text not in mine]
        if self.damage == "crank reversed" and self.kind == "half-moon":
            others = []
        out = [("accused", str(others[:3]))] if others else []
        if self.damage != "none" and not mine:
            out.append(("not told" if self.code == 4 else "missed", self.damage))
        return out

    def __str__(self):
        return (f"seed {self.seed}: {self.kind} {len(self.teeth)} teeth, {'hall' if self.hall else 'coil ' + self.law.__name__}, cam {self.cam}, {self.damage}, {self.motion} {self.rpm:.0f} r/min, "
                f"{self.form} {self.rate} Hz, {self.pitch() * self.rate / 6 / self.most_rpm:.1f} samples, narrowest {min(self.steps()) * self.rate / 6 / self.most_rpm:.1f}, {self.turns:.0f} turns {self.for_s:.2f} s, "
                f"noise {self.noise}, clip {self.clip:.2f}, ac {self.ac_hz:.1f}, jitter {self.jitter}, coils {self.coils}")


class Drawn(unittest.TestCase):
    def test_any_engine(self):
        """Of a hundred one may be wrong; the way round, never."""
        kinds, sound = collections.defaultdict(list), 0
        with tempfile.TemporaryDirectory() as tmp:
            for seed in range(FIRST, FIRST + CASES):
                engine = Engine(seed)
                wrong = engine.wrong(pathlib.Path(tmp))
                for kind, what in wrong:
                    kinds[kind].append(f"{engine}\n      {what}")
                sound += not {k for k, _ in wrong} - {"way not told", "not told", "refused rightly"}
        for kind, cases in sorted(kinds.items()):
            print(f"{kind}: {len(cases)} of {CASES}", *cases, sep="\n    ")
        print(f"nothing wrong: {sound} of {CASES}")
        self.assertEqual(kinds["way"], [])
        for kind in ("wheel", "cam", "refused", "accused", "missed"):
            self.assertLessEqual(len(kinds[kind]), max(1, CASES // 100), kind)
        self.assertLessEqual(CASES - sound, max(1, CASES // 100))


if __name__ == "__main__":
    CASES, FIRST = (int(w) for w in (sys.argv[2:4] + ["40", "0"][len(sys.argv[2:4]):]))
    unittest.main(argv=sys.argv[:1], verbosity=1)
