#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrank match` against two cylinders whose coils are exchanged: of an even firing the same as a cam half a turn off, but for
the injectors, which such a cam takes with it.

    two_cylinders_test.py DRYCRANK PROFILES
"""
import json
import pathlib
import tempfile
import unittest

import captures_test as captures

CONTROLLER = """\
controller:
  supply: ECU.1
  ground: ECU.2
  sensor_grounds: [ECU.3]
  inputs: [{terminal: ECU.5, minus: ECU.4}, {terminal: ECU.6, pull_up_ohm: 2200}]
  triggers:
    crank: {terminal: ECU.5, shaft: crank, wheel: %(crank)s, offset_deg: 300, edge: falling, point: begin}
    cam: {terminal: ECU.6, shaft: cam, wheel: %(cam)s, offset_deg: 20, edge: falling, point: begin, window_deg: 40}
  decoder: {primary: crank, cams: [cam], strokes: 4, firing_order: [1, 2], firing_angles_deg: [0, %(fires)g], advance_deg: 12%(end)s}
"""


class TwoCylinders(unittest.TestCase):
    CRANK, CAM = captures.CRANKS["60-2"], captures.CAMS["four unequal"]

    def bench(self, fires, ends):
        wheels = {"crank": captures.wheel_yaml(self.CRANK), "cam": captures.wheel_yaml(self.CAM)}
        text = captures.bench_text(wheels["crank"], 300, True, wheels["cam"], 20, "[1, 2]")
        text = text.replace("firing_order: [1, 2]", f"firing_order: [1, 2], firing_angles_deg: [0, {fires}], advance_deg: 12").replace("  BAT: {", "  ECU: {pins: 9}\n  BAT: {")
        return text + CONTROLLER % dict(wheels, fires=fires, end=", injection_end_deg: 60" if ends else "")

    def off(self, fires=360, ends=True, code=1, **put_in):
        engine = captures.Engine(TDC={1: 0, 2: fires}, coils=(1, 2), injectors=(1, 2), **put_in)
        with tempfile.TemporaryDirectory() as tmp:
            bench, capture, said = (pathlib.Path(tmp) / name for name in ("bench.yaml", "capture.csv", "said.json"))
            engine.write(capture)
            capture.write_bytes(capture.read_bytes().replace(b"cam_intake", b"cam", 1))
            bench.write_text(self.bench(fires, ends))
            out = captures.match(bench, capture, "--json", said)
            self.assertEqual(out.returncode, code, out.stdout + out.stderr)
            return [f["text"] for f in json.loads(said.read_text())["findings"] if f["says"] == "off"]

    EXCHANGED = {1: 2, 2: 1}

    def test_as_drawn(self):
        for fires in (360, 405):
            self.assertEqual(self.off(fires, code=0), [])

    def test_injectors_at_their_place_clear_the_cam(self):
        said = self.off(exchange=self.EXCHANGED)
        self.assertEqual(len(said), 1, said)
        self.assertRegex(said[0], r"^coils fire -?3(60|59)\.\d° off, a whole turn of the crank: the two are exchanged: the injectors are at their place$")

    def test_a_cam_half_a_turn_off_takes_them_with_it(self):
        said = self.off(cam_late=360)
        self.assertEqual(len(said), 1, said)
        self.assertRegex(said[0], r"^coils fire .*: the cam is half a turn off; or the two are exchanged$")

    def test_injectors_of_unknown_places_clear_nothing(self):
        said = self.off(ends=False, exchange=self.EXCHANGED)
        self.assertEqual(len(said), 1, said)
        self.assertRegex(said[0], r"^coils fire .*: the cam is half a turn off; or the two are exchanged$")

    def test_of_an_odd_firing_each_is_named(self):
        """Fired at 405 and at 720: 315 from the other one."""
        said = self.off(405, exchange=self.EXCHANGED)
        self.assertEqual(sorted(text.split(",")[0] for text in said), ["coil_1: fires at the place of cylinder 2", "coil_2: fires at the place of cylinder 1"])


if __name__ == "__main__":
    unittest.main(argv=captures.sys.argv[:1], verbosity=1)
