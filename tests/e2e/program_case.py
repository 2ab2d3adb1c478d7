# SPDX-License-Identifier: Apache-2.0
"""What tests of the whole program share that start it, tell it something and end it. Their arguments are DRYCRANK DRYCRANKD PROFILES."""
import json
import os
import pathlib
import signal
import subprocess
import sys
import tempfile
import time
import unittest

DRYCRANK, DRYCRANKD, PROFILES = map(os.path.abspath, sys.argv[1:4])
HEALTHY = f"{PROFILES}/scenarios/hill_climb/healthy.yaml"
BENCH = f"{PROFILES}/benches/hill_climb.yaml"


def drycrank(*words, **kwargs):
    return subprocess.run([DRYCRANK, *words], capture_output=True, text=True, timeout=60, **kwargs)


class Case(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = pathlib.Path(folder.name)
        self.socket = str(self.tmp / "control")
        self.out = self.tmp / "out"

    def start(self, command, **kwargs):
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **kwargs)
        self.addCleanup(process.communicate)
        self.addCleanup(process.kill)
        return process

    def daemon(self, *words, **kwargs):
        process = self.start([DRYCRANKD, BENCH, "--socket", self.socket, *words], **kwargs)
        line = process.stdout.readline()
        self.assertIn("is live", line, line or process.stderr.read())
        return process

    def refused_daemon(self, *words):
        return subprocess.run([DRYCRANKD, BENCH, *words], capture_output=True, text=True, timeout=20)

    def tell(self, words):
        leave = ["--leave"] if words.startswith(("set", "ramp")) else []
        out = drycrank("tell", "--socket", self.socket, words, *leave)
        return json.loads(out.stdout)

    def end(self, process, how=signal.SIGTERM):
        process.send_signal(how)
        try:
            process.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            self.fail(f"it goes on after signal {how}")
        return process.returncode

    def endless(self):
        """A run in real time that lasts until it is stopped."""
        path = self.tmp / "endless.yaml"
        path.write_text(f"kind: scenario\nname: endless\nbench: {BENCH}\n"
                        "steps: [{name: idle, for_s: 1000 s, drive: {engine_speed: 900 rpm}}]\n"
                        "expect: [{name: there, kind: message_present, message: engine_fast, jitter_ms: 900 ms, means: there}]\n")
        return str(path)

    def running(self, *words, **kwargs):
        process = self.start([DRYCRANK, "run", self.endless(), "--real-time", "--out", str(self.out), *words], **kwargs)
        self.wait_for(lambda: (self.out / "events.csv").exists() and (self.out / "events.csv").stat().st_size > 1000)
        return process

    def wait_for(self, holds):
        for _ in range(400):
            if holds():
                return
            time.sleep(0.05)
        self.fail("did not come true")
