#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A bench run live is cranked and watched: `tell crank`, `tell watch`, and what the record and `judge` make of it.

    live_engine_test.py DRYCRANK DRYCRANKD PROFILES
"""
import json
import socket
import subprocess
import sys
import unittest

import program_case
from program_case import DRYCRANK, HEALTHY, drycrank


class LiveEngine(program_case.Case):
    def tell(self, *words):
        return drycrank("tell", "--socket", self.socket, *words)

    def lines(self, *words):
        out = self.tell(*words)
        self.assertEqual((out.returncode, out.stderr), (0, ""))
        return [json.loads(line) for line in out.stdout.splitlines()]

    def test_cranked_and_watched(self):
        daemon = self.daemon("--out", str(self.out))
        self.assertEqual(self.lines("watch", "every", "100", "ms", "--for", "0.4 s")[0]["controller"]["in_words"], "stopped")
        out = self.tell("crank", "220 rpm", "--leave")
        self.assertEqual(out.returncode, 0, out.stderr)
        lines = self.lines("watch", "every", "100", "ms", "--for", "3 s")
        self.assertGreater(len(lines), 12)
        times = [line["time_s"] for line in lines]
        self.assertEqual(times, sorted(times))
        last = lines[-1]["controller"]
        self.assertEqual(last["state"], "synchronised")
        self.assertRegex(last["in_words"], r"^synchronised at \d+ r/min, never lost$")
        self.assertAlmostEqual(last["cam_angles_deg"]["cam_intake"], 0, delta=3)
        # Ripple of 0.2: the speed lies between n / 1.2 and n / 0.8 at any instant, and so does each mean.
        turning = [line["controller"]["speed_rpm"] for line in lines if line["controller"]["state"] == "synchronised"]
        self.assertGreater(min(turning), 220 / 1.2 - 2)
        self.assertLess(max(turning), 220 / 0.8 + 2)
        # 220 r/min are 110 cycles a minute, 1.83 a second: each coil fires so often.
        first = next(line for line in lines if line["controller"]["state"] == "synchronised")
        for_s = lines[-1]["time_s"] - first["time_s"]
        for cylinder in "1234":
            fired = last["sparks"][cylinder]["count"] - first["controller"]["sparks"][cylinder]["count"]
            self.assertAlmostEqual(fired, for_s * 110 / 60, delta=1.2)
        self.tell("stop")
        self.assertEqual(daemon.wait(timeout=20), 0)
        self.assertRegex((self.out / "events.csv").read_text(), r"(?m)^\d+,drive,engine_speed,220,crank$")
        self.assertRegex((self.out / "motion.csv").read_text(), r"(?m)^\d+,0,0(\.0)?,crank,220,")
        judged = drycrank("judge", HEALTHY, "--record", str(self.out))
        self.assertIn(judged.returncode, (0, 1, 4), judged.stderr)
        self.assertEqual(judged.stderr, "")

    def test_a_watch_ends_with_the_next_request_and_with_the_daemon(self):
        import socket
        daemon = self.daemon()
        with socket.socket(socket.AF_UNIX) as client:
            client.settimeout(10)
            client.connect(self.socket)
            stream = client.makefile("rw")
            stream.write("watch every 50 ms\n")
            stream.flush()
            for _ in range(3):
                self.assertIn("in_words", json.loads(stream.readline())["controller"])
            stream.write("help\n")
            stream.flush()
            while "help" not in (line := json.loads(stream.readline())):
                self.assertIn("controller", line)
            client.settimeout(0.5)
            with self.assertRaises(TimeoutError):
                client.recv(1)
        watcher = subprocess.Popen([DRYCRANK, "tell", "--socket", self.socket, "watch"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.addCleanup(watcher.communicate)
        self.assertIn("in_words", watcher.stdout.readline())
        self.tell("stop")
        self.assertEqual(daemon.wait(timeout=20), 0)
        self.assertEqual(watcher.wait(timeout=20), 3)
        self.assertIn("drycrankd has ended", watcher.stderr.read())

    def test_what_is_wrong_is_said(self):
        self.daemon()
        self.assertIn("is not a time of 0.05 to 3600 s", self.tell("watch", "every", "1", "ms").stdout)
        self.assertIn("crank wants a speed", self.tell("crank").stdout)
        self.assertEqual(self.tell("status", "--for", "1 s").returncode, 2)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[4:])
