#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Nothing lost, nothing stuck: one owner per folder and socket, clean ends, and numbers that end nowhere."""
import json
import os
import pathlib
import resource
import signal
import socket
import stat
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


class Owners(Case):
    def test_a_refused_daemon_leaves_the_record_of_the_first(self):
        daemon = self.daemon("--out", str(self.out))
        self.wait_for(lambda: (self.out / "events.csv").stat().st_size > 1000)
        for other, whose in ((self.socket, "out is in use by process"), (self.socket + "2", "out is in use by process")):
            out = self.refused_daemon("--socket", other, "--out", str(self.out), "--overwrite")
            self.assertEqual(out.returncode, 2, out.stderr)
            self.assertIn(f"{whose} {daemon.pid} (drycrankd)", out.stderr)
        # Its own folder, the first one's socket: nothing of it is begun.
        out = self.refused_daemon("--socket", self.socket, "--out", str(self.tmp / "other"))
        self.assertEqual(out.returncode, 2, out.stderr)
        self.assertIn(f"another drycrankd answers there (process {daemon.pid})", out.stderr)
        self.assertFalse((self.tmp / "other").exists())
        self.assertEqual(self.end(daemon), 0)
        events = (self.out / "events.csv").read_bytes()
        self.assertTrue(events.startswith(b"0,step,0,live\n"))
        self.assertNotIn(b"\0", events)

    def test_of_three_runs_one_has_the_folder(self):
        first = self.running()
        for _ in range(2):
            out = drycrank("run", HEALTHY, "--out", str(self.out), "--overwrite")
            self.assertEqual(out.returncode, 2)
            self.assertIn(f"{self.out} is in use by process {first.pid} (drycrank)", out.stderr)
        self.end(first)
        # At once: whoever is second is refused, and the folder holds one whole record.
        runs = [self.start([DRYCRANK, "run", HEALTHY, "--out", str(self.tmp / "rr")]) for _ in range(3)]
        codes = sorted(run.wait(timeout=60) for run in runs)
        self.assertEqual(codes, [0, 2, 2])
        out = drycrank("judge", HEALTHY, "--record", str(self.tmp / "rr"))
        self.assertEqual(out.returncode, 0, out.stderr)

    def test_an_old_record_stays_until_the_new_one_is_there(self):
        self.assertEqual(drycrank("run", HEALTHY, "--out", str(self.out)).returncode, 0)
        before = {p: p.read_bytes() for p in self.out.rglob("*") if p.is_file()}
        # No file can be made longer than a few bytes: the new one cannot even begin.
        def small():
            resource.setrlimit(resource.RLIMIT_FSIZE, (64, 64))
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        out = drycrank("run", HEALTHY, "--out", str(self.out), "--overwrite", preexec_fn=small)
        self.assertIn(out.returncode, (2, 3), out.stderr)
        after = {p: p.read_bytes() for p in self.out.rglob("*") if p.is_file()}
        self.assertEqual(after, before)

    def test_a_second_campaign_is_refused(self):
        first = self.start([DRYCRANK, "campaign", BENCH, "--out", str(self.out)])
        self.wait_for(lambda: (self.out / "faults.jsonl").exists() and (self.out / "faults.jsonl").stat().st_size > 0)
        for more in ([], ["--overwrite"], ["--shard", "1/2"]):
            out = drycrank("campaign", BENCH, "--out", str(self.out), *more)
            self.assertEqual(out.returncode, 2, out.stdout + out.stderr)
            self.assertIn(f"{self.out} is in use by process {first.pid} (drycrank)", out.stderr)
        self.assertEqual(self.end(first, signal.SIGHUP), 3)  # stopped; what is done is kept
        lines = (self.out / "faults.jsonl").read_text()
        self.assertTrue(lines.endswith("\n"))
        faults = [json.loads(line)["index"] for line in lines.splitlines()]
        self.assertEqual(len(faults), len(set(faults)))

    def test_overwrite_does_not_take_a_walk_away(self):
        first = self.start([DRYCRANK, "walk", BENCH, "--real-time", "--out", str(self.out)])
        self.wait_for(lambda: (self.out / "record.json").exists())
        book = (self.out / "answers").read_bytes()
        for command in (["walk", BENCH], ["run", HEALTHY], ["campaign", BENCH]):
            out = drycrank(*command, "--out", str(self.out), "--overwrite")
            self.assertEqual(out.returncode, 2, out.stdout + out.stderr)
            self.assertIn(f"is in use by process {first.pid} (drycrank)", out.stderr)
        self.assertEqual((self.out / "answers").read_bytes(), book)
        self.end(first, signal.SIGHUP)

    def test_one_recording_has_one_writer(self):
        recording = str(self.tmp / "r.log")
        first = self.running("--recording", recording)
        out = drycrank("run", HEALTHY, "--recording", recording, "--overwrite")
        self.assertEqual(out.returncode, 2, out.stderr)
        self.assertIn("is being recorded by another process", out.stderr)
        self.end(first)


