#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The files of `drycrank signals` against samples, edges and volts computed here from angles, dividers and published curves.

The hill-climb bench at 1000 r/min, 6 degrees of crank per ms, from 0 degrees at 0 s on:
  crank   60-2 wheel, slots of 6 degrees, teeth 3 wide, tooth 1 begins at 300 degrees. The sensor's wave is
          a cosine of 6 degrees, crest at a tooth's begin, falling zero at its centre; in the gap 0 V.
          Peak: 0.867 V at 200 r/min, so 4.335 V; divided by the coil's 860 ohm and the input's 20 kohm
          beside two bias resistors of 100 kohm, 18.18 kohm: 4.139 V. Its noise is 10 mV.
  cam     teeth of 0-20, 70-130, 180-240, 310-330 degrees of cam, tooth 1 begins at 20 of crank; Hall
          sensor, open collector, 2.2 kohm to 5 V: 0 V at a tooth and 5 V between, less 0.5 V each way.
"""
import collections
import csv
import math
import pathlib
import struct
import subprocess
import sys
import tempfile
import unittest

DRYCRANK, PROFILES = sys.argv[1:3]
# The least of 1, 2, 5, 10 ... that holds the cam's 5 V and a step's overshoot, a tenth of it.
FULL_SCALE_V = 10.0
SCENARIO = f"""\
kind: scenario
name: closed_form
bench: {PROFILES}/benches/hill_climb.yaml
steps:
  - name: only
    for_s: 1 s
    drive:
      engine_speed: 1000 rpm
      coolant_temperature: 90 °C
      boost_pressure: 25 psi
      throttle: {{ramp: 100, over_s: 0.5 s}}
      oil_pressure: {{sine: 300 kPa, amplitude: 100 kPa, period_s: 0.4 s}}
      road_speed: {{points: [[0, 0], [0.5, 60], [1, 40]]}}
