#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Killed by SIGKILL at a moment from a seeded generator, `drycrank run` and drycrankd leave each output safe in time.

    outputs_killed_test.py DRYCRANK DRYCRANKD CORE_ON_A_SOCKET IO_NODE_ON_MULTICAST GPIO_CHIP_TWIN TESTS [KILLS [SEED]]

When each twin was safe is its own time where it has one: the core says when its pins were, a GPIO chip when a line went
over, a file when it was written.
Of the node and the supply it is when their line was read here. ROOM_MS is for a computer that others use: a guard, a
core and a node are processes that wait for their turn, too.
"""
import json
import os
import pathlib
import random
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time

DRYCRANK, DRYCRANKD, CORE, NODE, CHIP, TESTS = (str(pathlib.Path(word).resolve()) for word in sys.argv[1:7])
KILLS = int(sys.argv[7]) if len(sys.argv) > 7 else 8
SEED = int(sys.argv[8]) if len(sys.argv) > 8 else 20261130
MISSED_MS = 300
STATED_MS = {"core": MISSED_MS, "potentiometer": 200, "dac": 200, "node": 150, "supply": 200, "gpio": 200}
ROOM_MS = 250
LOW, HIGH = 1000, 9999
OPEN_WHEN_LOW, CLOSED_WHEN_LOW = 3, 5  # lines of the chip: each safe low, high as long as it is driven
BENCH = f"""
kind: bench
name: killed
engine: {{firing_order: [1], compression_ripple: 0}}
stimuli:
  coolant_temperature: {{unit: degC, initial: 25, min: -10, max: 100}}
  boost_pressure: {{unit: kPa, initial: 100, min: 0, max: 400}}
  fuel_level: {{unit: "%", initial: 50, min: 0, max: 100}}
  oil_pressure: {{unit: kPa, initial: 0, min: 0, max: 800}}
  door: {{unit: count, initial: 1, min: 0, max: 1}}
supplies: {{battery: {{plus: BAT.1, minus: BAT.2, voltage_v: 12.5}}}}
connectors: {{BAT: {{pins: 2}}, ALL: {{pins: 12}}, CKP: {{pins: 3}}}}
triggers:
  crank:
    wheel: {{teeth: 36, missing: [36]}}
    pickup: {{kind: hall, supply: CKP.1, ground: CKP.2, signal: CKP.3}}
sensors:
  coolant: {{measures: coolant_temperature, kind: ntc, steinhart_hart: {{a: 1.129148e-3, b: 2.34125e-4, c: 8.76741e-8}}, plus: ALL.1, minus: ALL.2}}
  boost: {{measures: boost_pressure, kind: ratiometric, low_value: 0, high_value: 400, supply: ALL.3, ground: ALL.4, signal: ALL.5}}
  level: {{measures: fuel_level, kind: voltage, volts_at_value: [[0, 0.5], [100, 4.5]], supply: ALL.6, ground: ALL.7, signal: ALL.8}}
  oil: {{measures: oil_pressure, kind: switch, closed_at: 50, plus: ALL.9, minus: ALL.10}}
  door: {{measures: door, kind: switch, closed_at: 0.5, plus: ALL.11, minus: ALL.12}}
drives:
  edges: {{kind: core, line: FOLDER/line, missed_ms: {MISSED_MS}, channels: {{crank: {{pin: 0}}}}}}
  ohms:
    kind: potentiometer
    channels:
      coolant: {{device: FOLDER/pot, channel: resistance0, at_lowest_ohm: 0, at_highest_ohm: 60000, lowest_count: {LOW}, highest_count: {HIGH}}}
  volts:
    kind: dac
    channels:
      boost: {{device: FOLDER/dac, channel: voltage0, at_lowest_v: 0, at_highest_v: 5, lowest_count: {LOW}, highest_count: {HIGH}}}
  box: {{kind: canopen, bus: BUS, channels: {{level: {{analogue: 1, at_highest_v: 10}}}}}}
  lab: {{kind: supply, host: 127.0.0.1, port: PORT, channels: {{battery: {{limit_a: 2}}}}}}
  relays:
    kind: gpio
    chip: FOLDER/chip
    channels: {{oil: {{line: {OPEN_WHEN_LOW}}}, door: {{line: {CLOSED_WHEN_LOW}, active_low: true, safe: closed}}}}
