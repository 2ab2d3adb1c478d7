#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""`drycrankd --outputs`: armed at its begin or by its API, held by who armed it, safe when that one is gone.

    daemon_outputs_test.py DRYCRANKD DRYCRANK [unittest options]

A potentiometer and a DAC are files in a folder as the kernel lays it out. What must stand there is reckoned here:
ohm of the thermistor are rows of a published table (tests/reference/temp_ntc.yaml, ntc_10k_curve), volts a straight line.
"""
import ctypes
import datetime
import json
import os
import pathlib
import signal
import socket
import struct
import subprocess
import sys
import tempfile
import time
import unittest

DRYCRANKD, DRYCRANK = (str(pathlib.Path(word).resolve()) for word in sys.argv[1:3])
OHM = {25: 10000, 0: 32650.9, -10: 55303.9}
SAFE_POT, SAFE_DAC = 9999, 1000
SCHED_GETATTR = {"x86_64": 315, "aarch64": 275}.get(os.uname().machine, 0)
KERNEL = tuple(int(part) for part in os.uname().release.split("-")[0].split(".")[:2])
BENCH = """
kind: bench
name: live_outputs
engine: {firing_order: [1], compression_ripple: 0}
stimuli:
  coolant_temperature: {unit: degC, initial: 25, min: -40, max: 140}
  boost_pressure: {unit: kPa, initial: 100, min: 0, max: 400}
supplies: {battery: {plus: BAT.1, minus: BAT.2, voltage_v: 12.5}}
connectors: {BAT: {pins: 2}, ALL: {pins: 5}}
sensors:
  coolant: {measures: coolant_temperature, kind: ntc, steinhart_hart: {a: 1.129148e-3, b: 2.34125e-4, c: 8.76741e-8}, plus: ALL.1, minus: ALL.2}
  boost: {measures: boost_pressure, kind: ratiometric, low_value: 0, high_value: 400, supply: ALL.3, ground: ALL.4, signal: ALL.5}
drives:
  ohms:
    kind: potentiometer
    channels:
      coolant: {device: FOLDER/pot, channel: resistance0, at_lowest_ohm: 0, at_highest_ohm: 60000, lowest_count: 1000, highest_count: 9999}
  volts:
    kind: dac
    channels:
      boost: {device: FOLDER/dac, channel: voltage0, at_lowest_v: 0, at_highest_v: 5, lowest_count: 1000, highest_count: 9999}
