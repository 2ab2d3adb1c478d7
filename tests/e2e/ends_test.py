#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Nothing stuck: each way to end and its reason, who drives and is gone, a full disk, and numbers that end nowhere."""
import json
import os
import resource
import signal
import socket
import subprocess
import sys
import time
import unittest

from program_case import BENCH, DRYCRANK, HEALTHY, Case, drycrank


class Numbers(Case):
    def test_minus_zero_does_not_hold_a_run_up(self):
        points = "{points: [[0 s, 900 rpm], [0.2 s, -0 rpm]]}"
        for name, speed in (("hold", "-0"), ("ramp", "{ramp: -0 rpm, over_s: 0.1 s}"), ("points", points)):
            path = self.tmp / f"{name}.yaml"
            path.write_text(f"kind: scenario\nname: {name}\nbench: {BENCH}\n"
                            f"steps: [{{name: stand, for_s: 1 s, drive: {{engine_speed: {speed}}}}}]\n"
                            "expect: [{name: there, kind: message_present, message: engine_fast, jitter_ms: 900 ms, means: there}]\n")
            out = drycrank("run", str(path), "--json", str(self.tmp / "report.json"))
            self.assertEqual(out.returncode, 0, name + out.stdout + out.stderr)
            self.assertEqual(json.loads((self.tmp / "report.json").read_text())["duration_ns"], 1_000_000_000)

    def test_minus_zero_does_not_hold_a_daemon_up(self):
        daemon = self.daemon()
        for words in ("set engine_speed 900 rpm", "set engine_speed -0", "ramp engine_speed -0 rpm in -0 s"):
            self.assertTrue(self.tell(words)["ok"], words)
        first = self.tell("status")["time_s"]
        self.wait_for(lambda: self.tell("status")["time_s"] > first + 0.05)
        self.assertEqual(self.end(daemon), 0)


class SecondSignal(Case):
    def test_a_signal_while_it_ends_changes_nothing(self):
        """Of 36 daemons ten died of it; their record was whole."""
        for i in range(30):
            daemon = self.daemon("--out", str(self.tmp / f"r{i}"))
            for how, gap_s in ((signal.SIGTERM, 0.0003 * (i % 10)), (signal.SIGTERM, 0.004), (signal.SIGINT, 0)):
                if daemon.poll() is None:
                    daemon.send_signal(how)
                time.sleep(gap_s)
            daemon.communicate(timeout=20)
            self.assertEqual(daemon.returncode, 0, f"round {i}")


class ServiceManager(Case):
    """One of the test's own, as sd_notify(3) of systemd 252 describes it."""

    def setUp(self):
        super().setUp()
        self.manager = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.addCleanup(self.manager.close)
        self.manager.bind(str(self.tmp / "notify"))
        self.manager.settimeout(20)

    def watched_daemon(self, **more):
        return self.daemon(env={**os.environ, "NOTIFY_SOCKET": str(self.tmp / "notify"), **more})

    def heard(self):
        return self.manager.recv(4096).decode().split("\n")

    def test_it_hears_ready_life_and_the_end(self):
        daemon = self.watched_daemon(WATCHDOG_USEC="200000")
        self.assertIn("READY=1", self.heard())
        for _ in range(5):
            self.assertEqual(self.heard(), ["WATCHDOG=1"])
        self.assertEqual(self.end(daemon), 0)
        self.manager.settimeout(0)
        said = []
        while not said or "STOPPING=1" not in said[-1]:
            said.append(self.heard())
        self.assertEqual(said[-1], ["STOPPING=1", "STATUS=stopped by TERM"])

    def test_it_hears_no_life_of_one_that_stands_still(self):
        daemon = self.watched_daemon(WATCHDOG_USEC="200000")
        self.assertIn("READY=1", self.heard())
        self.assertEqual(self.heard(), ["WATCHDOG=1"])
        daemon.send_signal(signal.SIGSTOP)
        self.manager.settimeout(1)
        with self.assertRaises(TimeoutError):
            for _ in range(10):  # what was on its way
                self.heard()
        daemon.send_signal(signal.SIGCONT)
        self.manager.settimeout(20)
        self.assertEqual(self.heard(), ["WATCHDOG=1"])
        self.assertEqual(self.end(daemon), 0)

    def test_without_a_watchdog_it_hears_begin_and_end_alone(self):
        daemon = self.watched_daemon()
        self.assertIn("READY=1", self.heard())
        time.sleep(0.5)
        self.assertEqual(self.end(daemon), 0)
        self.assertIn("STOPPING=1", self.heard())