"""
# All but the switches move as long as it goes on; a switch stays where it is not safe.
SCENARIO = """
kind: scenario
name: killed
bench: bench.yaml
steps:
  - name: all
    for_s: 60
    drive:
      engine_speed: 600
      coolant_temperature: {ramp: 60}
      boost_pressure: {ramp: 300}
      fuel_level: {ramp: 90}
      oil_pressure: 300
      door: 0
"""
BY_HAND = ["set engine_speed 600", "ramp coolant_temperature 60 in 60 s", "ramp boost_pressure 300 in 60 s",
           "ramp fuel_level 90 in 60 s", "set oil_pressure 300", "set door 0"]
ARMED = ["--outputs", "--arm", "edges,ohms,volts,box,lab,relays", "--by", "tester"]


class Lines:
    """A twin in a process of its own: its lines with the time at which they were read."""

    def __init__(self, *words):
        self.process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
        self.first = self.process.stdout.readline().strip()
        self.lines = []
        threading.Thread(target=self.read, daemon=True).start()

    def read(self):
        for line in self.process.stdout:
            self.lines.append((time.monotonic_ns(), line.strip()))

    def end(self):
        self.process.kill()
        self.process.wait()


class Twins:
    def __init__(self, folder):
        self.folder = folder
        self.core = Lines(CORE, str(folder / "line"))
        self.node_bus = f"multicast:239.74.163.2:{random.randint(45000, 60000)}"
        self.node = Lines(NODE, self.node_bus)
        self.supply = Lines("/usr/bin/python3", f"{TESTS}/io/instrument.py")
        self.files = {}
        for name, device, channel in (("potentiometer", "pot", "resistance0"), ("dac", "dac", "voltage0")):
            (folder / device).mkdir()
            self.files[name] = folder / device / f"out_{channel}_raw"
            self.files[name].write_text("5555")
        self.chip = folder / "chip"
        self.chip.write_text("")
        bench = BENCH.replace("FOLDER", str(folder)).replace("BUS", self.node_bus).replace("PORT", self.supply.first)
        (folder / "bench.yaml").write_text(bench)
        (folder / "scenario.yaml").write_text(SCENARIO)

    def end(self):
        for twin in (self.core, self.node, self.supply):
            twin.end()

    def count(self, name):
        return self.files[name].read_text()

    def last(self, twin, start):
        return next((line for _, line in reversed(twin.lines) if line.startswith(start)), "")

    def line_levels(self):
        """Of each line its level, and since when it has it."""
        levels = {}
        for line, level, ns in (map(int, text.split()) for text in self.chip.read_text().splitlines()):
            if levels.get(line, (None,))[0] != level:
                levels[line] = level, ns
        return [levels.get(line, (None, 0)) for line in (OPEN_WHEN_LOW, CLOSED_WHEN_LOW)]

    def driven(self):
        """Each of them is elsewhere than where it is safe; the core's pins have moved since they were."""
        core = [line.split()[0] for _, line in self.core.lines[-20:]]
        return {"core": len(core) == 20 and "safe" not in core,
                "potentiometer": LOW < int(self.count("potentiometer") or 0) < HIGH,
                "dac": LOW < int(self.count("dac") or 0),
                "node": self.last(self.node, "analogue 1") not in ("", "analogue 1 0"),
                "supply": self.last(self.supply, "OUTP ") == "OUTP ON",
                "gpio": all(level == 1 for level, _ in self.line_levels())}

    def safe(self, since):
        """Monotonic ns at which each was safe and stayed so; since: lines of each before the kill."""
        at = {}
        safe = [int(line.split()[2]) for _, line in self.core.lines[since["core"]:] if line.startswith("safe")]
        if safe:
            at["core"] = safe[0]
        offset = time.monotonic_ns() - time.time_ns()
        for name, count in (("potentiometer", HIGH), ("dac", LOW)):
            if self.count(name) == str(count):
                at[name] = self.files[name].stat().st_mtime_ns + offset
        lines = self.line_levels()
        if all(level == 0 for level, _ in lines):
            at["gpio"] = max(ns for _, ns in lines)
        for name, twin, line in (("node", self.node, "analogue 1 0"), ("supply", self.supply, "OUTP OFF")):
            seen = [t for t, said in twin.lines[since[name]:] if said == line]
            if seen:
                at[name] = seen[0]
        return at

    def lengths(self):
        return {"core": len(self.core.lines), "node": len(self.node.lines), "supply": len(self.supply.lines)}


