#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""One owner per folder, recording and control socket: who comes second is refused, and what the first one has stays whole."""
import json
import os
import pathlib
import resource
import signal
import socket
import stat
import sys
import time
import unittest

from program_case import BENCH, DRYCRANK, HEALTHY, Case, drycrank


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
        self.assertEqual(self.end(first, signal.SIGHUP), 4)  # stopped; what is done is kept
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
        self.assertEqual(out.returncode, 2)
        self.assertIn("/proc/nowhere/control: there is no folder /proc/nowhere", out.stderr)
        out = self.refused_daemon("--socket", "/proc/control")
        self.assertEqual(out.returncode, 3)
        self.assertNotIn("boost", out.stderr)
        self.assertRegex(out.stderr, "/proc/control: [A-Z]")

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


unittest.main(argv=sys.argv[:1], verbosity=1)
