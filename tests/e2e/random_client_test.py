#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A client that asks a live bench for anything: every request is answered or refused, time goes on, memory does not grow.

    random_client_test.py DRYCRANKD PROFILES [REQUESTS [MOST_MS]]

REQUESTS (1000) in all, shared among two benches, from a seeded generator: values, ramps and faults of every kind with every
special number, text that is none, and clients that leave in the middle. A reply that takes longer than MOST_MS fails; the
default, 5000, only tells a hang, since other work on the machine counts too. What was measured is printed.
"""
import json
import os
import pathlib
import random
import re
import signal
import socket
import subprocess
import sys
import tempfile
import time
import unittest

import yaml

DRYCRANKD, PROFILES = map(os.path.abspath, sys.argv[1:3])
REQUESTS = int(sys.argv[3]) if len(sys.argv) > 3 else 1000
MOST_MS = float(sys.argv[4]) if len(sys.argv) > 4 else 5000
BENCHES = ["hill_climb", "kart"]
MOST_GROWTH_KB = 4096
MOST_FAULTS = 100  # in force at once, as hw-notes and the refusal say

# No number, the ends of double (IEEE 754-2019, table 3.5), zeros with a sign, and what a fitter may mean.
NUMBERS = ["nan", "-nan", "inf", "-inf", ".inf", ".NaN", "NaN", "0", "-0", "-0.0", "+0", "-0e9", "1e308", "-1e308", "1.8e308", "1e999",
           "5e-324", "-5e-324", "2.2e-308", "1e-400", "1e300", "9e15", "9223372036854775807", "18446744073709551616", "1", "-1", "900",
           "20000", "19999.9999", "0x10", "1e", '""', "''", "--1", "1e12", "1e-12", "6000", "90", "3.3", "~", "true", "9" * 400]
UNITS = ["", "", "", " rpm", " degC", " K", " kPa", " psi", " V", " s", " ms", " h", " ohm", " kohm", " %", " deg", " furlong"]
SCHEMA = json.loads(pathlib.Path(PROFILES, "schema/scenario.schema.json").read_text())
KINDS = SCHEMA["$defs"]["fault"]["properties"]["kind"]["enum"]
PLAIN = ["0.5", "1", "3", "20", "90", "900", "3500"]
KEYS = ["ohm", "volts", "deg", "value", "tooth", "factor", "early_ms", "every", "by", "id", "length_bytes", "period_ms", "gain",
        "scale", "offset", "start_bit", "from_s", "to_s"]
# What belongs to a kind, hw-notes/keys.md: the section of the place, and the keys that it wants. The others take any place and keys.
FORMS = {"open": ("terminal", []), "short_to_ground": ("terminal", ["ohm"]), "short_to_supply": ("terminal", ["ohm"]),
         "short_together": ("terminal", ["with", "ohm"]), "series_resistance": ("terminal", ["ohm"]),
         "leakage": ("terminal", ["ohm"]), "terminals_swapped": ("terminal", ["with"]), "ground_offset": ("terminal", ["volts"]),
         "supply_off": ("supplies", ["volts"]), "not_fitted": ("sensors", []), "wheel_offset": ("triggers", ["deg"]),
         "tooth_missing": ("triggers", ["tooth"]), "sensor_offset": ("sensors", ["value"]), "sensor_stuck": ("sensors", ["value"]),
         "message_missing": ("messages", []), "message_late": ("messages", ["factor"]),
         "message_early": ("messages", ["early_ms", "every"]), "message_doubled": ("messages", []),
         "identifier_wrong": ("messages", ["id"]), "length_wrong": ("messages", ["length_bytes"]), "value_frozen": ("messages", [])}


def resident_kb(process):
    return int(re.search(r"VmRSS:\s+(\d+)", pathlib.Path(f"/proc/{process.pid}/status").read_text())[1])


def mapping(path):
    """A bench file with its messages in place."""
    read = yaml.safe_load(path.read_text())
    read["messages"] = {}
    for bus in read["buses"].values():
        part = yaml.safe_load((path.parent / bus["include"]).read_text()) if "include" in bus else bus
        read["messages"].update(part["messages"])
    return read


class Requests:
    """Lines of bytes, without their end."""

    def __init__(self, bench, stimuli):
        self.random = random.Random(11)
        path = pathlib.Path(PROFILES, f"benches/{bench}.yaml")
        read = mapping(path)
        self.places = {section: sorted(read[section]) for section in ("supplies", "sensors", "triggers", "messages")}
        self.places["terminal"] = sorted(set(re.findall(r"\b[A-Z]\w*\.\d+\b", path.read_text())))
        self.stimuli = stimuli

    def number(self):
        return self.random.choice(PLAIN) if self.random.random() < 0.4 else self.random.choice(NUMBERS) + self.random.choice(UNITS)

    def stimulus(self):
        return self.random.choice(self.stimuli)

    def drive(self):
        words = (f"set {self.stimulus()} {self.number()}" if self.random.random() < 0.5
                 else f"ramp {self.stimulus()} {self.number()} in {self.number()}")
        return ("leave " if self.random.random() < 0.3 else "") + words

    def fault(self):
        kind = self.random.choice(KINDS)
        section, keys = FORMS.get(kind, (self.random.choice(list(self.places)), self.random.sample(KEYS, self.random.randrange(3))))
        if self.random.random() < 0.2:
            keys = keys + [self.random.choice(KEYS)]
        pairs = [("name", f"f{self.random.randrange(5)}"), ("kind", kind), ("at", self.random.choice(self.places[section]))]
        pairs += [(key, self.random.choice(self.places[section]) if key == "with" else self.number()) for key in keys]
        return "fault {" + ", ".join(f"{key}: {value}" for key, value in pairs) + "}"

    def junk(self):
        size = self.random.choice([0, 1, 7, 60, 4095, 4096])
        return bytes(self.random.choice(b"\0\t\r\x1b\xff\xc3{}[]:,&*!|> aset019.-") for _ in range(size))

    def next(self):
        kind = self.random.randrange(20)
        line = (self.drive() if kind < 8 else self.fault() if kind < 14 else f"clear f{self.random.randrange(6)}" if kind < 16
                else self.random.choice(["status", "help", "arm can0 by Kim", "arm", "status please", "set", "ramp x in", "fault {",
                                         "fault &a [*a, *a]", "fault {a: &x {b: *x}}", "fault " + "[" * 4000]) if kind < 19
                else self.junk())
        return line if isinstance(line, bytes) else line.encode()


class RandomClient(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.path = f"{folder.name}/control"

    def begin(self, bench):
        self.process = subprocess.Popen([DRYCRANKD, f"{PROFILES}/benches/{bench}.yaml", "--socket", self.path],
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.addCleanup(self.process.communicate)
        self.addCleanup(self.process.kill)
        self.assertIn("is live", self.process.stdout.readline())
        self.client = self.connect()

    def connect(self):
        client = socket.socket(socket.AF_UNIX)
        client.settimeout(60)
        client.connect(self.path)
        self.addCleanup(client.close)
        return client

    def ask(self, line):
        begun = time.monotonic()
        self.client.sendall(line + b"\n")
        reply = b""
        while not reply.endswith(b"\n"):
            piece = self.client.recv(65536)
            self.assertTrue(piece, f"hung up on {line[:80]}")
            reply += piece
        self.times_ms.append(1000 * (time.monotonic() - begun))
        self.assertLess(self.times_ms[-1], MOST_MS, line[:200])
        return json.loads(reply)

    def leave_in_the_middle(self, line):
        """Half a request, or a reply that nobody reads; then another client."""
        self.client.sendall(line[:len(line) // 2] + b"\n" * (len(line) % 2))
        self.client.close()
        self.client = self.connect()

    def a_line_without_end(self):
        self.client.sendall(b"set " + b"9" * 9000)
        self.assertIn(b"longer than 4096 bytes", self.client.recv(65536))
        self.client.close()
        self.client = self.connect()

    def converse(self, bench, count):
        self.times_ms = []
        self.begin(bench)
        requests = Requests(bench, list(self.ask(b"status")["stimuli"]))
        answered = refused = grown_from_kb = last_s = 0
        for i in range(count):
            line = requests.next()
            time.sleep(requests.random.uniform(0, 0.005))  # the bench goes on between them
            reply = self.ask(line)
            self.assertIn(reply["ok"], (True, False), line)
            self.assertTrue(reply["ok"] or reply["problem"], line)
            answered, refused = answered + reply["ok"], refused + (not reply["ok"])
            if line == b"status":
                self.assertGreaterEqual(reply["time_s"], last_s)
                last_s = reply["time_s"]
            if i % 50 == 17:
                self.leave_in_the_middle(line)
            if i % 500 == 250:
                self.a_line_without_end()
            if i == count // 3:
                grown_from_kb = resident_kb(self.process)
        time.sleep(0.1)
        self.assertGreater(self.ask(b"status")["time_s"], last_s)
        grown_kb = resident_kb(self.process) - grown_from_kb
        self.process.send_signal(signal.SIGTERM)
        self.assertEqual(self.process.wait(timeout=60), 0)
        times = sorted(self.times_ms)
        print(f"{bench}: {count} requests, {answered} answered, {refused} refused; ms: half {times[len(times) // 2]:.2f}, 99 % "
              f"{times[len(times) * 99 // 100]:.2f}, longest {times[-1]:.1f}, {sum(t > 200 for t in times)} over 200; "
              f"{grown_from_kb} kB, {grown_kb:+} kB after the first third", flush=True)
        self.assertGreater(answered, count / 10)
        self.assertGreater(refused, count / 10)
        self.assertLess(grown_kb, MOST_GROWTH_KB)

    def test_each_is_answered_or_refused(self):
        for bench in BENCHES:
            self.converse(bench, REQUESTS // len(BENCHES))

    def test_faults_do_not_pile_up(self):
        self.times_ms = []
        self.begin("hill_climb")
        for i in range(MOST_FAULTS):
            self.assertTrue(self.ask(f"fault {{name: fault_{i}, kind: series_resistance, at: CLT.1, ohm: {i + 1}}}".encode())["ok"])
        one_more = self.ask(b"fault {name: more, kind: open, at: CLT.1}")
        self.assertIn("100 faults are in force", one_more["problem"])
        self.assertTrue(self.ask(b"fault {name: fault_7, kind: open, at: CLT.1}")["ok"])  # in the place of another
        self.assertTrue(self.ask(b"clear fault_8")["ok"])
        self.assertTrue(self.ask(b"fault {name: more, kind: open, at: CLT.1}")["ok"])
        print(f"with {MOST_FAULTS} faults: longest {max(self.times_ms):.1f} ms", flush=True)


unittest.main(argv=sys.argv[:1], verbosity=1)
