#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Hours without growth: a run in virtual time and a live bench that is asked and told things all the while. Memory, descriptors
and threads stay what they were after the first fifth, record and recording within what they were given.

    soak_test.py DRYCRANK DRYCRANKD PROFILES [SIMULATED_S [REAL_S [TEST...]]]

SIMULATED_S (900) in virtual time, REAL_S (15) of drycrankd. What was measured is printed. By hand: 86400 1800.
Programs built under a sanitizer keep what was freed for a while, and are given more room for that.
"""
import itertools
import json
import os
import pathlib
import re
import signal
import socket
import subprocess
import sys
import tempfile
import time
import unittest

DRYCRANK, DRYCRANKD, PROFILES = map(os.path.abspath, sys.argv[1:4])
SIMULATED_S = float(sys.argv[4]) if len(sys.argv) > 4 else 900
REAL_S = float(sys.argv[5]) if len(sys.argv) > 5 else 15
BENCH = f"{PROFILES}/benches/hill_climb.yaml"
SANITIZED = re.search(rb"__[at]san_init", pathlib.Path(DRYCRANK).read_bytes())
MOST_GROWTH_KB = 65536 if SANITIZED else 4096
# Of freed memory under the sanitizer; a leak is told at the end whatever this is.
ENVIRONMENT = {**os.environ, "ASAN_OPTIONS": "quarantine_size_mb=16"}

MOST_RECORD, MOST_FILE, FILES = 20_000_000, 1 << 20, 4
KEPT = ["--out-most", "20MB", "--recording-mib", "1", "--recording-files", str(FILES)]
# Half a second's writing beyond the limit, and pieces of 64 kB that were under way.
BEYOND = 500_000

SCENARIO = f"""\
kind: scenario
name: soak
bench: {BENCH}
seed: 7
steps:
  - name: drive
    for_s: {SIMULATED_S:.0f} s
    drive:
      engine_speed: {{sine: 3500 rpm, amplitude: 2500 rpm, period_s: 30 s}}
      coolant_temperature: {{sine: 60 °C, amplitude: 30 °C, period_s: 40 s}}
      throttle: {{sine: 50, amplitude: 50, period_s: 7 s}}
faults:
  - {{kind: open, at: CLT.1, from_s: 20 s, to_s: 30 s}}
expect:
  - {{name: there, kind: message_present, message: engine_fast, jitter_ms: 5 ms, means: The message does not come.}}
  - {{name: coolant, kind: follows, signal: engine_temps.coolant, stimulus: coolant_temperature, tolerance: 4 K, settle_s: 1 s, means: No coolant temperature.}}
