#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Single edits of what is set in a display, drawn by a seed with values off any grid: each one that changes anything
shown is found by sweep and compare, and `display setting` names it, first of all. On the shipped display and on displays
that are drawn too. What is drawn here knows nothing of what the program tries.

    single_edits_test.py DRYCRANK PROFILES [EDITS [SEED]]     the table of what was missed is printed

By hand, with 240 edits: single_edits_test.py DRYCRANK PROFILES 240
"""
import collections
import concurrent.futures
import copy
import json
import pathlib
import random
import re
import subprocess
import sys
import tempfile

DRYCRANK, PROFILES = sys.argv[1:3]
EDITS = int(sys.argv[3]) if len(sys.argv) > 3 else 30
SEED = int(sys.argv[4]) if len(sys.argv) > 4 else 1
DISPLAYS = 4  # the shipped one and three that are drawn
DEFAULTS = {"decimals": 0, "page": 1, "keeps": "nothing", "lamp_blinks_hz": 0, "lamp_latches": False, "offset": 0, "scale": 1,
            "byte_order": "little", "is_signed": False, "dashes": "---"}
IN_UNIT = {("degC", "degF"): lambda x: x * 1.8 + 32, ("degC", "K"): lambda x: x + 273.15, ("kPa", "bar"): lambda x: x / 100,
           ("kPa", "psi"): lambda x: x / 6.894757293168361}  # NIST SP 811
LIKE = {"degC": ("degF", "K"), "degF": ("degC", "K"), "psi": ("bar", "kPa"), "kPa": ("bar", "psi"), "bar": ("psi", "kPa"),
        "km/h": ("mph", "m/s"), "rpm": ("Hz",), "V": ("mV",), "mm": ("cm",), "deg": ("rad",)}


def run(*words):
    return subprocess.run([DRYCRANK, *map(str, words)], capture_output=True, text=True, timeout=600)


# ---- displays ---------------------------------------------------------------------------------


def shipped():
    """What must be shown and what is set of the hill-climb bench, with its layouts written out."""
    import yaml
    path = pathlib.Path(PROFILES, "benches/hill_climb.yaml")
    messages = json.loads(run("messages", path, "--json").stdout)["vehicle"]["messages"]
    for message in messages.values():
        message.pop("counter", None), message.pop("checksum", None)
        for signal in message["signals"].values():
            signal.pop("carries", None), signal.pop("values", None)
    messages = {k: m for k, m in messages.items() if m["sender"] != "display"}
    text = path.read_text()
    gauges = yaml.safe_load(text[text.index("\ndisplay:"):])["display"]["gauges"]
    readouts = yaml.safe_load(pathlib.Path(PROFILES, "parts/displays/hill_climb_readouts.yaml").read_text())
    return {"messages": messages, "readouts": readouts, "gauges": gauges, "switching": {}}


class Drawn:
    """A display by a seed: three messages, one with several layouts, a float, keys, a value that is kept."""

    def __init__(self, seed):
        self.rng = random.Random(seed)
        r = self.rng
        self.messages, self.gauges = {}, {}
        keys = {"ignition": {"start_bit": 0, "length_bits": 1}, "ack": {"start_bit": r.choice([1, 2]), "length_bits": 1},
                "wash": {"start_bit": 3, "length_bits": 1}, "level": {"start_bit": 8, "length_bits": 8, "unit": "%", "scale": 0.5},
                "mode": {"start_bit": 16, "length_bits": 2}}
        self.message("keys", keys, 0x200 + r.randrange(0x80))
        self.message("temps", {f"t{i}": self.byte("degC", 1, -40, 8 * i) for i in range(3)}
                     | {"spare": {"start_bit": 24, "length_bits": 8}, "volts": self.byte("V", 0.1, 0, 32)}, 0x300 + r.randrange(0x80))
        big = r.random() < 0.5
        wide = {"start_bit": 7 if big else 0, "length_bits": 16, "scale": r.choice([0.1, 0.05, 0.125]), "unit": "kPa"}
        other = {"start_bit": 23 if big else 16, "length_bits": 16, "scale": r.choice([0.01, 0.02]), "unit": "km/h"}
        turn = {"start_bit": 39 if big else 32, "length_bits": r.choice([12, 16]), "is_signed": True, "scale": 0.1, "unit": "deg"}
        for signal in (wide, other, turn):
            if big:
                signal["byte_order"] = "big"
        self.message("fast", {"press": wide, "road": other, "turn": turn}, 0x100 + r.randrange(0x80))
        self.message("many", {"bank": {"start_bit": 0, "length_bits": 4, "multiplex": "selector"},
                              "lam": {"start_bit": 8, "length_bits": 16, "scale": r.choice([0.0001, 0.001]), "unit": "lambda", "multiplex_value": 1},
                              "fuel": {"start_bit": 8, "length_bits": 16, "scale": 0.05, "unit": "kPa", "multiplex_value": 3},
                              "boost": {"start_bit": 32, "length_bits": 32, "is_float": True, "unit": "kPa", "min": 0, "max": 400}}, 0x400 + r.randrange(0x80))
        self.gauge("t0", "temps.t0", "degC", warn_above=r.randrange(90, 130), hysteresis=r.choice([2, 3, 5]), lamp="red",
                   lamp_blinks_hz=2, lamp_latches=True, acknowledged_by="keys.ack")
        self.gauge("t1", "temps.t1", "degF", warn_above=r.randrange(200, 260), hysteresis=9, lamp="amber")
        self.gauge("t2", "temps.t2", "degC", keeps="highest", acknowledged_by="keys.ack", warn_above=r.randrange(80, 120), hysteresis=6)
        self.gauge("volts", "temps.volts", "V", decimals=1, warn_below=round(r.uniform(11, 12), 1), hysteresis=0.4, lamp="amber", lamp_latches=True)
        self.gauge("press", "fast.press", r.choice(["kPa", "bar", "psi"]), decimals=r.choice([1, 2]))
        self.gauge("road", "fast.road", "km/h", min=0, max=r.choice([250, 300]))
        self.gauge("turn", "fast.turn", "deg", decimals=1)
        self.gauge("lam", "many.lam", "lambda", decimals=2, warn_above=1.2, hysteresis=0.05)
        self.gauge("fuel", "many.fuel", "kPa", decimals=0, warn_below=250, hysteresis=20, lamp="red")
        self.gauge("boost", "many.boost", "kPa", decimals=1, warn_above=280, hysteresis=10, lamp="red")
        self.gauge("least", "keys.level", "%", keeps="lowest", acknowledged_by="keys.ack", decimals=1)
        self.gauge("mode", "keys.mode", "none", values={"0": "off", "1": "road", "2": "race"})
        self.readouts = {name: self.required(g) for name, g in self.gauges.items()}

    def message(self, name, signals, identifier):
        self.messages[name] = {"id": identifier, "length_bytes": 8, "sender": "controller", "period_ms": self.rng.choice([20, 50, 100]), "signals": signals}

    @staticmethod
    def byte(unit, scale, offset, start):
        return {"start_bit": start, "length_bits": 8, "scale": scale, "offset": offset, "unit": unit}

    def gauge(self, name, signal, unit, **more):
        page, stale = self.rng.randrange(1, 4), self.rng.choice([400, 600, 1500])
        self.gauges[name] = {"signal": signal, "unit": unit, "page": page, "stale_ms": stale, **more}

    @staticmethod
    def required(gauge):
        out = {key: gauge[key] for key in ("signal", "unit", "page", "decimals", "min", "max", "values", "lamp", "lamp_blinks_hz",
                                           "lamp_latches", "acknowledged_by", "keeps", "warn_above", "warn_below") if key in gauge}
        if "warn_above" in gauge:
            out["warn_above_ends"] = round(gauge["warn_above"] - gauge["hysteresis"], 6)
        if "warn_below" in gauge:
            out["warn_below_ends"] = round(gauge["warn_below"] + gauge["hysteresis"], 6)
        out["dashes_after_ms"] = gauge["stale_ms"]
        return out

    def parts(self):
        return {"messages": self.messages, "readouts": self.readouts, "gauges": self.gauges,
                "switching": {"dark_ms": 300, "lamp_test_ms": 500, "key": "keys.ignition", "off_after_ms": 1000}}


def bench(parts, gauges=None, layouts=None, switching=None):
    out = {"kind": "bench", "name": "drawn", "engine": {"strokes": 4, "firing_order": [1, 3, 4, 2]},
           "buses": {"vehicle": {"messages": parts["messages"]}}, "readouts": parts["readouts"],
           "display": {"layouts": layouts or parts["messages"], "gauges": gauges or parts["gauges"]}}
    if parts["switching"]:
        out["switching"] = parts["switching"]
        out["display"]["switching"] = switching or parts["switching"]
    return re.sub(r'"(-?\d+)":', r"\1:", json.dumps(out, indent=1))


# ---- one edit ---------------------------------------------------------------------------------


class Edit:
    """`setting` as it is to be named; the display with it. Draws until it finds a kind that fits."""

    def __init__(self, parts, rng, kind):
        self.parts, self.rng, self.kind = parts, rng, kind
        self.gauges, self.layouts = copy.deepcopy(parts["gauges"]), copy.deepcopy(parts["messages"])
        self.switching = copy.deepcopy(parts["switching"])
        self.setting, self.is_now = None, None

    def pick(self, fits):
        names = [n for n, g in self.gauges.items() if fits(g)]
        if not names:
            return None, None, None
        name = self.rng.choice(names)
        return name, self.gauges[name], self.signal_of(self.gauges[name]["signal"])

    def signal_of(self, ref):
        message, _, signal = ref.partition(".")
        return self.layouts[message]["signals"][signal]

    def set(self, setting, where, key, value):
        if where.get(key, DEFAULTS.get(key)) == (DEFAULTS.get(key) if value is None else value):
            return False
        if value is None:
            where.pop(key, None)
        else:
            where[key] = value
        self.setting, self.is_now = setting, value
        return True

    def off_grid(self, low, high):
        return float(f"{self.rng.uniform(low, high):.5g}")

    def draw(self):
        return getattr(self, self.kind)() and not self.is_the_same_for_all_values()

    def is_the_same_for_all_values(self):
        """A limit or its end moved between two steps of its message, or where no value comes: nothing shows it."""
        match = re.match(r"(warn_above|warn_below|hysteresis|min|max) of gauge (.*)", self.setting)
        if not match:
            return False
        was, now = self.parts["gauges"][match[2]], self.gauges[match[2]]
        return self.warned(was) == self.warned(now)

    def warned(self, g):
        """How many of all values warn, coming from quiet and coming back, above and below."""
        s = self.signal_of(g["signal"])
        if s.get("is_float"):
            return dict(g)
        half = 1 << (s["length_bits"] - 1) if s.get("is_signed") else 0
        raws = range(-half, (1 << s["length_bits"]) - half)
        convert = IN_UNIT.get((s.get("unit"), g.get("unit")), lambda x: x)
        values = [convert(raw * s.get("scale", 1) + s.get("offset", 0)) for raw in raws]
        ends = sum(min(max(x, g.get("min", -1e300)), g.get("max", 1e300)) for x in values)
        high, low, back = g.get("warn_above", 1e300), g.get("warn_below", -1e300), g.get("hysteresis", 0)
        below = g.get("hysteresis_below", back)
        return [sum(x > limit + 1e-9 for x in values) for limit in (high, high - back if high < 1e300 else high)] + [
            sum(x < limit - 1e-9 for x in values) for limit in (low, low + below if low > -1e300 else low)] + [ends]

    # gauges
    def of_gauge(self, fits, key, value):
        name, g, s = self.pick(fits)
        return bool(name) and self.set(f"{key} of gauge {name}", g, key, value(g, s))

    def unit(self):
        return self.of_gauge(lambda g: g.get("unit") in LIKE, "unit", lambda g, s: self.rng.choice(LIKE[g["unit"]]))

    def decimals(self):
        return self.of_gauge(lambda g: "values" not in g and g.get("unit"), "decimals", lambda g, s: self.rng.choice([0, 1, 2, 3]))

    def limit_up(self):
        return self.of_gauge(lambda g: "warn_above" in g, "warn_above", lambda g, s: g["warn_above"] + self.off_grid(*self.span(g)))

    def limit_down(self):
        return self.of_gauge(lambda g: "warn_above" in g, "warn_above", lambda g, s: g["warn_above"] - self.off_grid(*self.span(g)))

    def span(self, g):
        step = abs(g.get("warn_above", g.get("warn_below", 1)) or 1)
        return 0.01 * step, 0.12 * step

    def low_limit(self):
        return self.of_gauge(lambda g: "warn_below" in g, "warn_below",
                             lambda g, s: g["warn_below"] + self.rng.choice([-1, 1]) * self.off_grid(*self.span(g)))

    def limit_left_out(self):
        key = self.rng.choice(["warn_above", "warn_below"])
        return self.of_gauge(lambda g: key in g, key, lambda g, s: None)

    def limit_added(self):
        return self.of_gauge(lambda g: "warn_above" not in g and g.get("unit") in LIKE, "warn_above", lambda g, s: self.off_grid(20, 120))

    def hysteresis(self):
        return self.of_gauge(lambda g: g.get("hysteresis"), "hysteresis", lambda g, s: self.off_grid(0, 2.5 * g["hysteresis"]))

    def stale(self):
        return self.of_gauge(lambda g: True, "stale_ms", lambda g, s: round(g["stale_ms"] * self.rng.uniform(0.5, 3)))

    def dashes(self):
        return self.of_gauge(lambda g: True, "dashes", lambda g, s: self.rng.choice(["--", "----", "no data"]))

    def page(self):
        return self.of_gauge(lambda g: True, "page", lambda g, s: self.rng.randrange(1, 6))

    def lamp(self):
        return self.of_gauge(lambda g: "lamp" in g, "lamp", lambda g, s: self.rng.choice(["green", "white", None]))

    def latches(self):
        return self.of_gauge(lambda g: "lamp" in g and ("warn_above" in g or "warn_below" in g), "lamp_latches", lambda g, s: not g.get("lamp_latches", False))

    def blinks(self):
        return self.of_gauge(lambda g: "lamp" in g and ("warn_above" in g or "warn_below" in g), "lamp_blinks_hz", lambda g, s: self.rng.choice([0, 1, 3.7]))

    def keeps(self):
        return self.of_gauge(lambda g: "values" not in g, "keeps", lambda g, s: self.rng.choice(["nothing", "highest", "lowest"]))

    def range_end(self):
        key = self.rng.choice(["min", "max"])
        return self.of_gauge(lambda g: key in g and g[key] != -1, key, lambda g, s: round(g[key] + self.rng.choice([-1, 1]) * self.rng.randrange(3, 40)))

    def word(self):
        name, g, _ = self.pick(lambda g: "values" in g)
        if not name:
            return False
        value = self.rng.choice(list(g["values"]))
        now = self.rng.choice(["P", "open", "x1"])
        g["values"][value] = now
        self.setting, self.is_now = f"name of {value} of gauge {name}", now
        return True

    def other_signal(self):
        name, g, s = self.pick(lambda g: True)
        fits = [f"{m}.{n}" for m, body in self.layouts.items() for n, o in body["signals"].items()
                if o.get("unit") == s.get("unit") and f"{m}.{n}" != g["signal"] and o.get("multiplex") != "selector"]
        return bool(fits) and self.set(f"signal of gauge {name}", g, "signal", self.rng.choice(fits))

    def ack_key(self):
        fits = lambda g: g.get("lamp_latches") or g.get("lamp_blinks_hz") or g.get("keeps")
        keys = [f"{m}.{n}" for m, body in self.layouts.items() for n, s in body["signals"].items() if s["length_bits"] <= 2]
        switch = self.switching.get("key")
        return self.of_gauge(fits, "acknowledged_by", lambda g, s: self.rng.choice([k for k in keys if k not in (switch, g["signal"])] + [None]))

    # layouts
    def of_signal(self, fits, key, value, ref=None):
        if ref is None:
            name, g, s = self.pick(lambda g: fits(self.signal_of(g["signal"])))
            if not name:
                return False
            ref = g["signal"]
        return self.set(f"{key} of {ref}", self.signal_of(ref), key, value(self.signal_of(ref)))

    def scale(self):
        return self.of_signal(lambda s: s.get("unit"), "scale", lambda s: s.get("scale", 1) * self.rng.choice([10, 0.1, 2, 0.5, 100]))

    def scale_slightly(self):
        return self.of_signal(lambda s: s.get("unit"), "scale", lambda s: float(f"{s.get('scale', 1) * self.rng.uniform(1.004, 1.05):.6g}"))

    def scale_of_other_unit(self):
        return self.of_signal(lambda s: s.get("unit"), "scale", lambda s: float(f"{s.get('scale', 1) * self.rng.choice([1.8, 0.5556, 6.895, 0.145, 1.609]):.6g}"))

    def offset(self):
        return self.of_signal(lambda s: s.get("unit"), "offset", lambda s: self.rng.choice([0, -40, 40, -50, -273.15, 100]))

    def offset_slightly(self):
        return self.of_signal(lambda s: s.get("unit"), "offset", lambda s: round(s.get("offset", 0) + self.rng.choice([-1, 1]) * s.get("scale", 1) * self.rng.uniform(0.7, 12), 4))

    def byte_order(self):
        return self.of_signal(lambda s: s["length_bits"] > 8, "byte_order", lambda s: "little" if s.get("byte_order") == "big" else "big")

    def sign(self):
        return self.of_signal(lambda s: s["length_bits"] > 4 and not s.get("is_float"), "is_signed", lambda s: not s.get("is_signed", False))

    def start(self):
        return self.of_signal(lambda s: s["length_bits"] > 1, "start_bit", lambda s: s["start_bit"] + self.rng.choice([-8, 8, -1, 1, 4, 2]))

    def length(self):
        return self.of_signal(lambda s: s["length_bits"] > 4 and not s.get("is_float"), "length_bits", lambda s: s["length_bits"] + self.rng.choice([-5, -4, -2, -1, 1]))

    def is_float(self):
        return self.of_signal(lambda s: s.get("is_float"), "is_float", lambda s: None)

    def bank(self):
        name, g, s = self.pick(lambda g: "multiplex_value" in self.signal_of(g["signal"]))
        if not name:
            return False
        s["multiplex_value"] = self.rng.choice([v for v in range(6) if v != s["multiplex_value"]])
        self.setting, self.is_now = f"multiplex of {g['signal']}", s["multiplex_value"]
        return True

    def identifier(self):
        message = self.rng.choice(sorted({g["signal"].partition(".")[0] for g in self.gauges.values()}))
        self.layouts[message]["id"] ^= 1 << self.rng.randrange(0, 11)
        ids = [m["id"] for m in self.layouts.values()]
        self.setting, self.is_now = f"identifier of message {message}", self.layouts[message]["id"]
        return len(ids) == len(set(ids))

    def key_start(self):
        key = self.key()
        return key is not None and self.of_signal(None, "start_bit", lambda s: self.rng.choice([b for b in (1, 2, 3, 4, 5, 6, 7) if b != s["start_bit"]]), key)

    def key_length(self):
        key = self.key()
        return key is not None and self.of_signal(None, "length_bits", lambda s: 2, key)

    def key(self):
        keys = [g["acknowledged_by"] for g in self.gauges.values() if "acknowledged_by" in g]
        keys += [self.switching["key"]] if self.switching else []
        return self.rng.choice(keys) if keys else None

    def switching_time(self):
        if not self.switching:
            return False
        key = self.rng.choice(["dark_ms", "lamp_test_ms", "off_after_ms"])
        return self.set(f"{key} of switching", self.switching, key, round(self.switching[key] * self.rng.uniform(0.6, 1.6)))

    def switching_key(self):
        return bool(self.switching) and self.set("key of switching", self.switching, "key", self.rng.choice(["keys.wash", "keys.mode"]))


KINDS = ("unit decimals limit_up limit_down low_limit limit_left_out limit_added hysteresis stale dashes page lamp latches blinks keeps "
         "range_end word other_signal ack_key scale scale_slightly scale_of_other_unit offset offset_slightly byte_order sign start length "
         "is_float bank identifier key_start key_length switching_time switching_key").split()


# ---- the measurement --------------------------------------------------------------------------


class Tried:
    def __init__(self, folder, number, parts, before, edit, seed):
        self.edit, self.found, self.first, self.named, self.loads = edit, False, False, False, True
        at = folder / str(number)
        at.mkdir()
        self.said = self.sentences = ""
        (at / "edited.yaml").write_text(bench(parts, edit.gauges, edit.layouts, edit.switching))
        swept = run("display", "sweep", at / "edited.yaml", "--out", at / "out", "--seed", seed)
        if swept.returncode not in (0, 1):
            self.loads, self.said = False, swept.stderr
            return
        compared = run("compare", before, at / "out")
        self.sentences = compared.stdout
        self.found = compared.returncode == 1
        named = run("display", "setting", folder / f"{before.name}.yaml", at / "out").stdout
        self.said = named
        settings = re.findall(r"^(?:either |or )?(.*?): the display has (.*); type", named, re.M)
        self.first = bool(settings) and settings[0][0] == edit.setting
        self.named = edit.setting in [s for s, _ in settings]

    def line(self):
        changed = self.edit.is_now
        return f"{self.edit.kind}: {self.edit.setting} = {changed}"


def measure(folder, displays):
    rng, jobs = random.Random(SEED), []
    while len(jobs) < EDITS:
        number = len(jobs)
        which = number % len(displays)
        edit = None
        while edit is None or not edit.draw():
            edit = Edit(displays[which], rng, rng.choice(KINDS) if edit else KINDS[number // len(displays) % len(KINDS)])
        jobs.append((number, which, edit))
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        return list(pool.map(lambda job: Tried(folder, job[0], displays[job[1]], folder / f"display{job[1]}", job[2], 1 + job[0] % 5), jobs))


def equal_ones(folder, displays):
    """0 differences between equal configurations, over 20 seeds each."""
    wrong = []
    for which in range(len(displays)):
        for seed in range(2, 22 if EDITS >= 200 else 5):
            out = folder / f"equal{which}_{seed}"
            run("display", "sweep", folder / f"display{which}.yaml", "--out", out, "--seed", seed)
            if run("compare", folder / f"display{which}", out).returncode != 0:
                wrong.append(f"display {which}, seed {seed}")
    return wrong


def table(tried):
    counts = collections.defaultdict(lambda: [0, 0, 0, 0])
    for t in tried:
        for place, yes in enumerate((True, t.found, t.first, t.named)):
            counts[t.edit.kind][place] += yes
    print(f"{'kind':22}{'edits':>6}{'found':>6}{'first':>6}{'named':>6}")
    for kind, row in sorted(counts.items()):
        print(f"{kind:22}" + "".join(f"{n:6}" for n in row))
    print(f"{'all':22}" + "".join(f"{sum(row[i] for row in counts.values()):6}" for i in range(4)))


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        displays = [shipped(), *(Drawn(SEED * 100 + i).parts() for i in range(1, DISPLAYS))]
        for which, parts in enumerate(displays):
            (folder / f"display{which}.yaml").write_text(bench(parts))
            out = run("display", "sweep", folder / f"display{which}.yaml", "--out", folder / f"display{which}")
            assert out.returncode == 0, (which, out.stdout, out.stderr)
        tried = [t for t in measure(folder, displays)]
        refused = [t for t in tried if not t.loads]
        tried = [t for t in tried if t.loads]
        table(tried)
        for t in refused:
            print("no bench:", t.line(), t.said.strip().splitlines()[:1])
        for t in tried:
            if not t.found:
                print("not found:", t.line())
            elif not t.first:
                said = [line.partition(" instead")[0] for line in t.said.splitlines()[1:3]]
                print("not first:" if t.named else "not named:", t.line(), "|", " / ".join(said), "|", t.sentences.splitlines()[0])
        wrong = equal_ones(folder, displays)
        print("equal configurations that differ:", wrong or "none")
        found = [t for t in tried if t.found]
        first = sum(t.first for t in found) / max(1, len(found))
        print(f"{len(found)} of {len(tried)} found, {first:.1%} of them named first, {sum(t.named for t in found)} named")
        return wrong, tried, first


if __name__ == "__main__":
    differing, edits, share = main()
    sys.exit(bool(differing) or share < 0.9 or any(not t.found for t in edits))
