#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Wheels that a controller must find its place on, and what is put in, against laws written out here.

Every wheel is made here, by seed; every spark of a steady run is placed by 6 degrees a second and r/min, every
edge of a disturbed or stopping crank by its own formula. The laws are those of hw-notes/signal-laws.md:
  a coil's voltage falls through zero at begin + min(w / 2, 3 min(g, w) / 2) of a tooth w wide behind a gap g
  a crank that has come to a stop swings back: D / 2 (1 - cos(pi t / 0.15 s)) degrees
  while cranking dt/da = (1 + r cos(N A)) / (6 n)
"""
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from degrees_test import ADVANCE, DRYCRANK, HALF_MOON, ORDER, SIXTY, Hold, bench, due_edges, even, run

SPEED = 6 * 1500  # degrees a second
EXPECT = "  - {name: there, kind: message_present, message: all, period_ms: 10 ms, jitter_ms: 2 ms, means: m}\n"
TOLD_CAM = "    cam: {terminal: CU.6, conditioning: threshold"


def sparks_of(outputs, since_s):
    return [(t, c) for t, kind, c, on in outputs if kind == "coil" and not on and t > since_s * 1e9]


def off_deg(motion, t, cylinder, cycle=720):
    due = 180 * ORDER.index(cylinder) - ADVANCE
    return (motion.angle(t / 1e9) - due + cycle / 2) % cycle - cycle / 2


def two_gaps(rng):
    """n places with m of them missing twice, half a turn apart."""
    n, m = 2 * rng.randrange(9, 30), rng.choice((1, 2))
    first = rng.randrange(m, n // 2)
    missing = [first - i for i in range(m)] + [first + n // 2 - i for i in range(m)]
    return even(n, missing, rng.choice((0.4, 0.5, 0.6)))


def vanes(rng):
    """Four that begin every quarter turn, each at least 15 degrees wider or narrower than the one opposite."""
    while True:
        widths = [rng.uniform(8, 80) for _ in range(4)]
        if min(abs(widths[0] - widths[2]), abs(widths[1] - widths[3])) > 15:
            return [(90 * i, 90 * i + w) for i, w in enumerate(widths)]


class Wheels(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = folder.name
        self.motion = Hold()

    def play(self, text, **kwargs):
        return run(self.tmp + "/r", text, self.motion, expect=kwargs.pop("expect", EXPECT), **kwargs)

    def assert_sparks(self, text, cycle=720, since_s=0.45):
        """Each cylinder at its degree, 0.02, and none left out from since_s on."""
        _, _, outputs = self.play(text)
        sparks = sparks_of(outputs, since_s)
        self.assertGreaterEqual(len(sparks), 4 * int((1.2 - since_s) * SPEED / cycle))
        for t, cylinder in sparks:
            self.assertLess(abs(off_deg(self.motion, t, cylinder, cycle)), 0.02, f"cylinder {cylinder} at {t} ns")
        return outputs

    def proofread(self, text):
        path = pathlib.Path(self.tmp, "proof.yaml")
        path.write_text(text)
        out = subprocess.run([DRYCRANK, "proofread", path], capture_output=True, text=True, timeout=60)
        return out.returncode, out.stdout + out.stderr

    # ---- finding the place ---------------------------------------------------------------------

    def no_cam(self, firing=""):
        return bench(SIXTY, 300, HALF_MOON, 330).replace("cams: [cam]", "cams: []" + firing)

    def test_without_a_cam_both_cylinders_of_a_pair_fire_in_each_turn(self):
        outputs = self.assert_sparks(self.no_cam(), cycle=360)
        at = {}
        for t, cylinder in sparks_of(outputs, 0.45):
            at.setdefault(t, set()).add(cylinder)
        self.assertEqual({frozenset(pair) for pair in at.values()}, {frozenset({1, 4}), frozenset({2, 3})})
        ends = [(t, c) for t, kind, c, on in outputs if kind == "injector" and not on and t > 0.45e9]
        self.assertGreater(len(ends), 70)
        for t, cylinder in ends:  # 60 degrees before the top dead centre, to a turn
            due = 180 * ORDER.index(cylinder) - 60
            self.assertLess(abs((self.motion.angle(t / 1e9) - due + 180) % 360 - 180), 0.02)

    def test_pairs_meet_what_is_expected_of_pairs_and_a_wrong_advance_does_not(self):
        expect = ("  - {name: fires, kind: fires_at, tolerance_deg: 1, means: m, settle_s: 0.4 s}\n"
                  "  - {name: order, kind: order, means: m, settle_s: 0.4 s}\n")
        for text, wrong in ((self.no_cam(), set()),
                            (self.no_cam().replace(f"{ORDER}, advance_deg: {ADVANCE}, dwell", f"{ORDER}, advance_deg: 15, dwell"), {"fires"})):
            report, _, _ = self.play(text, expect=expect)
            self.assertEqual({e["name"] for e in report["expectations"] if e["outcome"] != "met"}, wrong)

    def test_told_to_fire_each_by_itself_it_does_not_without_a_cam_and_proofread_says_so(self):
        text = self.no_cam(", firing: sequential")
        _, _, outputs = self.play(text)
        self.assertEqual(sparks_of(outputs, 0), [])
        code, said = self.proofread(text)
        self.assertEqual(code, 2, said)
        self.assertIn("no second trigger tells the two turns apart, so it never fires", said)
        self.assertEqual(self.proofread(self.no_cam(", firing: paired"))[0], 0)

    def test_two_equal_gaps_in_a_turn_are_settled_by_the_cam(self):
        self.assert_sparks(bench(even(44, (21, 22, 43, 44)), 20, HALF_MOON, 330))
        rng = random.Random(13)
        for _ in range(8):
            wheel, at, cam_at = two_gaps(rng), rng.randrange(360), rng.randrange(720)
            with self.subTest(teeth=len(wheel), at=at, cam_at=cam_at):
                text = bench(wheel, at, HALF_MOON, cam_at)
                self.assertEqual(self.proofread(text)[0], 0, self.proofread(text)[1])
                self.assert_sparks(text)

    def test_without_a_cam_two_equal_gaps_are_never_settled_and_proofread_names_the_angle(self):
        text = bench(even(44, (21, 22, 43, 44)), 20, HALF_MOON, 330).replace("cams: [cam]", "cams: []")
        self.assertEqual(sparks_of(self.play(text)[2], 0), [])
        code, said = self.proofread(text)
        self.assertEqual(code, 2)
        self.assertIn("looks the same 180 deg further on, and no second trigger is told", said)

    def test_vanes_are_told_apart_by_their_width(self):
        rng = random.Random(4)
        for _ in range(8):
            wheel, at, cam_at = vanes(rng), rng.randrange(360), rng.randrange(720)
            with self.subTest(vanes=wheel, at=at, cam_at=cam_at):
                text = bench(even(36, (36,)), at, wheel, cam_at)
                code, said = self.proofread(text)
                self.assertEqual(code, 2)
                self.assertIn("both_edges where their widths differ", said)
                self.assertEqual(sparks_of(self.play(text)[2], 0), [])  # the twin: their begins tell nothing
                both = text.replace(TOLD_CAM, TOLD_CAM + ", both_edges: true")
                self.assertEqual(self.proofread(both)[0], 0)
                self.assert_sparks(both)

    def test_the_slots_of_an_optical_disc(self):
        """360 slots on the cam, one for each two degrees of the crank, and four of different width beside them."""
        disc = even(360)
        text = bench(disc, 0, [(10, 14), (100, 109), (190, 204), (280, 299)], 0)
        text = text.replace("    shaft: crank\n", "    shaft: cam\n").replace("point: begin, shaft: crank", "point: begin, shaft: cam")
        self.assert_sparks(text.replace(TOLD_CAM, TOLD_CAM + ", both_edges: true"))
        self.assertEqual(sparks_of(self.play(text)[2], 0), [])

    def test_a_cam_listed_before_the_crank(self):
        text = bench(SIXTY, 300, HALF_MOON, 330)
        lines = text.split("\n")
        at = next(i for i, line in enumerate(lines) if line.startswith("    - {terminal: CU.6"))
        lines[at - 1], lines[at] = lines[at], lines[at - 1]
        at = next(i for i, line in enumerate(lines) if line.startswith(TOLD_CAM))
        lines[at - 1], lines[at] = lines[at], lines[at - 1]
        at = next(i for i, line in enumerate(lines) if line == "  cam:")
        first = next(i for i, line in enumerate(lines) if line == "  crank:")
        lines[first:at + 5] = lines[at:at + 5] + lines[first:at]
        for primary in ("primary: crank, cams: [cam]", ""):
            with self.subTest(primary=primary):
                self.assert_sparks("\n".join(lines).replace("primary: crank, cams: [cam], ", primary + (", " if primary else "")))

    def test_one_tooth_in_a_turn(self):
        for at in (0, 77, 300):
            with self.subTest(at=at):
                self.assert_sparks(bench([(0, 12)], at, HALF_MOON, 330), since_s=0.6)

    def with_pin(self, text, wheel, at, order="[pin, cam]"):
        """The same with a third sensor, on the crank, of which the controller is told as well."""
        pin = json.dumps([list(tooth) for tooth in wheel])
        for old, new in (
                ("  CU: {pins: 8}", "  CU: {pins: 9}\n  PN: {pins: 3}"),
                ("wires:\n", f"  pin:\n    shaft: crank\n    wheel: {{tooth_edges_deg: {pin}}}\n    offset_deg: {at}\n"
                              "    pickup: {kind: hall, supply: PN.1, ground: PN.2, signal: PN.3}\nwires:\n"
                              "  - {circuit: g, from: PN.1, to: P}\n  - {circuit: h, from: PN.2, to: G}\n  - {circuit: i, from: PN.3, to: CU.9}\n"),
                ("    - {terminal: CU.6, pull_up_ohm: 2.2 kohm}\n",
                 "    - {terminal: CU.6, pull_up_ohm: 2.2 kohm}\n    - {terminal: CU.9, pull_up_ohm: 2.2 kohm}\n"),
                ("  decoder: ", f"    pin: {{terminal: CU.9, conditioning: threshold, high_v: 3 V, low_v: 1.5 V, edge: falling, point: begin, "
                                f"shaft: crank, wheel: {{tooth_edges_deg: {pin}}}, offset_deg: {at}, window_deg: 20}}\n  decoder: "),
                ("cams: [cam]", f"cams: {order}")):
            self.assertEqual(text.count(old), 1, old)
            text = text.replace(old, new)
        return text

    def test_an_even_flywheel_is_placed_by_a_pin_and_the_turn_by_the_cam(self):
        """The cam up to two teeth late: it says in which turn, the pin which tooth, in whichever order they are named."""
        rng = random.Random(8)
        for order in ("[pin, cam]", "[cam, pin]") * 3:
            teeth, at, cam_at, pin_at = rng.randrange(60, 137), rng.randrange(360), rng.randrange(720), rng.uniform(0, 360)
            pitch = 360 / teeth
            wheel = even(teeth)
            pin = [(0, 2)]
            off = (pin_at - at) % pitch  # a pin that passes midway between two teeth's begins
            pin_at += pitch / 2 - off
            text = self.with_pin(bench(wheel, at, HALF_MOON, cam_at), pin, pin_at % 360, order)
            with self.subTest(teeth=teeth, at=at, cam_at=cam_at, order=order):
                self.assertEqual(self.proofread(text)[0], 0, self.proofread(text)[1])
                self.assert_sparks(text)
                late = text.replace(f"    offset_deg: {cam_at}\n", f"    offset_deg: {(cam_at + 2 * pitch) % 720}\n", 1)
                self.assertNotEqual(late, text)
                self.assert_sparks(late)

    def test_a_pin_alone_places_pairs(self):
        text = self.with_pin(bench(even(90), 11, HALF_MOON, 330), [(0, 2)], 33, "[pin]")
        code, said = self.proofread(text)
        self.assertIn("so it is taken to fire in pairs", said)
        self.assert_sparks(text, cycle=360)
        self.assertEqual(self.proofread(text.replace("cams: [pin]", "cams: [pin], firing: paired"))[0], 0)
        never = text.replace("cams: [pin]", "cams: [pin], firing: sequential")
        code, said = self.proofread(never)
        self.assertEqual(code, 2)
        self.assertIn("no second trigger tells the two turns apart, so it never fires", said)
        self.assertEqual(sparks_of(self.play(never)[2], 0), [])

    def test_a_pin_listed_before_the_cam_of_a_wheel_with_a_gap(self):
        for order in ("[pin, cam]", "[cam, pin]"):
            self.assert_sparks(self.with_pin(bench(SIXTY, 300, HALF_MOON, 330), [(0, 4)], 50, order))

    def test_a_half_moon_is_read_by_its_level(self):
        rng = random.Random(5)
        for _ in range(6):
            at, width = rng.randrange(720), rng.uniform(150, 210)
            text = bench(SIXTY, 300, [(0, width)], at).replace(TOLD_CAM, TOLD_CAM + ", by_level: true")
            with self.subTest(at=at, width=width):
                self.assertEqual(self.proofread(text)[0], 0, self.proofread(text)[1])
                self.assert_sparks(text)
        narrow = bench(SIXTY, 300, [(0, 10)], 100).replace(TOLD_CAM, TOLD_CAM + ", by_level: true")  # as wide as its window
        self.assertEqual(self.proofread(narrow)[0], 0)
        self.assert_sparks(narrow)
        for cam in ([(0, 90), (180, 270)], [(0, 12), (180, 192)]):  # the twin: the same in both turns
            text = bench(SIXTY, 300, cam, 50).replace(TOLD_CAM, TOLD_CAM + ", by_level: true")
            code, said = self.proofread(text)
            self.assertEqual(code, 2)
            self.assertIn("its level does not tell the two turns of a cycle apart", said)
            self.assertEqual(sparks_of(self.play(text)[2], 0), [])

    # ---- coils ---------------------------------------------------------------------------------

    def zero_of(self, wheel, i):
        begin, end = wheel[i]
        width, gap = end - begin, (begin - wheel[i - 1][1]) % 360
        return begin + min(width / 2, 3 * min(gap, width) / 2)

    def assert_zeros(self, wheel, at):
        """Each falling zero at the law's place, 2 ns, and each spark at its degree."""
        text = bench(wheel, at, HALF_MOON, 330, coil=True)
        self.assertEqual(self.proofread(text)[0], 0, self.proofread(text)[1])
        _, edges, outputs = self.play(text)
        falls = [t for t, name, level in edges if name == "crank" and level == 0 and 0.02e9 < t < 1.19e9]
        due = sorted(1e9 * self.motion.time(at + 360 * turn + self.zero_of(wheel, i)) for turn in range(-2, 33) for i in range(len(wheel)))
        due = [t for t in due if 0.02e9 < t < 1.19e9]
        self.assertEqual(len(falls), len(due))
        self.assertLessEqual(max(abs(a - b) for a, b in zip(falls, due)), 2)
        sparks = sparks_of(outputs, 0.45)
        self.assertGreater(len(sparks), 30)
        for t, cylinder in sparks:
            self.assertLess(abs(off_deg(self.motion, t, cylinder)), 0.02)

    def test_a_coil_at_any_duty(self):
        for share in (0.1, 0.3, 0.5, 0.7, 0.8, 0.9, 0.95):
            with self.subTest(share=share):
                self.assert_zeros(even(36, (1,), share), 111.1)

    def test_an_input_that_adapts_passes_over_what_a_fixed_one_takes_for_teeth(self):
        """Pulses of 0.9 V beside lobes of some 7 V: a fixed threshold of 0.3 V counts them, 40 % of the lobes before do not."""
        noise = "{kind: electrical_noise, at: crank, rate_hz: 600, width_us: 20, volts: 0.9 V}"
        text = bench(SIXTY, 300, HALF_MOON, 330, coil=True)
        adapts = text.replace("arm_v: 0.3 V", "arm_v: 0.3 V, arm_share: 0.4")
        self.assertNotEqual(adapts, text)
        counts = []
        for told in (text, adapts):
            _, edges, outputs = run(self.tmp + "/n", told, self.motion, noise, expect=EXPECT)
            counts.append(len([1 for t, name, level in edges if name == "crank" and level == 0]))
        _, edges, _ = run(self.tmp + "/n", text, self.motion, "", expect=EXPECT)
        clean = len([1 for t, name, level in edges if name == "crank" and level == 0])
        self.assertGreater(counts[0], clean + 5)
        self.assertLess(abs(counts[1] - clean), 3)
        self.assert_sparks(adapts)

    def test_a_long_tooth_before_a_coil(self):
        rng = random.Random(7)
        for _ in range(6):
            n, long = rng.choice((24, 36, 48)), rng.choice((2, 3, 4))
            teeth = even(n)
            first = rng.randrange(n - long)
            wheel = teeth[:first] + [(teeth[first][0], teeth[first + long - 1][1])] + teeth[first + long:]
            with self.subTest(teeth=n, long=long, first=first):
                self.assert_zeros(wheel, rng.randrange(720))

    # ---- ripple --------------------------------------------------------------------------------

    def borne(self, wheel, at, tolerance):
        """The greatest ripple at which no ratio of two intervals leaves the tolerance: times summed up here."""
        n = 2  # compressions a turn
        angles = sorted((at + begin) % 360 + 360 * turn for begin, _ in wheel for turn in (-2, -1, 0, 1, 2))
        for r in (i / 500 for i in range(1, 451)):
            times = [a + math.degrees(r / n * math.sin(math.radians(n * a))) for a in angles]
            for i in range(2, len(angles)):
                steady = (angles[i] - angles[i - 1]) / (angles[i - 1] - angles[i - 2])
                seen = (times[i] - times[i - 1]) / (times[i - 1] - times[i - 2])
                if max(seen / steady, steady / seen) > 1 + tolerance:
                    return r
        return 0.9

    def test_proofread_says_up_to_which_ripple_and_a_run_bears_it_out(self):
        rng = random.Random(21)
        expect = "  - {name: kept, kind: always, condition: {signal: all.sync, equals: 3}, during: [only], settle_s: 2 s, means: m}\n"
        for _ in range(6):
            n = rng.choice((12, 18, 24, 36))
            wheel, at, tolerance = even(n, (n,)), rng.randrange(360), rng.choice((0.3, 0.4, 0.5))
            text = bench(wheel, at, HALF_MOON, 330).replace("dwell_ms: 2", f"ratio_tolerance: {tolerance}, dwell_ms: 2")
            said = self.proofread(text)[1]
            words = "told apart while cranking with a speed ripple of "
            self.assertIn(words, said)
            stated = said.split(words)[1].split(";")[0]
            want = self.borne(wheel, at, tolerance)
            with self.subTest(teeth=n, at=at, tolerance=tolerance, stated=stated):
                if stated == "any size":
                    self.assertGreaterEqual(want, 0.89)
                    continue
                limit = float(stated.removeprefix("up to "))
                self.assertAlmostEqual(limit, want, delta=0.004)
                self.motion = Hold()
                self.motion.drive = "engine_speed: {crank: 220 rpm}"
                for ripple, kept in ((limit - 0.02, True), (limit + 0.04, False)):
                    if not 0 <= ripple <= 0.9:
                        continue
                    changed = text.replace("compression_ripple: 0.25", f"compression_ripple: {ripple:.3f}")
                    report, _, _ = self.play(changed, expect=expect, run_s=4)
                    self.assertEqual(report["expectations"][0]["outcome"] == "met", kept, f"ripple {ripple}")
                    self.assertEqual(self.proofread(changed)[0], 0 if kept else 2)

    # ---- what is put in ------------------------------------------------------------------------

    def edges(self, sensor, fault, **kwargs):
        text = bench(SIXTY, 300, HALF_MOON, 330, **kwargs)
        _, edges, self.outputs = run(self.tmp + "/n", text, self.motion, fault, expect=EXPECT)
        return [(t, level) for t, name, level in edges if name == sensor]

    def test_disturbances_of_a_hall_sensor(self):
        """Pulses of 40 us, 100 a second by chance: between them the wheel's own edges stay where they are."""
        clean = due_edges(self.motion, HALF_MOON, 330, 720, 1.2)
        seen = self.edges("cam", "{kind: electrical_noise, at: cam, rate_hz: 100, width_us: 40}")
        own = {round(t) for t, _ in clean}
        extra = [(t, level) for t, level in seen if t > 0 and not any(abs(t - o) <= 1 for o in own)]
        self.assertGreater(len(extra), 2 * 60)  # 120 are due, with a deviation of 11
        self.assertLess(len(extra), 2 * 180)
        alone = 0
        for (a, _), (b, _) in zip(extra[::2], extra[1::2]):
            if not any(a < o < b for o in own):
                self.assertLessEqual(abs(b - a - 40000), 1)
                alone += 1
        self.assertGreater(alone, 50)
        for t, _ in clean:
            if 1000 < t < 1.19e9 and not any(a - 1 <= t <= b + 1 for (a, _), (b, _) in zip(extra[::2], extra[1::2])):
                self.assertTrue(any(abs(t - s) <= 1 for s, _ in seen), t)
        pauses = [b - a for (a, _), (b, _) in zip(extra[::2], extra[2::2])]
        mean = sum(pauses) / len(pauses) / 1e9
        deviation = math.sqrt(sum((p / 1e9 - mean) ** 2 for p in pauses) / len(pauses))
        self.assertAlmostEqual(deviation / mean, 1, delta=0.35)  # of an exponential, both are the same
        again = self.edges("cam", "{kind: electrical_noise, at: cam, rate_hz: 100, width_us: 40}")
        self.assertEqual(seen, again)

    def test_disturbances_of_the_crank_lose_the_position_and_none_does_not(self):
        for coil in (False, True):
            for fault, most in (("", 0), ("{kind: electrical_noise, at: crank, rate_hz: 40, width_us: 60%s}" % (", volts: 12 V" if coil else ""), None)):
                self.edges("crank", fault, coil=coil)
                sparks = sparks_of(self.outputs, 0.45)
                if most == 0:
                    self.assertEqual(len([1 for t, c in sparks if abs(off_deg(self.motion, t, c)) > 0.02]), 0)
                    whole = len(sparks)
                else:
                    self.assertLess(len(sparks), 0.9 * whole, f"coil: {coil}")

    def test_a_disturbance_too_small_to_arm_does_nothing_to_a_coil(self):
        clean = self.edges("crank", "", coil=True)
        small = self.edges("crank", "{kind: electrical_noise, at: crank, rate_hz: 5, width_us: 20, volts: 0.01 V}", coil=True)
        self.assertEqual(len(clean), len(small))

    def test_a_crank_that_swings_back(self):
        """Down to a stop in 0.4 s, then back by 15 degrees: the same teeth again, from behind."""
        text = bench(SIXTY, 300, HALF_MOON, 330).replace("compression_ripple: 0.25", "compression_ripple: 0.25, kick_back_deg: 15")
        self.motion.start = 500  # it comes to a stop 20 degrees behind the first tooth's begin
        ran = "  - {name: stop, for_s: 0.4 s, drive: {engine_speed: {ramp: 0 rpm, over_s: 0.4 s}}}\n  - {name: stands, for_s: 0.6 s}\n"
        _, edges, _ = self.play(text, run_s=0.3, more_steps=ran)
        stop = self.motion.start + SPEED * 0.3 + SPEED * 0.4 / 2
        want = []
        for turn in range(-1, 20):
            for begin, end in SIXTY:
                for deg, level in ((begin, 1), (end, 0)):  # from behind: out of the tooth at its begin, into it at its end
                    back = stop - (300 + 360 * turn + deg)
                    if 0 < back < 15:
                        want.append((0.7e9 + 0.15e9 / math.pi * math.acos(1 - 2 * back / 15), level))
        want.sort()
        seen = [(t, level) for t, name, level in edges if name == "crank" and t > 0.7e9 - 1000]
        self.assertEqual([level for _, level in seen], [level for _, level in want])
        self.assertGreater(len(want), 3)
        self.assertLessEqual(max(abs(a - b) for (a, _), (b, _) in zip(seen, want)), 2)

    def test_and_does_not_where_nothing_pushes_it(self):
        ran = "  - {name: stop, for_s: 0.4 s, drive: {engine_speed: {ramp: 0 rpm, over_s: 0.4 s}}}\n  - {name: stands, for_s: 0.6 s}\n"
        _, edges, _ = self.play(bench(SIXTY, 300, HALF_MOON, 330), run_s=0.3, more_steps=ran)
        self.assertEqual([t for t, _, _ in edges if t > 0.7e9], [])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[3:], verbosity=1)