"""


def ohm_count(degrees):
    return round(1000 + OHM[degrees] / 60000 * 8999)


def boost_count(kpa):
    return round(1000 + (0.1 + 0.8 * kpa / 400) * 8999)


class Client:
    def __init__(self, path):
        self.line = socket.socket(socket.AF_UNIX)
        self.line.connect(str(path))

    def ask(self, request):
        self.line.sendall(request.encode() + b"\n")
        answer = b""
        while not answer.endswith(b"\n"):
            answer += self.line.recv(4096)
        return json.loads(answer)

    def close(self):
        self.line.close()


class DaemonOutputs(unittest.TestCase):
    def setUp(self):
        holder = tempfile.TemporaryDirectory()
        self.addCleanup(holder.cleanup)
        self.folder = pathlib.Path(holder.name)
        for name, channel in (("pot", "resistance0"), ("dac", "voltage0")):
            (self.folder / name).mkdir()
            (self.folder / name / f"out_{channel}_raw").write_text("5555")
        (self.folder / "bench.yaml").write_text(BENCH.replace("FOLDER", str(self.folder)))

    def counts(self):
        texts = [(self.folder / path).read_text() for path in ("pot/out_resistance0_raw", "dac/out_voltage0_raw")]
        return tuple(int(text) if len(text) == 4 else None for text in texts)

    def wait(self, wanted, seconds=20):
        end = time.monotonic() + seconds
        while self.counts() != wanted:
            self.assertLess(time.monotonic(), end, f"{self.counts()}, not {wanted}")
            time.sleep(0.005)

    def start(self, *options, before=()):
        self.process = subprocess.Popen(
            [*before, DRYCRANKD, self.folder / "bench.yaml", "--socket", self.folder / "s", "--outputs", "--out", self.folder / "out",
             *options], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        self.addCleanup(self.process.stdout.close)
        self.addCleanup(self.process.wait)
        self.addCleanup(self.process.kill)
        for line in self.process.stdout:
            if "is live" in line:
                return self.client()
        return self.fail("it ended")

    def client(self):
        client = Client(self.folder / "s")
        self.addCleanup(client.close)
        return client

    def test_armed_by_its_api_it_is_held_by_who_armed_it(self):
        first = self.start("--disarmed")
        time.sleep(0.3)
        self.assertEqual(self.counts(), (5555, 5555), "nothing moves")
        refused = first.ask("arm ohms by Kim")
        self.assertFalse(refused["ok"])
        self.assertIn("not named: what would be driven is ohms", refused["problem"])
        self.assertTrue(any("digital potentiometers" in line for line in refused["outputs"]), refused)
        self.assertTrue(any("kill" in line for line in refused["cautions"]), refused)
        self.assertTrue(any("sensor 'boost' (it gives 0 to 5 V; safe: 0 V)" in line for line in refused["outputs"]), refused)
        self.assertEqual(self.counts(), (5555, 5555))
        unknown = first.ask("arm ohms,volts,blah by Kim")
        self.assertFalse(unknown["ok"])
        self.assertIn("there is no hardware 'blah' here, and nothing was armed; there is: ohms, volts", unknown["problem"])
        time.sleep(0.2)
        self.assertEqual(self.counts(), (5555, 5555))
        began = datetime.datetime.now(datetime.timezone.utc).replace(microsecond=0)
        for person in ("Kim", "Lee"):  # a second time, too
            armer, driver = self.client(), self.client()
            self.assertEqual(armer.ask(f"arm ohms,volts by {person}")["armed"], "ohms, volts")
            self.wait((ohm_count(25), boost_count(100)))
            self.assertTrue(driver.ask("set coolant_temperature 0")["ok"])
            self.assertTrue(driver.ask("set boost_pressure 300")["ok"])
            self.wait((ohm_count(0), boost_count(300)))
            # Who drives is gone: what it drove ends, and it stays armed. Who armed is gone: all is safe.
            driver.close()
            self.wait((ohm_count(25), boost_count(100)))
            armer.close()
            self.wait((SAFE_POT, SAFE_DAC))
            self.assertTrue(first.ask("set coolant_temperature 0")["ok"])
            time.sleep(0.2)
            self.assertEqual(self.counts(), (SAFE_POT, SAFE_DAC), "and stays so")
            self.assertTrue(first.ask("set coolant_temperature 25")["ok"])
        first.ask("stop")
        self.assertEqual(self.process.wait(30), 0)
        events = (self.folder / "out/events.csv").read_text()
        for words in ("ohms, volts armed by Kim", "ohms, volts armed by Lee", "disarmed, for who armed them is gone"):
            self.assertIn(words, events)
        head = json.loads((self.folder / "out/record.json").read_text())
        times = self.check_armed(head["armed"], "Kim") + self.check_armed(*head["armed_again"], "Lee")
        self.assertEqual(times, sorted(times))
        self.assertLessEqual(began, times[0])
        self.assertLessEqual(times[1], datetime.datetime.now(datetime.timezone.utc))

    def check_armed(self, armed, person):
        """As a run writes it; its time as a list."""
        self.assertEqual(set(armed), {"what", "by", "at"})
        self.assertEqual(armed["by"], person)
        self.assertEqual([(each["name"], each["kind"]) for each in armed["what"]],
                         [("ohms", "potentiometer"), ("volts", "dac")])
        self.assertTrue(all("sensor '" in each["way"] for each in armed["what"]), armed)
        return [datetime.datetime.strptime(armed["at"], "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=datetime.timezone.utc)]

    def test_tell_holds_what_it_armed(self):
        self.start("--disarmed")
        tell = subprocess.Popen([DRYCRANK, "tell", "--socket", self.folder / "s", "arm", "ohms,volts", "by", "Kim"],
                                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self.addCleanup(tell.kill)
        self.wait((ohm_count(25), boost_count(100)))
        tell.send_signal(signal.SIGKILL)
        tell.wait()
        self.wait((SAFE_POT, SAFE_DAC))

    def test_armed_at_its_begin_it_is_safe_at_its_end(self):
        client = self.start("--arm", "ohms,volts", "--by", "tester")
        self.wait((ohm_count(25), boost_count(100)))
        self.assertTrue(client.ask("set coolant_temperature -10")["ok"])
        self.wait((ohm_count(-10), boost_count(100)))
        self.process.send_signal(signal.SIGTERM)
        self.wait((SAFE_POT, SAFE_DAC))
        self.assertEqual(self.process.wait(30), 0)
        self.assertIn("tester", (self.folder / "out/record.json").read_text())

    def test_what_it_does_not_give_is_refused(self):
        client = self.start("--arm", "ohms,volts", "--by", "tester")
        self.wait((ohm_count(25), boost_count(100)))
        refused = client.ask("set coolant_temperature -40")
        self.assertFalse(refused["ok"])
        self.assertIn("this potentiometer gives 0 to 6e+04", refused["problem"])
        for fault in ("{kind: supply_off, at: battery, volts: -3}", "{kind: not_fitted, at: coolant}"):
            refused = client.ask(f"fault {fault}")
            self.assertFalse(refused["ok"])
            self.assertIn("does not reach the outputs", refused["problem"])
        self.assertEqual(self.counts(), (ohm_count(25), boost_count(100)))

    def children(self):
        return [int(pid) for pid in
                pathlib.Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text().split()]

    def test_without_its_guard_it_ends(self):
        self.start("--arm", "ohms,volts", "--by", "tester")
        self.wait((ohm_count(25), boost_count(100)))
        self.assertEqual(len(self.children()), 2)
        os.kill(self.children()[0], signal.SIGKILL)
        self.wait((SAFE_POT, SAFE_DAC))
        said = self.process.stdout.read()
        self.assertEqual(self.process.wait(30), 3, said)
        self.assertIn("its guard is gone; without it nothing is driven", said)

    def threads(self, process):
        for folder in pathlib.Path(f"/proc/{process}/task").iterdir():
            thread = int(folder.name)
            attributes = ctypes.create_string_buffer(48)  # struct sched_attr, sched_setattr(2)
            self.assertEqual(ctypes.CDLL(None).syscall(SCHED_GETATTR, thread, attributes, 48, 0), 0)
            _, policy, _, nice, _, runtime, _, _ = struct.unpack("IIQiIQQQ", attributes.raw)
            yield policy, nice, runtime

    def started_nice(self, *before):
        """All threads of the owner, and those of its guards. Not armed: so nice, a busy computer may starve it."""
        self.start("--disarmed", before=("nice", "-n", "15", *before))
        return list(self.threads(self.process.pid)), [each for guard in self.children() for each in self.threads(guard)]

    # A killed owner is gone when its last thread has had its turn, and only then its guard acts.
    @unittest.skipUnless(os.geteuid() == 0, "needs root")
    def test_with_rights_niceness_keeps_nobody_waiting(self):
        owner, guards = self.started_nice()
        self.assertTrue(all(policy == os.SCHED_FIFO for policy, _, _ in guards), guards)
        self.assertTrue(all(policy == os.SCHED_FIFO or nice <= 0 for policy, nice, _ in owner), owner)

    @unittest.skipUnless(KERNEL >= (6, 12) and os.geteuid() == 0, "needs slices of the kernel, and root to have fewer rights")
    def test_without_rights_its_slices_are_short(self):
        owner, guards = self.started_nice("setpriv", "--bounding-set", "-sys_nice")
        nice = min(19, os.nice(0) + 15)  # "nice -n 15" adds to what this test itself has
        self.assertEqual(set(owner + guards), {(os.SCHED_OTHER, nice, 100_000)})

    def why_disarmed(self, end, word):
        """Who armed it lives on."""
        client = self.start("--disarmed")
        self.assertTrue(client.ask("arm ohms,volts by Kim")["ok"])
        self.wait((ohm_count(25), boost_count(100)))
        end()
        self.process.wait(30)
        events = (self.folder / "out/events.csv").read_text()
        self.assertIn("outputs: disarmed, " + word, events)
        self.assertNotIn("who armed them is gone", events)

    def test_disarmed_for_its_guard_is_gone(self):
        self.why_disarmed(lambda: os.kill(self.children()[0], signal.SIGKILL), "for one of them failed: its guard is gone")

    def test_disarmed_for_it_was_asked_to_end(self):
        self.why_disarmed(lambda: self.process.send_signal(signal.SIGTERM), "for the bench ends")

    def refused(self, code, word, *options):
        done = subprocess.run([DRYCRANKD, self.folder / "bench.yaml", "--socket", self.folder / "s", *options],
                              stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=60)
        self.assertEqual(done.returncode, code, done.stderr)
        self.assertIn(word, done.stderr)
        self.assertEqual(self.counts(), (5555, 5555))

    def test_unarmed_nothing_moves(self):
        self.refused(2, "is not armed", "--outputs")
        self.refused(2, "can kill", "--outputs")
        self.refused(2, "--outputs", "--disarmed")
        bench = self.folder / "bench.yaml"
        bench.write_text(bench.read_text().replace("60000", "9000"))
        self.refused(2, "this potentiometer gives 0 to 9000", "--outputs", "--arm", "ohms,volts", "--by", "tester")
        bench.write_text(BENCH.replace("FOLDER", "/nowhere"))
        self.refused(3, "/nowhere/pot", "--outputs", "--arm", "ohms,volts", "--by", "tester")
        at = BENCH.split("\n").index("  ohms:") + 1
        self.refused(3, f"bench.yaml:{at}:3); nothing was driven", "--outputs", "--arm", "ohms,volts", "--by", "tester")


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[3:])