def wait(ready, what, seconds=30):
    end = time.monotonic() + seconds
    while not ready():
        if time.monotonic() > end:
            raise AssertionError(what())
        time.sleep(0.002)


def start(folder, *words):
    """With a GPIO chip in the kernel's place; what it starts, its guard, has it, too."""
    return subprocess.Popen([*words, *ARMED], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                            stderr=open(folder / "said", "w"),
                            env={**os.environ, "LD_PRELOAD": CHIP, "GPIO_TWIN": str(folder / "chip"),
                                 "ASAN_OPTIONS": "verify_asan_link_order=0"})


def start_run(folder):
    return start(folder, DRYCRANK, "run", folder / "scenario.yaml", "--quiet", "--real-time"), None


def ask(line, request):
    line.sendall(request.encode() + b"\n")
    answer = b""
    while not answer.endswith(b"\n"):
        answer += line.recv(4096)
    return json.loads(answer)


def start_daemon(folder):
    path = folder / "control"
    path.unlink(missing_ok=True)
    process = start(folder, DRYCRANKD, folder / "bench.yaml", "--socket", path)
    line = socket.socket(socket.AF_UNIX)

    def connects():
        assert process.poll() is None, (folder / "said").read_text()
        return line.connect_ex(str(path)) == 0

    wait(connects, lambda: "no control socket")
    for request in BY_HAND:
        answer = ask(line, request)
        assert answer["ok"], answer
    return process, line


def kill(twins, begin, moment_s):
    process, line = begin(twins.folder)
    try:
        wait(lambda: all(twins.driven().values()),
             lambda: f"{twins.driven()}: {(twins.folder / 'said').read_text()[-2000:]}")
        time.sleep(moment_s)
        since = twins.lengths()
        killed = time.monotonic_ns()
        process.send_signal(signal.SIGKILL)
        process.wait()
        wait(lambda: len(twins.safe(since)) == len(STATED_MS), lambda: f"safe are {twins.safe(since)}", 10)
        at = twins.safe(since)
        time.sleep(0.3)
        assert set(twins.safe(since)) == set(STATED_MS), f"and stays so: {twins.safe(since)}"
        assert not any(twins.driven().values()), twins.driven()
        return {name: (t - killed) / 1e6 for name, t in at.items()}
    finally:
        process.kill()
        if line:
            line.close()


def table(name, took):
    print(f"{name}: safe after SIGKILL, {len(took)} times, ms: median, longest, stated")
    for output, stated in STATED_MS.items():
        ms = [one[output] for one in took]
        print(f"  {output:14} {statistics.median(ms):7.1f} {max(ms):7.1f} {stated:5}", flush=True)


def main():
    moments = random.Random(SEED)
    for name, begin in (("drycrank run", start_run), ("drycrankd", start_daemon)):
        with tempfile.TemporaryDirectory() as folder:
            twins = Twins(pathlib.Path(folder))
            try:
                took = [kill(twins, begin, moments.uniform(0, 0.6)) for _ in range(KILLS)]
            finally:
                twins.end()
        table(name, took)
        for output, stated in STATED_MS.items():
            late = [one[output] for one in took if one[output] > stated + ROOM_MS]
            assert not late, f"seed {SEED}, {name}, {output}: {late} ms, stated {stated}"


main()
