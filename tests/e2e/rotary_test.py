#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A rotary engine with two rotors: edges and sparks against angles and times that are computed here.

4 sets of wheels x 4 motions: each edge to 1 ns, each spark of the leading and of the trailing plugs at a steady
speed to 0.02 degrees of the eccentric shaft. Then what is told wrong: each fails its own expectation, no other, and
says by how many degrees.

Laws: the motions are those of degrees_test.py. An engine with three chambers to a rotor and a shaft that turns
three times as fast as the rotor fires each rotor once in every turn of the shaft (Wankel's geometry: the
rotor's gear has 3 teeth for each 2 of the fixed one); two rotors stand 180 degrees apart:
  edge of a wheel on the rotor   offset + 3 w + 1080 k
  leading spark of rotor i       180 (i - 1) - advance + 360 k
  trailing spark                 split behind the leading one
"""
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from degrees_test import DRYCRANK, MOTIONS, PROFILES, RIPPLE, RUN_S, detail, due_edges, even, failed, run

ADVANCE, SPLIT, INJECTED = 5, 12, 60
TURN_S = 0.04  # at 1500 r/min
THREE = [(0, 6), (120, 126), (240, 246)]
# name: wheel on the shaft, its offset; the other wheel, its offset, its shaft; what the decoder reads besides
WHEELS = {
    "36-2-2-2": (even(36, (17, 18, 32, 33, 35, 36)), 100, [(0, 20), (90, 150), (333, 340)], 901.5, "rotor", "[]"),
    "24+1": (even(24), 7.5, [(0, 9)], 231, "crank", "[other]"),
    "24 even, three on the rotor": (even(24), 3.25, THREE, 900, "rotor", "[other]"),
    "60-2, one on the rotor": (even(60, (59, 60)), 300, [(10, 200)], 5, "rotor", "[]"),
}


def teeth(wheel):
    return json.dumps([list(tooth) for tooth in wheel])


def bench(wheel, at, other, other_at, shaft, cams, decoder=f"advance_deg: {ADVANCE}, trailing_deg: {SPLIT}", engine=""):
    """Two rotors, two Hall sensors, and nothing else."""
    told = "conditioning: threshold, high_v: 3 V, low_v: 1.5 V, edge: falling, point: begin"
    return f"""\
kind: bench
name: rotors
title: Two rotors
engine: {{kind: rotary, firing_order: [1, 2], advance_deg: {ADVANCE}, trailing_deg: {SPLIT}, compression_ripple: {RIPPLE}{engine}}}
supplies:
  battery: {{plus: BT.1, minus: BT.2, voltage_v: 12 V}}
connectors:
  BT: {{pins: 2}}
  CU: {{pins: 8}}
  TW: {{pins: 3}}
  OT: {{pins: 3}}
splices: [G, P]
triggers:
  shaft:
    shaft: crank
    wheel: {{tooth_edges_deg: {teeth(wheel)}}}
    offset_deg: {at}
    pickup: {{kind: hall, supply: TW.1, ground: TW.2, signal: TW.3}}
  other:
    shaft: {shaft}
    wheel: {{tooth_edges_deg: {teeth(other)}}}
    offset_deg: {other_at}
    pickup: {{kind: hall, supply: OT.1, ground: OT.2, signal: OT.3}}
wires:
  - {{circuit: supply, from: BT.1, to: P}}
  - {{circuit: supply, from: P, to: CU.1}}
  - {{circuit: ground, from: CU.2, to: BT.2}}
  - {{circuit: sensor_ground, from: CU.3, to: G}}
  - {{circuit: a, from: TW.1, to: P}}
  - {{circuit: b, from: TW.2, to: G}}
  - {{circuit: c, from: TW.3, to: CU.5}}
  - {{circuit: d, from: OT.1, to: P}}
  - {{circuit: e, from: OT.2, to: G}}
  - {{circuit: f, from: OT.3, to: CU.6}}
buses:
  dash:
    bitrate_bps: 500 kbit/s
    messages:
      all: {{id: 0x100, sender: controller, period_ms: 10 ms, length_bytes: 8, signals: {{sync: {{start_bit: 0, length_bits: 8, carries: sync_state}}}}}}
controller:
  supply: CU.1
  ground: CU.2
  sensor_grounds: [CU.3]
  inputs:
    - {{terminal: CU.5, pull_up_ohm: 2.2 kohm}}
    - {{terminal: CU.6, pull_up_ohm: 2.2 kohm}}
  triggers:
    shaft: {{terminal: CU.5, {told}, shaft: crank, wheel: {{tooth_edges_deg: {teeth(wheel)}}}, offset_deg: {at}}}
    other: {{terminal: CU.6, {told}, shaft: {shaft}, wheel: {{tooth_edges_deg: {teeth(other)}}}, offset_deg: {other_at}}}
  decoder: {{primary: shaft, cams: {cams}, {decoder}, dwell_ms: 2, injection_ms: 3, injection_end_deg: {INJECTED}}}
"""


JUDGED = "means: m, during: [only], settle_s: 0.4 s"
EXPECT = f"""\
  - {{name: leading, kind: fires_at, tolerance_deg: 1, {JUDGED}}}
  - {{name: trailing, kind: fires_at, plug: trailing, tolerance_deg: 1, {JUDGED}}}
  - {{name: injects, kind: injects_at, before_deg: {INJECTED}, tolerance_deg: 180, {JUDGED}}}
  - {{name: order, kind: order, {JUDGED}}}
  - {{name: trailing_order, kind: order, output: trailing_coil, {JUDGED}}}
"""
EDGES = f"  - {{name: edges, kind: cam_edges, cam: other, tolerance_deg: 0.5, {JUDGED}}}\n"


class Rotors(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = folder.name
        cls.runs = {}
        for number, (name, wheels) in enumerate(WHEELS.items()):
            for kind, motion in MOTIONS.items():
                cls.runs[name, kind] = run(f"{cls.tmp}/{number}{kind}", bench(*wheels), motion, expect=EXPECT + EDGES)

    def play(self, text, faults="", expect=EXPECT):
        return run(self.tmp + "/one", text, MOTIONS["hold"], faults, expect=expect)

    def proofread(self, text):
        path = pathlib.Path(self.tmp, "proof.yaml")
        path.write_text(text)
        out = subprocess.run([DRYCRANK, "proofread", path], capture_output=True, text=True, timeout=60)
        return out.returncode, out.stdout + out.stderr

    def assert_edges(self, seen, want, run_s):
        """But for those of the last microsecond and the level at the begin."""
        last = 1e9 * run_s - 1000
        seen = [(t, level) for t, level in seen if 0 < t < last]
        want = [edge for edge in want if 0.5 < edge[0] < last]
        self.assertEqual([level for _, level in seen], [level for _, level in want])
        self.assertLessEqual(max(abs(a - b) for (a, _), (b, _) in zip(seen, want)), 1.0)

    def test_each_edge_to_a_nanosecond(self):
        count = 0
        for (name, kind), (_, edges, _) in self.runs.items():
            wheel, at, other, other_at, shaft, _ = WHEELS[name]
            turn = 1080 if shaft == "rotor" else 360
            for sensor, its, offset, per_turn in (("shaft", wheel, at, 360), ("other", other, other_at, turn)):
                with self.subTest(wheel=name, motion=kind, sensor=sensor):
                    run_s = RUN_S + 0.1 * hasattr(MOTIONS[kind], "before")
                    want = due_edges(MOTIONS[kind], its, offset, per_turn, run_s)
                    self.assert_edges([(t, level) for t, name_, level in edges if name_ == sensor], want, run_s)
                    count += len(want)
        self.assertGreater(count, 8000)

    def test_a_rotor_taken_for_a_cam_is_seen(self):
        """The twin: of one turn in three, not in two."""
        _, edges, _ = self.runs["60-2, one on the rotor", "hold"]
        want = due_edges(MOTIONS["hold"], [(10, 200)], 5, 720, RUN_S)
        with self.assertRaises(AssertionError):
            self.assert_edges([(t, level) for t, name, level in edges if name == "other"], want, RUN_S)

    def off_deg(self, t, rotor, after):
        due = 180 * (rotor - 1) - ADVANCE + after
        return (MOTIONS["hold"].angle(t / 1e9) - due + 180) % 360 - 180

    def test_each_spark_at_steady_speed(self):
        for name in WHEELS:
            with self.subTest(wheel=name):
                _, _, outputs = self.runs[name, "hold"]
                for what, after in (("coil", 0), ("trailing_coil", SPLIT)):
                    sparks = [(t, rotor) for t, kind, rotor, on in outputs if kind == what and not on and t > 0.3e9]
                    self.assertGreaterEqual(len(sparks), 2 * int((RUN_S - 0.3) / TURN_S))
                    for t, rotor in sparks:
                        self.assertLess(abs(self.off_deg(t, rotor, after)), 0.02, f"{what} of rotor {rotor} at {t} ns")

    def test_the_spark_of_another_split_is_seen(self):
        """The twin: told 13 degrees, none of the trailing sparks is at 12."""
        _, _, outputs = self.play(bench(*WHEELS["24+1"], decoder=f"advance_deg: {ADVANCE}, trailing_deg: 13"))
        sparks = [(t, rotor) for t, kind, rotor, on in outputs if kind == "trailing_coil" and not on and t > 0.3e9]
        self.assertGreater(len(sparks), 20)
        for t, rotor in sparks:
            self.assertAlmostEqual(self.off_deg(t, rotor, SPLIT), 1, delta=0.02)

    def test_each_injection_ends_once_a_turn(self):
        _, _, outputs = self.runs["36-2-2-2", "hold"]
        ends = [(t, rotor) for t, kind, rotor, on in outputs if kind == "injector" and not on and t > 0.3e9]
        self.assertGreaterEqual(len(ends), 2 * int((RUN_S - 0.3) / TURN_S))
        for t, rotor in ends:
            self.assertLess(abs(self.off_deg(t, rotor, ADVANCE - INJECTED)), 0.02)

    def test_nothing_is_wrong_with_a_sound_bench(self):
        for name in WHEELS:
            with self.subTest(wheel=name):
                self.assertEqual(failed(self.runs[name, "hold"][0]), set())
                self.assertEqual(self.proofread(bench(*WHEELS[name]))[0], 0)

    # ---- what is told wrong ------------------------------------------------------------------------

    def test_a_split_told_wrong(self):
        text = bench(*WHEELS["36-2-2-2"], decoder=f"advance_deg: {ADVANCE}, trailing_deg: 20")
        report, _, _ = self.play(text)
        self.assertEqual(failed(report), {"trailing"})
        self.assertIn("fired 15.0° after top dead centre, should be 7.0° after ± 1.0°: 8.0° late", detail(report, "trailing"))
        self.assertIn("all 8.0° late by the same", detail(report, "trailing"))
        code, said = self.proofread(text)
        self.assertEqual(code, 2)
        self.assertIn("told that trailing plugs fire 20 deg behind the leading ones; the engine was designed for 12", said)
        self.assertIn("each trailing spark comes 8 deg too late", said)

    def test_the_same_as_a_fault(self):
        report, _, _ = self.play(bench(*WHEELS["36-2-2-2"]), "{kind: told, at: decoder, trailing_deg: 20}")
        self.assertEqual(failed(report), {"trailing"})
        self.assertIn("8.0° late", detail(report, "trailing"))

    def test_leading_and_trailing_told_the_other_way_round(self):
        """What exchanged leads are to an engine: the plug that should lead fires 12 degrees late, the other as much early."""
        text = bench(*WHEELS["36-2-2-2"], decoder=f"advance_deg: {ADVANCE - SPLIT}, trailing_deg: {-SPLIT}")
        report, _, _ = self.play(text)
        self.assertEqual(failed(report), {"leading", "trailing"})
        self.assertIn("12.0° late", detail(report, "leading"))
        self.assertIn("12.0° early", detail(report, "trailing"))
        said = self.proofread(text)[1]
        self.assertIn("each leading spark comes 12 deg too late", said)
        self.assertIn("each trailing spark comes 12 deg too early", said)

    def test_trailing_coils_never_fired(self):
        text = bench(*WHEELS["36-2-2-2"], decoder=f"advance_deg: {ADVANCE}")
        report, _, outputs = self.play(text)
        self.assertEqual(failed(report), {"trailing", "trailing_order"})
        self.assertIn("no trailing spark at all was seen while the crank made 20.0 turns", detail(report, "trailing"))
        self.assertEqual({kind for _, kind, _, _ in outputs}, {"coil", "injector"})
        code, said = self.proofread(text)
        self.assertEqual(code, 2)
        self.assertIn("the engine has trailing plugs, 12 deg behind the leading ones", said)

    def test_the_advance_told_wrong_moves_both(self):
        report, _, _ = self.play(bench(*WHEELS["36-2-2-2"]), f"{{kind: told, at: decoder, advance_deg: {ADVANCE + 4}}}")
        self.assertEqual(failed(report), {"leading", "trailing"})
        for name in ("leading", "trailing"):
            self.assertIn("all 4.0° early by the same", detail(report, name))

    def test_four_strokes_told(self):
        code, said = self.proofread(bench(*WHEELS["36-2-2-2"], decoder=f"strokes: 4, advance_deg: {ADVANCE}, trailing_deg: {SPLIT}"))
        self.assertEqual(code, 2)
        self.assertIn("told 4 strokes; each rotor of the engine fires once in every turn, as on 2", said)

    # ---- the wheel on the rotor ------------------------------------------------------------------

    def test_a_rotor_s_wheel_that_tells_no_place(self):
        code, said = self.proofread(bench(*WHEELS["36-2-2-2"][:5], "[other]"))
        self.assertEqual(code, 2)
        self.assertIn("the wheel of 'other' does not look the same each third of a turn", said)

    def test_a_rotor_s_wheel_off_its_place(self):
        for name, deg in (("36-2-2-2", 6), ("24 even, three on the rotor", -4)):
            with self.subTest(wheel=name):
                report, _, _ = self.play(bench(*WHEELS[name]), f"{{kind: wheel_offset, at: other, deg: {deg}}}", EXPECT + EDGES)
                self.assertEqual(failed(report), {"edges"})
                self.assertIn(f"other comes {abs(deg)}.0° {'late' if deg > 0 else 'early'} against the crank wheel", detail(report, "edges"))

    def test_a_tooth_of_the_rotor_s_wheel_missing(self):
        report, _, _ = self.play(bench(*WHEELS["36-2-2-2"]), "{kind: tooth_missing, at: other, tooth: 2}", EXPECT + EDGES)
        self.assertEqual(failed(report), {"edges"})
        # 901.5 + 3 * 90 = 1171.5, less 1080.
        self.assertIn("of 6 edges of other 2 missing, the first the edge where tooth 2 begins, due at 91.5°", detail(report, "edges"))

    def test_what_an_engine_of_pistons_has_not(self):
        piston = bench(*WHEELS["36-2-2-2"]).replace("kind: rotary, ", "")
        self.assertIn("a rotor on an engine of pistons", self.proofread(piston)[1])
        self.assertIn("a cam on a rotary engine", self.proofread(bench(*WHEELS["24+1"]).replace("shaft: crank\n    wheel: {tooth_edges_deg: [[0, 9]]}", "shaft: cam\n    wheel: {tooth_edges_deg: [[0, 9]]}"))[1])
        self.assertIn("strokes of a rotary engine", self.proofread(bench(*WHEELS["24+1"], engine=", strokes: 4"))[1])

    # ---- as a capture of the outputs shows it ------------------------------------------------------

    def match(self, names):
        """The sound engine's own signals, in columns; `names`: channel to column."""
        run(self.tmp + "/m", bench(*WHEELS["36-2-2-2"]), MOTIONS["hold"], expect=EXPECT)
        path = pathlib.Path(self.tmp, "map.yaml")
        channels = {"shaft": "shaft", "coil_1": "coil_1", "coil_2": "coil_2", "trailing_coil_1": "trailing_coil_1",
                    "trailing_coil_2": "trailing_coil_2", **names}
        lines = [f"  {channel}: {{column: {column}}}\n" for channel, column in channels.items() if column]
        path.write_text("kind: capture\nformat: 1\nchannels:\n" + "".join(lines))
        out = subprocess.run([DRYCRANK, "match", f"{self.tmp}/m/bench.yaml", f"{self.tmp}/m/e/edges.vcd", "--map", path],
                             capture_output=True, text=True, timeout=60)
        return out.returncode, " ".join((out.stdout + out.stderr).replace("\u00a0", " ").split())

    def test_a_capture_of_a_sound_engine_is_in_order(self):
        code, said = self.match({"other": "other"})
        self.assertEqual(code, 0, said)

    def test_a_capture_shows_exchanged_leads(self):
        code, said = self.match({"coil_1": "trailing_coil_1", "trailing_coil_1": "coil_1"})
        self.assertEqual(code, 1, said)
        self.assertIn("coil_1: fires at the place of the trailing plug of cylinder 1, 12.0° from its own: crossed with it", said)
        self.assertIn("trailing_coil_1: fires at the place of the leading plug of cylinder 1, -12.0° from its own", said)
        self.assertNotIn("coil_2:", said)

    def test_a_capture_shows_the_rotors_trailing_coils_crossed(self):
        code, said = self.match({"trailing_coil_1": "trailing_coil_2", "trailing_coil_2": "trailing_coil_1"})
        self.assertEqual(code, 1, said)
        self.assertIn("trailing_coil_1: fires at the place of cylinder 2", said)

    def test_a_capture_shows_another_split(self):
        text = bench(*WHEELS["36-2-2-2"], decoder=f"advance_deg: {ADVANCE}, trailing_deg: 20")
        run(self.tmp + "/w", text, MOTIONS["hold"], expect=EXPECT)
        out = subprocess.run([DRYCRANK, "match", f"{self.tmp}/w/bench.yaml", f"{self.tmp}/w/e/edges.vcd"],
                             capture_output=True, text=True, timeout=60)
        said = " ".join((out.stdout + out.stderr).replace("\u00a0", " ").split())
        self.assertEqual(out.returncode, 1, said)
        self.assertIn("trailing coils fire 20.0° behind the leading ones, all alike, should be 12.0° behind", said)

    def test_a_record_of_as_many_coils_as_there_can_be_is_judged_again(self):
        order = list(range(1, 25))
        text = bench(*WHEELS["36-2-2-2"]).replace("firing_order: [1, 2]", f"firing_order: {order}")
        report, _, outputs = self.play(text)
        self.assertEqual(failed(report), set())
        self.assertEqual({(kind, rotor) for _, kind, rotor, _ in outputs},
                         {(kind, rotor) for kind in ("coil", "trailing_coil", "injector") for rotor in order})
        out = subprocess.run([DRYCRANK, "judge", self.tmp + "/one/s.yaml", "--record", self.tmp + "/one/o"], capture_output=True, text=True, timeout=60)
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)

    # ---- a diagnosis ---------------------------------------------------------------------------------

    def test_a_diagnosis_names_the_split(self):
        scenario = f"{PROFILES}/scenarios/hovercraft/split_told_wrong.yaml"
        out = subprocess.run([DRYCRANK, "run", scenario, "--out", self.tmp + "/d", "--overwrite"], capture_output=True, text=True, timeout=300)
        self.assertEqual(out.returncode, 1, out.stdout + out.stderr)
        out = subprocess.run([DRYCRANK, "diagnose", self.tmp + "/d"], capture_output=True, text=True, timeout=300)
        said = " ".join((out.stdout + out.stderr).replace("\u00a0", " ").split())
        self.assertIn("told 20° of trailing split; tell it 12°", said)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[3:], verbosity=1)