"""


class Watched:
    """A process and what it takes, looked at now and then."""

    def __init__(self, process):
        self.process, self.proc, self.seen = process, pathlib.Path(f"/proc/{process.pid}"), []

    def look(self):
        try:
            resident = int(re.search(r"VmRSS:\s+(\d+)", (self.proc / "status").read_text())[1])
            descriptors, threads = (len(list((self.proc / name).iterdir())) for name in ("fd", "task"))
        except (TypeError, OSError):
            return  # it is over
        if threads:
            self.seen.append((time.monotonic(), resident, descriptors, threads))

    def most(self, column, begin, end):
        span = self.seen[int(len(self.seen) * begin):max(1, int(len(self.seen) * end))]
        return max(row[column] for row in span)

    def growth(self):
        """Most of the last tenth over most of the first fifth: kB, descriptors, threads."""
        return [self.most(column, 0.9, 1) - self.most(column, 0, 0.2) for column in (1, 2, 3)]

    def words(self):
        return f"{self.most(1, 0, 0.2)} kB, {self.growth()[0]:+} kB; {self.most(2, 0, 1)} descriptors; {len(self.seen)} looks"


class Soak(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = pathlib.Path(folder.name)
        self.out = self.tmp / "record"
        self.kept = ["--out", str(self.out), "--recording", str(self.tmp / "r.pcapng"), *KEPT]

    def start(self, command):
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=ENVIRONMENT)
        self.addCleanup(process.communicate)
        self.addCleanup(process.kill)
        return process

    def sizes(self):
        record = sum(path.stat().st_size for path in self.out.iterdir() if path.is_file())
        return record, [path.stat().st_size for path in self.tmp.glob("r*.pcapng")]

    def expect_no_growth(self, watched):
        kilobytes, descriptors, threads = watched.growth()
        self.assertLess(kilobytes, MOST_GROWTH_KB, watched.words())
        self.assertLessEqual(descriptors, 1)
        self.assertLessEqual(threads, 0)

    def expect_within_limits(self):
        record, recordings = self.sizes()
        self.assertLess(record, MOST_RECORD + BEYOND)
        self.assertLessEqual(len(recordings), FILES)
        self.assertLessEqual(max(recordings), MOST_FILE + 100_000)
        return f"record {record / 1e6:.1f} MB, recordings {len(recordings)} of {max(recordings) / 1e6:.1f} MB at most"

    def test_in_virtual_time(self):
        (self.tmp / "soak.yaml").write_text(SCENARIO)
        begun = time.monotonic()
        run = self.start([DRYCRANK, "run", str(self.tmp / "soak.yaml"), "--quiet", "--json", str(self.tmp / "report.json"), *self.kept])
        watched = Watched(run)
        while run.poll() is None:
            watched.look()
            time.sleep(0.02 if len(watched.seen) < 500 else 0.5)
        out, err = run.communicate()
        took_s = time.monotonic() - begun
        # The fault that was put in is found, and nothing else: ten simulated seconds of it.
        report = json.loads((self.tmp / "report.json").read_text())
        self.assertEqual(run.returncode, 1, out + err)
        self.assertEqual({v["name"]: v["outcome"] for v in report["expectations"]}, {"there": "met", "coolant": "failed"})
        self.assertEqual(report["duration_ns"], int(SIMULATED_S) * 10**9)
        within = self.expect_within_limits()
        print(f"virtual: {SIMULATED_S:.0f} s simulated in {took_s:.0f} s; {watched.words()}; {within}", flush=True)
        self.expect_no_growth(watched)

    def tell(self, client, words):
        client.sendall(words.encode() + b"\n")
        reply = b""
        while not reply.endswith(b"\n"):
            piece = client.recv(65536)
            self.assertTrue(piece, words)
            reply += piece
        return json.loads(reply)

    def test_live(self):
        daemon = self.start([DRYCRANKD, BENCH, "--socket", str(self.tmp / "control"), *self.kept])
        self.assertIn("is live", daemon.stdout.readline())
        watched, begun, asked = Watched(daemon), time.monotonic(), 0
        words = itertools.cycle(["set engine_speed 6000 rpm", "ramp coolant_temperature 90 °C in 1 s", "status",
                                 "fault {name: f, kind: open, at: CLT.1}", "clear f", "leave set throttle 40", "nonsense", "status"])
        while time.monotonic() - begun < REAL_S:
            with socket.socket(socket.AF_UNIX) as client:
                client.settimeout(60)
                client.connect(str(self.tmp / "control"))
                for _ in range(8):
                    line = next(words)
                    self.assertEqual(self.tell(client, line)["ok"], line != "nonsense", line)
                    asked += 1
                    time.sleep(0.05)
            watched.look()
        daemon.send_signal(signal.SIGTERM)
        out, err = daemon.communicate(timeout=60)
        self.assertEqual(daemon.returncode, 0, out + err)
        within = self.expect_within_limits()
        print(f"live: {REAL_S:.0f} s, {asked} requests; {watched.words()}; {within}", flush=True)
        self.expect_no_growth(watched)


unittest.main(argv=sys.argv[:1] + sys.argv[6:], verbosity=1)