class ControlSocket(Case):
    def test_a_file_is_no_stale_socket(self):
        for make in (lambda p: p.write_text("dear"), lambda p: p.mkdir(), lambda p: p.symlink_to(BENCH)):
            place = self.tmp / "place"
            make(place)
            before = place.lstat()
            out = self.refused_daemon("--socket", str(place))
            self.assertEqual(out.returncode, 2, out.stderr)
            self.assertIn("stays as it is; give another --socket", out.stderr)
            self.assertEqual(place.lstat(), before)
            place.rmdir() if place.is_dir() and not place.is_symlink() else place.unlink()

    def test_a_stale_socket_is_replaced_and_a_live_one_is_not(self):
        with socket.socket(socket.AF_UNIX) as stale:
            stale.bind(self.socket)
        daemon = self.daemon()
        out = self.refused_daemon("--socket", self.socket)
        self.assertEqual(out.returncode, 2)
        self.assertTrue(self.tell("status")["ok"])
        self.assertEqual(self.end(daemon), 0)
        self.assertFalse(os.path.exists(self.socket))

    def test_what_took_its_place_is_not_deleted(self):
        daemon = self.daemon()
        os.rename(self.socket, self.socket + ".moved")
        pathlib.Path(self.socket).write_text("dear")
        self.assertEqual(self.end(daemon), 0)
        self.assertEqual(pathlib.Path(self.socket).read_text(), "dear")

    def test_a_path_that_is_too_long_is_said_without_a_library(self):
        out = self.refused_daemon("--socket", str(self.tmp / ("x" * 200)))
        self.assertEqual(out.returncode, 2)
        self.assertIn("a path has 1 to 107 bytes", out.stderr)
        out = self.refused_daemon("--socket", "/proc/nowhere/control")
        self.assertEqual(out.returncode, 3)
        self.assertNotIn("boost", out.stderr)
        self.assertIn("/proc/nowhere/control: No such file or directory", out.stderr)

    def test_it_is_for_its_user_alone(self):
        daemon = self.daemon(umask=0)
        self.assertEqual(stat.S_IMODE(os.stat(self.socket).st_mode), 0o600)
        self.assertEqual(self.end(daemon), 0)

    def test_tell_gives_up(self):
        with socket.socket(socket.AF_UNIX) as mute:
            mute.bind(self.socket)
            mute.listen(1)
            begun = time.monotonic()
            out = drycrank("tell", "--socket", self.socket, "status")
            self.assertEqual(out.returncode, 3)
            self.assertIn("gave no answer within 5 s", out.stderr)
            self.assertLess(time.monotonic() - begun, 30)

    def test_without_descriptors_it_waits_and_does_not_spin(self):
        daemon = self.daemon(preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (32, 32)))
        clients = []
        self.addCleanup(lambda: [client.close() for client in clients])

        def processor_s():
            words = pathlib.Path(f"/proc/{daemon.pid}/stat").read_text().rsplit(")", 1)[1].split()
            return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")

        def used_s():
            before = processor_s()
            time.sleep(2)
            return processor_s() - before
        alone = used_s()
        for _ in range(60):
            client = socket.socket(socket.AF_UNIX)
            client.connect(self.socket)
            clients.append(client)
        # The bench itself takes what it took before: a spinning loop takes all it can get besides.
        self.assertLess(used_s(), 2 * alone + 0.3)
        for client in clients:
            client.close()
        clients.clear()
        self.assertTrue(self.tell("status")["ok"])
        self.assertEqual(self.end(daemon), 0)


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
        sizes = {p: p.stat().st_size for p in self.out.iterdir()}
        self.wait_for(lambda: self.tell("status")["time_s"] > time_s + 2)
        self.assertEqual(self.end(daemon), 0)
        for path, size in sizes.items():
            self.assertLessEqual(path.stat().st_size, size + 100_000, path)
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


class Text(Case):
    def test_no_escape_of_a_file_reaches_the_terminal(self):
        path = self.tmp / "s.yaml"
        path.write_text(f"kind: scenario\nname: s\ntitle: \"\\e[2J\"\nbench: {BENCH}\n\"\\e[31mkey\": 1\n"
                        "steps: [{name: a, for_s: 1 s}]\n")
        out = drycrank("proofread", str(path))
        self.assertEqual(out.returncode, 2)
        self.assertIn("s.yaml:3:8: a text with a control character", out.stderr + out.stdout)
        self.assertNotIn("\x1b", out.stderr + out.stdout)


unittest.main(argv=sys.argv[:1], verbosity=1)