expect: []
"""


def wav(path):
    """Rate and a list of samples per channel, of 32-bit float. RIFF/WAVE as in Microsoft's and IBM's
    description of 1991; format 3 is IEEE float, which the module `wave` does not read."""
    data = pathlib.Path(path).read_bytes()
    assert data[:4] == b"RIFF" and data[8:12] == b"WAVE"
    at, chunks = 12, {}
    while at + 8 <= len(data):
        name, size = struct.unpack_from("<4sI", data, at)
        chunks[name] = data[at + 8: at + 8 + size]
        at += 8 + size + size % 2
    form, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", chunks[b"fmt "])
    assert (form, bits) == (3, 32), (form, bits)
    values = [v[0] for v in struct.iter_unpack("<f", chunks[b"data"])]
    return rate, [values[c::channels] for c in range(channels)]


def vcd(path):
    """Changes (ns, name, level) of an IEEE 1364 value change dump; the initial levels are left out."""
    names, changes, now, unit = {}, [], None, None
    for line in pathlib.Path(path).read_text().splitlines():
        word = line.split()
        if word[0] == "$timescale":
            unit = " ".join(word[1:3])
        elif word[0] == "$var":
            names[word[3]] = word[4]
        elif line[0] == "#":
            now = int(line[1:])
        elif line[0] in "01" and now is not None and now > 0:
            changes.append((now, names[line[1:]], int(line[0])))
    assert unit == "1 ns", unit
    return changes


def crank_volts(t_s, rpm=1000):
    wheel_deg = (rpm * 6 * t_s - 300) % 360
    if 346.5 < wheel_deg < 358.5:
        return 0.0
    input_ohm = 1 / (1 / 20e3 + 1 / 200e3)
    peak = 0.867 * rpm / 200 * input_ohm / (input_ohm + 860)
    return peak * math.cos(2 * math.pi * wheel_deg / 6)


def at_corner(t_s):
    """Where the wave ends and begins at the gap with a slope: 24 kHz round that off for 3 samples, 0.4 degrees."""
    wheel_deg = (6000 * t_s - 300) % 360
    return min(abs(wheel_deg - 346.5), abs(wheel_deg - 358.5)) < 0.4


CAM_TEETH = [(20 + 2 * a, 20 + 2 * b) for a, b in ((0, 20), (70, 130), (180, 240), (310, 330))]


def cam_at_tooth(t_s, rpm=1000):
    crank_deg = rpm * 6 * t_s % 720
    return any(a <= crank_deg < b for a, b in CAM_TEETH)


def ntc_ohm(celsius):
    """Steinhart and Hart, Deep-Sea Research 15 (1968): 1/T = a + b ln R + c ln^3 R, solved by halving."""
    a, b, c = 1.129148e-3, 2.34125e-4, 8.76741e-8
    low, high = 1.0, 1e7
    for _ in range(200):
        middle = math.sqrt(low * high)
        kelvin = 1 / (a + b * math.log(middle) + c * math.log(middle) ** 3)
        low, high = (middle, high) if kelvin > celsius + 273.15 else (low, middle)
    return low


class Signals(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = folder.name
        scenario = pathlib.Path(cls.tmp, "s.yaml")
        scenario.write_text(SCENARIO)
        for words in (("signals", str(scenario), "--out", cls.tmp + "/r"), ("run", str(scenario), "--out", cls.tmp + "/o"),
                      ("signals", cls.tmp + "/o", "--out", cls.tmp + "/e")):
            out = subprocess.run([DRYCRANK, *words], capture_output=True, text=True, timeout=120)
            assert out.returncode == (4 if words[0] == "run" else 0), out.stdout + out.stderr  # nothing is expected
        cls.rate, cls.channels = wav(cls.tmp + "/r/waveforms.wav")
        cls.changes = vcd(cls.tmp + "/r/edges.vcd")
        with open(cls.tmp + "/r/signals.csv") as file:
            cls.rows = list(csv.DictReader(file))

    def worst_of_crank(self, rpm, corners=False):
        """Greatest difference in volts, from 20 ms on; beside the corners at the gap, or at them."""
        volts = self.channels[0]
        first = self.rate // 50
        return max(abs(volts[k] * FULL_SCALE_V - crank_volts(k / self.rate, rpm)) for k in range(first, len(volts))
                   if at_corner(k / self.rate) == corners)

    def test_length(self):
        self.assertEqual(self.rate, 48000)
        self.assertEqual([len(channel) for channel in self.channels], [48000, 48000])

    def test_the_crank_s_wave(self):
        self.assertLess(self.worst_of_crank(1000), 0.06)  # six times the noise
        # 0.54 V a sample, of which the kernel's second integral leaves 0.13 at the corner.
        self.assertLess(self.worst_of_crank(1000, corners=True), 0.12)
        self.assertGreater(self.worst_of_crank(1001), 1)  # the twin: another speed is seen

    def test_the_cam_s_levels(self):
        wrong = collections.Counter()
        for k, level in enumerate(self.channels[1]):
            t_s = k / self.rate
            near_edge = cam_at_tooth(t_s - 5e-5) != cam_at_tooth(t_s + 5e-5)
            if k < 10 or near_edge:
                continue
            low = level * FULL_SCALE_V < 0.5
            high = level * FULL_SCALE_V > 4.5
            wrong["neither"] += not low and not high
            wrong["at a tooth"] += cam_at_tooth(t_s) and not low
            wrong["between"] += not cam_at_tooth(t_s) and not high
            wrong["of another speed"] += cam_at_tooth(t_s, 1010) != low
        self.assertEqual([wrong[key] for key in ("neither", "at a tooth", "between")], [0, 0, 0])
        self.assertGreater(wrong["of another speed"], 100)

    def test_edges_are_where_the_angles_say(self):
        """Falling edges of the crank at tooth centres: 10 mV of noise where the wave falls by 26 mV/us, 2 pi *
        4.139 V / ms, are 0.38 us, four times that at the most; of the cam at a tooth's begin, to 2 ns."""
        crank = [t for t, name, level in self.changes if name == "crank" and level == 0 and t > 20_000_000]
        centres = [(300 + 6 * slot + 1.5 + 360 * turn) / 6000 for turn in range(-1, 18) for slot in range(58)]
        centres = [1e9 * t for t in centres if 0.02 < t < 0.9999]
        self.assertEqual(len([t for t in crank if t < 999_900_000]), len(centres))
        late = [t - want for t, want in zip(crank, centres)]
        self.assertLess(max(abs(ns) for ns in late), 1600)
        self.assertLess(abs(sum(late) / len(late)), 100)
        cam = [t for t, name, level in self.changes if name == "cam_intake" and level == 0]
        begins = [1e9 * (a + 720 * cycle) / 6000 for cycle in range(9) for a, _ in CAM_TEETH]
        begins = [t for t in begins if t < 1e9]
        self.assertEqual(len(cam), len(begins))
        self.assertLess(max(abs(t - want) for t, want in zip(cam, begins)), 2)

    def test_both_dumps_are_the_record_s_edges(self):
        self.assertEqual(vcd(self.tmp + "/e/edges.vcd"), self.changes)
        edges = [line.split(",") for line in pathlib.Path(self.tmp, "e/edges.csv").read_text().splitlines()]
        edges = [(int(t), name, int(level)) for t, name, level in edges]
        dumped = [change for change in self.changes if change[1] in ("crank", "cam_intake")]
        self.assertGreater(len(edges), 2 * 58 * 15)
        self.assertEqual(dumped, [edge for edge in edges if edge[0] > 0])
        # Coils and injectors beside them, up to the run's end.
        outputs = [line.split(",") for line in pathlib.Path(self.tmp, "e/outputs.csv").read_text().splitlines()]
        outputs = sorted((int(t), f"{kind}_{cylinder}", int(level == "on")) for t, kind, cylinder, level in outputs)
        last = max(change[0] for change in self.changes)
        dumped = sorted(change for change in self.changes if change[1] not in ("crank", "cam_intake"))
        self.assertGreater(len(outputs), 20)
        self.assertEqual(dumped, [output for output in outputs if output[0] <= last])

    def test_stimuli_are_their_closed_forms(self):
        self.assertEqual(len(self.rows), 100)  # every 10 ms; the run ends at 1 s
        for n, row in enumerate(self.rows):
            t = n / 100
            want = {"t_s": t, "engine_speed (rpm)": 1000, "coolant_temperature (degC)": 90,
                    "boost_pressure (kPa)": 25 * 6.894757, "throttle (%)": min(100, 200 * t),
                    "oil_pressure (kPa)": 300 + 100 * math.sin(2 * math.pi * t / 0.4),
                    "road_speed (km/h)": 120 * t if t <= 0.5 else 60 - 40 * (t - 0.5)}
            for name, value in want.items():
                self.assertAlmostEqual(float(row[name]), value, delta=1e-5 * max(1, abs(value)), msg=f"{name} at {t}")

    def test_volts_are_those_of_dividers(self):
        """From 5 V; 10 mV for the wires and inputs that the sums leave out."""
        thermistor = 1 / (1 / ntc_ohm(90) + 1 / 1e6)
        for n, row in enumerate(self.rows):
            t = n / 100
            oil_kpa = 300 + 100 * math.sin(2 * math.pi * t / 0.4)
            want = {"ECU.20 (V)": 5 * thermistor / (thermistor + 2200),
                    "ECU.23 (V)": 0.5 + 4 * (25 * 6.894757 + 101.325 - 20) / 380,
                    "ECU.24 (V)": 0.5 + 4 * oil_kpa / 1000,
                    "ECU.25 (V)": 0.5 + 4 * min(1, 2 * t)}
            for name, value in want.items():
                self.assertAlmostEqual(float(row[name]), value, delta=0.01, msg=f"{name} at {t}")

    def test_volts_of_another_temperature_are_seen(self):
        thermistor = 1 / (1 / ntc_ohm(91) + 1 / 1e6)
        self.assertGreater(abs(float(self.rows[50]["ECU.20 (V)"]) - 5 * thermistor / (thermistor + 2200)), 0.01)


unittest.main(argv=sys.argv[:1], verbosity=1)
