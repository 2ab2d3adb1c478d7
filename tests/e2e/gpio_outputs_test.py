#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A scenario's switches driven by lines of a GPIO chip (gpio_chip_twin.cc in the kernel's place), and a stop input.

    gpio_outputs_test.py DRYCRANK DRYCRANKD GPIO_CHIP_TWIN [unittest options]

Times are the twin's own, of CLOCK_MONOTONIC; one level is judged against another of the same run.
"""
import json
import os
import pathlib
import signal
import socket
import subprocess
import sys
import tempfile
import time
import unittest

DRYCRANK, DRYCRANKD, TWIN = (str(pathlib.Path(word).resolve()) for word in sys.argv[1:4])
STATED_S, ROOM_S = 0.2, 0.25  # of the guard; for a computer that others use
BENCH = """
kind: bench
name: gpio_outputs
engine: {firing_order: [1], compression_ripple: 0}
stimuli:
  oil_pressure: {unit: kPa, min: 0, max: 800}
  door: {unit: count, min: 0, max: 1}
supplies: {battery: {plus: BAT.1, minus: BAT.2, voltage_v: 12.5}}
connectors: {BAT: {pins: 2}, ALL: {pins: 4}}
sensors:
  oil: {measures: oil_pressure, kind: switch, closed_at: 50, plus: ALL.1, minus: ALL.2}
  door: {measures: door, kind: switch, closed_at: 0.5, plus: ALL.3, minus: ALL.4}
drives:
  relays:
    kind: gpio
    chip: CHIP
    stop_line: 6
    channels: {oil: {line: 3}, door: {line: 5, active_low: true, safe: closed}}
"""
SCENARIO = """
kind: scenario
name: gpio_outputs
bench: bench.yaml
steps:
  - {name: rest, for_s: 1}
  - {name: pressure, for_s: 1, drive: {oil_pressure: 300, door: 1}}
  - {name: fallen, for_s: 1, drive: {oil_pressure: 0}}
  - {name: opened, for_s: LAST, drive: {door: 0, oil_pressure: 300}}