class DeadMan(Case):
    def coolant(self):
        return self.tell("status")["stimuli"]["coolant_temperature"]["value"]

    def holding(self, *more):
        process = self.start([DRYCRANK, "tell", "--socket", self.socket, "set coolant_temperature 90 °C", *more])
        self.assertIn('"ok":true', process.stdout.readline())
        self.assertEqual(self.coolant(), 90)
        return process

    def test_a_drive_holds_while_its_client_stays(self):
        daemon = self.daemon()
        at_rest = self.coolant()
        self.assertNotEqual(at_rest, 90)
        for how, code in ((signal.SIGINT, 0), (signal.SIGTERM, 0), (signal.SIGHUP, 0), (signal.SIGKILL, -signal.SIGKILL)):
            self.assertEqual(self.end(self.holding(), how), code)
            self.wait_for(lambda: self.coolant() == at_rest)
        client = self.holding("--for", "3 s")
        self.assertEqual(client.wait(timeout=20), 0)
        self.wait_for(lambda: self.coolant() == at_rest)
        client = self.holding()
        self.assertEqual(self.end(daemon), 0)
        self.assertEqual(client.wait(timeout=20), 3)
        self.assertIn("drycrankd has ended", client.stderr.read())

    def test_what_is_left_goes_on_to_the_longest_drive(self):
        self.daemon("--longest-drive", "1")
        at_rest = self.coolant()
        out = drycrank("tell", "--socket", self.socket, "set coolant_temperature 90 °C", "--leave")
        self.assertEqual(out.returncode, 0)
        self.wait_for(lambda: self.coolant() == at_rest)

    def test_for_and_leave_are_checked(self):
        for words in (["status", "--leave"], ["set coolant_temperature 90 °C", "--for", "x"],
                      ["set coolant_temperature 90 °C", "--for", "1", "--leave"]):
            self.assertEqual(drycrank("tell", "--socket", self.socket, *words).returncode, 2, words)


class Disk(Case):
    def test_a_record_that_is_taken_away_is_told_at_once(self):
        daemon = self.daemon("--out", str(self.out))
        self.assertEqual(self.tell("status")["record"]["trouble"], "")
        for path in sorted(self.out.rglob("*"), reverse=True):
            path.rmdir() if path.is_dir() else path.unlink()
        self.out.rmdir()
        self.wait_for(lambda: "was removed" in self.tell("status")["record"]["trouble"])
        self.assertIn("not recorded any more: ", daemon.stdout.readline())
        self.assertEqual(self.end(daemon), 3)

    def test_a_full_disk_is_told_at_once(self):
        def small():
            resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        daemon = self.daemon("--out", str(self.out), preexec_fn=small)
        self.tell("set engine_speed 3000 rpm")
        self.wait_for(lambda: "File too large" in self.tell("status")["record"]["trouble"])
        self.assertEqual(self.end(daemon), 3)
        run = self.start([DRYCRANK, "run", self.endless(), "--real-time", "--out", str(self.tmp / "run")], preexec_fn=small)
        self.assertIn("not recorded any more: ", run.stderr.readline())
        self.end(run)


class Kept(Case):
    def test_status_has_bytes_rate_and_what_is_left(self):
        self.assertEqual(self.daemon().poll(), None)
        self.assertEqual(self.tell("status")["record"]["folder"], "")
        self.socket += "2"
        daemon = self.daemon("--out", str(self.out))
        self.wait_for(lambda: self.tell("status")["record"]["bytes_per_hour"] > 0)
        record = self.tell("status")["record"]
        self.assertEqual(record["folder"], str(self.out))
        on_disk = sum(p.stat().st_size for p in self.out.iterdir() if p.is_file())
        self.assertLessEqual(record["bytes"], on_disk)
        disk = os.statvfs(self.out)
        self.assertLess(abs(record["disk_left_bytes"] - disk.f_bavail * disk.f_frsize), 2_000_000_000)
        # At least ten frames a second of twenty bytes, at most what two cores can write.
        self.assertTrue(3600 * 200 < record["bytes_per_hour"] < 3600 * 50_000_000, record)
        self.assertEqual(self.end(daemon), 0)

    def test_a_record_ends_at_its_limit_and_the_run_goes_on(self):
        daemon = self.daemon("--out", str(self.out), "--out-most", "200kB")
        self.tell("set engine_speed 3000 rpm")
        self.wait_for(lambda: self.tell("status")["record"]["ended"])
        self.assertIn("the record has reached 200 kB (--out-most) and ends here", daemon.stdout.readline())
        time_s = self.tell("status")["time_s"]
        self.wait_for(lambda: self.tell("status")["time_s"] > time_s + 1)  # what was under way to the disk
        sizes = {p: p.stat().st_size for p in self.out.iterdir()}
        self.wait_for(lambda: self.tell("status")["time_s"] > time_s + 3)
        self.assertEqual(self.end(daemon), 0)
        self.assertIn("edges.bin", [p.name for p in sizes])
        self.assertEqual({p: p.stat().st_size for p in sizes}, sizes)
        lines = (self.out / "events.csv").read_text().splitlines()
        self.assertTrue(lines[-1].endswith(",end,the record has reached 200 kB (--out-most)"), lines[-1])
        self.assertEqual([line for line in lines if ",end," in line], lines[-1:])

    def test_the_end_says_why(self):
        for how in (signal.SIGINT, signal.SIGTERM):
            self.out = self.tmp / how.name
            self.end(self.running(), how)
            self.assertTrue((self.out / "events.csv").read_text().endswith(f",end,stopped by {how.name[3:]}\n"))
        self.assertEqual(drycrank("run", HEALTHY, "--out", str(self.tmp / "whole")).returncode, 0)
        self.assertTrue((self.tmp / "whole/events.csv").read_text().endswith(",end,finished\n"))


