#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The checker on a live bus: a daemon plays the bench on the multicast bus, `drycrank run` in another
process plays nothing and judges what it receives; then a fault in the daemon fails its own expectation.

In a network namespace of its own (needs root and Debian's iproute2), so that no other test is on the bus.
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import time
import unittest

SET_UP = "ip link set lo up && ip route add 239.74.163.2/32 dev lo"
if os.environ.get("DRYCRANK_OWN_NETWORK") != "1":
    path = os.environ.get("PATH", "") + ":/usr/sbin:/sbin"
    os.execvpe("unshare", ["unshare", "--net", "sh", "-c", f'{SET_UP} && exec "$@"', "sh", sys.executable, *sys.argv],
               {**os.environ, "PATH": path, "DRYCRANK_OWN_NETWORK": "1"})

DRYCRANK, DRYCRANKD, PROFILES = sys.argv[1:4]
BENCH = f"{PROFILES}/benches/hill_climb.yaml"

# What the daemon is told beforehand. Limits in time are wide: a busy machine delays, it does not lose.
SCENARIO = f"""\
kind: scenario
name: live
bench: {BENCH}
steps:
  - {{name: watch, for_s: 2 s, drive: {{coolant_temperature: 90 °C, engine_speed: 1200 rpm, boost_pressure: 25 psi}}}}
expect:
  - {{name: coolant, kind: follows, signal: engine_temps.coolant, stimulus: coolant_temperature, tolerance: 2 K,
      means: coolant}}
  - {{name: speed, kind: follows, signal: engine_fast.engine_speed, stimulus: engine_speed, tolerance: 20 rpm,
      means: speed}}
  - {{name: state, kind: always, condition: {{signal: engine_fast.sync, equals: synchronised}}, means: state}}
  - {{name: present, kind: message_present, message: engine_pressures, jitter_ms: 900 ms, means: present}}
  - {{name: counts, kind: counter, message: engine_fast, means: counts}}
  - {{name: checksum, kind: checksum, message: engine_fast, means: checksum}}
  - {{name: shows_coolant, kind: display_shows, gauge: coolant, stimulus: coolant_temperature, tolerance: 2 K,
      unit: degC, state: ok, means: shows}}
  - {{name: shows_manifold, kind: display_shows, gauge: manifold, stimulus: boost_pressure, absolute: true,
      tolerance: 4 kPa, state: ok, means: shows}}
"""


class LiveBus(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = pathlib.Path(folder.name)
        (cls.tmp / "s.yaml").write_text(SCENARIO)
        cls.daemon = subprocess.Popen([DRYCRANKD, BENCH, "--bus", "vehicle=multicast", "--socket",
                                       str(cls.tmp / "control")], stdout=subprocess.PIPE, text=True)
        cls.addClassCleanup(cls.end)
        assert "is live" in cls.daemon.stdout.readline()
        for words in ("set coolant_temperature 90 °C", "set engine_speed 1200 rpm", "set boost_pressure 25 psi"):
            cls.tell(words)

    @classmethod
    def end(cls):
        cls.daemon.terminate()
        cls.daemon.communicate()

    @classmethod
    def tell(cls, words):
        leave = ["--leave"] if words.startswith("set") else []
        out = subprocess.run([DRYCRANK, "tell", "--socket", str(cls.tmp / "control"), words, *leave], capture_output=True,
                             text=True, timeout=60)
        assert out.returncode == 0, out.stdout
        return json.loads(out.stdout)

    def wait_for(self, holds):
        for _ in range(600):
            status = self.tell("status")
            if holds(status):
                return
            time.sleep(0.05)
        self.fail(f"did not come true: {status}")

    def judged(self):
        """Outcomes by name, as another process finds them on the bus."""
        report = self.tmp / "report.json"
        out = subprocess.run([DRYCRANK, "run", str(self.tmp / "s.yaml"), "--bus", "vehicle=multicast", "--real",
                              "controller", "--real", "display", "--real-time", "--json", str(report)],
                             capture_output=True, text=True, timeout=120)
        expectations = json.loads(report.read_text())["expectations"]
        self.seen = {e["name"]: e["judged"] for e in expectations}
        failed = [e["name"] for e in expectations if e["outcome"] != "met"]
        self.assertEqual(out.returncode, 1 if failed else 0, out.stdout + out.stderr)
        return failed

    def with_fault(self, fault, shown=90, state="synchronised"):
        self.tell("fault {name: f, " + fault + "}")
        self.addCleanup(self.tell, "clear f")
        self.wait_for(lambda s: s["faults"] == ["f"] and s["display"]["coolant"]["shown"] == shown
                      and s["controller"]["state"] == state)
        return self.judged()

    def setUp(self):
        self.wait_for(lambda s: s["display"]["coolant"]["shown"] == 90 and s["controller"]["state"] == "synchronised"
                      and abs((s["display"]["manifold"]["shown"] or 0) - 273.7) < 4  # null while it is stale
                      and not s["faults"])

    def test_a_healthy_bench_meets_everything(self):
        self.assertEqual(self.judged(), [])
        self.assertGreater(min(self.seen.values()), 0, self.seen)  # nothing is met for want of frames

    def test_an_open_wire_is_the_coolant_s(self):
        # 80 °C is the controller's default value.
        self.assertEqual(self.with_fault("kind: open, at: CLT.1", shown=80), ["coolant", "shows_coolant"])

    def test_a_missing_cam_is_the_state_s(self):
        self.assertEqual(self.with_fault("kind: not_fitted, at: cam_intake", state="position known"), ["state"])

    def test_a_counter_that_stands_is_the_counter_s(self):
        self.assertEqual(self.with_fault("kind: counter_stuck, at: engine_fast"), ["counts"])

    def test_a_wrong_checksum_is_the_checksum_s(self):
        self.assertEqual(self.with_fault("kind: checksum_wrong, at: engine_fast"), ["checksum"])

    def test_a_message_that_is_left_out_is_its_own_and_the_gauge_s(self):
        self.assertEqual(self.with_fault("kind: message_missing, at: engine_pressures"), ["present", "shows_manifold"])

    def test_the_program_started_twice_is_said_by_both(self):
        """Two that send one identifier: on a wire they would drive each other off the bus."""
        second = subprocess.Popen([DRYCRANKD, BENCH, "--bus", "vehicle=multicast", "--socket", str(self.tmp / "second"),
                                   "--out", str(self.tmp / "twice")], stdout=subprocess.PIPE, text=True)
        self.addCleanup(second.communicate)
        self.addCleanup(second.kill)
        said = ""
        while "another node too" not in said:
            line = second.stdout.readline()
            self.assertTrue(line, said)
            said += line
        second.terminate()
        second.wait(timeout=20)
        notes = (self.tmp / "twice/events.csv").read_text()
        self.assertRegex(notes, r",note,.*engine_fast \(120\) is sent by another node too")

    def test_a_wrong_layout_is_the_display_s(self):
        fault = "kind: layout, at: engine_pressures.manifold, byte_order: little"
        self.assertEqual(self.with_fault(fault), ["shows_manifold"])


unittest.main(argv=sys.argv[:1], verbosity=1)