"""
SAFE = {3: 0, 5: 0}  # open by a line that closes when it is high; closed by one that closes when it is low


class GpioOutputs(unittest.TestCase):
    def setUp(self):
        holder = tempfile.TemporaryDirectory()
        self.addCleanup(holder.cleanup)
        self.folder = pathlib.Path(holder.name)
        self.chip = self.folder / "gpiochip0"
        self.chip.write_text("")
        self.stop(1)
        (self.folder / "bench.yaml").write_text(BENCH.replace("CHIP", str(self.chip)))
        self.write()

    def write(self, last_s=0.5):
        (self.folder / "scenario.yaml").write_text(SCENARIO.replace("LAST", str(last_s)))

    def stop(self, level):
        fresh = self.folder / "fresh"
        fresh.write_text(str(level))
        fresh.rename(f"{self.chip}.in6")

    def changes(self, line):
        """(level, s) of each change."""
        told = [[int(word) for word in text.split()] for text in self.chip.read_text().splitlines()]
        changes = []
        for number, level, ns in told:
            if number == line and (not changes or changes[-1][0] != level):
                changes.append((level, ns / 1e9))
        return changes

    def levels(self):
        return {line: (self.changes(line) or [(None, 0)])[-1][0] for line in SAFE}

    def wait(self, ready, seconds=20):
        end = time.monotonic() + seconds
        while not ready():
            self.assertLess(time.monotonic(), end, self.chip.read_text())
            time.sleep(0.005)

    def start(self, *words):
        process = subprocess.Popen(
            [*words, "--outputs", "--arm", "relays", "--by", "tester"], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT, text=True, cwd=self.folder,
            env={**os.environ, "LD_PRELOAD": TWIN, "GPIO_TWIN": str(self.chip),
                 "ASAN_OPTIONS": "verify_asan_link_order=0"})
        self.addCleanup(process.stdout.close)
        self.addCleanup(process.wait)
        self.addCleanup(process.kill)
        return process

    def run_it(self):
        return self.start(DRYCRANK, "run", "scenario.yaml", "--quiet", "--real-time", "--out", "out")

    def live(self):
        process = self.start(DRYCRANKD, "bench.yaml", "--socket", "s")
        while "is live" not in process.stdout.readline():
            self.assertIsNone(process.poll())
        line = socket.socket(socket.AF_UNIX)
        line.connect(str(self.folder / "s"))
        self.addCleanup(line.close)
        for request in ("set oil_pressure 300", "set door 0"):
            line.sendall(request.encode() + b"\n")
            self.assertTrue(json.loads(line.recv(4096))["ok"])
        return process

    def test_switches_close_and_open_at_their_times(self):
        process = self.run_it()
        said = process.stdout.read()
        self.assertEqual(process.wait(60), 4, said)  # no expectation: nothing is shown
        oil, door = self.changes(3), self.changes(5)
        # The door's line: closed in the safe state (low), opened (high) at rest, closed, opened, and safe again.
        self.assertEqual([level for level, _ in oil], [0, 1, 0, 1, 0], oil)
        self.assertEqual([level for level, _ in door], [0, 1, 0, 1, 0], door)
        begin = oil[1][1]
        for (_, at), due in ((oil[2], 1), (oil[3], 2), (oil[4], 2.5), (door[2], 0), (door[3], 2)):
            self.assertLess(abs(at - begin - due), ROOM_S, (oil, door))
        self.assertIn("relays (gpio)", said)

    def test_the_stop_input_ends_a_run_in_its_safe_state(self):
        self.write(60)
        process = self.run_it()
        self.wait(lambda: [level for level, _ in self.changes(3)] == [0, 1, 0, 1])
        self.stop(0)
        said = process.stdout.read()
        self.assertEqual(process.wait(60), 3, said)
        self.assertEqual(self.levels(), SAFE)
        why = f"the stop input, line 6 of {self.chip}, was pressed"
        self.assertIn(why, said)
        self.assertIn(why, (self.folder / "out/events.csv").read_text())

    def test_a_stop_input_that_is_pressed_or_not_wired_lets_nothing_begin(self):
        self.stop(0)
        process = self.run_it()
        said = process.stdout.read()
        self.assertEqual(process.wait(60), 3, said)
        self.assertIn("is pressed or not wired", said)
        self.assertIsNone(self.levels()[3], "never taken")

    def test_a_line_that_somebody_has_is_refused(self):
        self.write(60)
        first = self.run_it()
        self.wait(lambda: self.levels()[3] == 1)
        second = self.start(DRYCRANK, "run", "scenario.yaml", "--quiet", "--real-time")
        said = second.stdout.read()
        self.assertEqual(second.wait(60), 3, said)
        self.assertIn("another program or driver has it", said)
        self.assertIsNone(first.poll())

    def killed(self, start):
        self.write(60)
        process = start()
        self.wait(lambda: self.levels() == {3: 1, 5: 1})
        killed = time.monotonic()
        process.send_signal(signal.SIGKILL)
        self.wait(lambda: self.levels() == SAFE, 10)
        after = {line: self.changes(line)[-1][1] - killed for line in SAFE}
        print({line: f"{s * 1000:.0f} ms" for line, s in after.items()})
        self.assertLess(max(after.values()), STATED_S + ROOM_S)

    def test_killed_a_run_leaves_its_lines_safe(self):
        self.killed(self.run_it)

    def test_killed_a_daemon_leaves_its_lines_safe(self):
        self.killed(self.live)

    def test_the_stop_input_ends_a_daemon(self):
        process = self.live()
        self.wait(lambda: self.levels() == {3: 1, 5: 1})
        self.stop(0)
        said = process.stdout.read()
        self.assertEqual(process.wait(60), 3, said)
        self.assertIn("was pressed", said)
        self.assertEqual(self.levels(), SAFE)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[4:])