class LiveJudged(Case):
    def expected(self):
        path = self.tmp / "expected.yaml"
        path.write_text(f"kind: scenario\nname: expected\nbench: {BENCH}\nsteps: [{{name: idle, for_s: 1 s}}]\n"
                        "expect:\n"
                        "  - {name: coolant, kind: follows, signal: engine_temps.coolant, stimulus: coolant_temperature,\n"
                        "     tolerance: 2 K, settle_s: 0.8 s, proves: [coolant_signal], means: a}\n"
                        "  - {name: at_idle, kind: follows, signal: engine_temps.coolant, stimulus: coolant_temperature,\n"
                        "     tolerance: 2 K, settle_s: 0.8 s, during: [idle], means: b}\n")
        return str(path)

    def judge(self):
        out = drycrank("judge", self.expected(), "--record", str(self.out), "--json", str(self.tmp / "judged.json"))
        return out, json.loads((self.tmp / "judged.json").read_text())

    def test_what_a_daemon_was_told_is_its_scenario(self):
        daemon = self.daemon("--out", str(self.out))
        for words, wait_s in (("set coolant_temperature 90 °C", 2), ("ramp coolant_temperature 40 °C in 1 s", 2.5),
                              ("set engine_speed 900 rpm", 1)):
            self.assertTrue(self.tell(words)["ok"])
            time.sleep(wait_s)
        self.assertTrue(self.tell("stop")["ok"])
        self.assertEqual(daemon.wait(timeout=20), 0)
        events = (self.out / "events.csv").read_text()
        self.assertTrue(events.endswith(",end,stopped by request\n"))
        self.assertEqual([line.split(",")[2:] for line in events.splitlines() if ",drive," in line],
                         [["coolant_temperature", "90", "0"], ["coolant_temperature", "40", "1"], ["engine_speed", "900", "0"]])
        out, report = self.judge()
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        self.assertEqual([step["name"] for step in report["steps"]],
                         ["live", "1: coolant_temperature 90 degC", "2: coolant_temperature 40 degC in 1 s", "3: engine_speed 900 rpm"])
        self.assertIn("at_idle is left out: it is for step idle", out.stdout)
        # Its twin: had 60 degC been told, the same frames would be wrong.
        (self.out / "events.csv").write_text(events.replace("drive,coolant_temperature,90,0", "drive,coolant_temperature,60,0"))
        out, report = self.judge()
        self.assertEqual(out.returncode, 1, out.stdout + out.stderr)


class Hangup(Case):
    def test_it_ends_a_daemon_as_sigterm_does(self):
        self.assertEqual(self.end(self.daemon(), signal.SIGHUP), 0)
        self.assertFalse(os.path.exists(self.socket))

    def test_it_ends_a_run_cleanly_and_nohup_keeps_it_going(self):
        run = self.running()
        stopped = self.end(run, signal.SIGHUP)
        self.assertGreater(stopped, 0)  # it says so itself
        self.assertTrue((self.out / "events.csv").read_text().endswith(",end,stopped by HUP\n"))
        kept = self.running("--overwrite", preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN))
        kept.send_signal(signal.SIGHUP)
        with self.assertRaises(subprocess.TimeoutExpired):
            kept.wait(timeout=1)
        self.end(kept)


unittest.main(argv=sys.argv[:1], verbosity=1)
