#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Killed at any moment, and a disk that is full at any write: nothing committed lost, no half line, taken up again.

    faults_survived_test.py DRYCRANK DRYCRANKD PROFILES [KILLS [TEST...]]

KILLS (8) of each of run, daemon, walk and campaign: a quarter each by TERM, INT, HUP and KILL, at moments from a
seeded generator. The figures of each are printed.
"""
import json
import os
import pathlib
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest

DRYCRANK, DRYCRANKD, PROFILES = map(os.path.abspath, sys.argv[1:4])
KILLS = int(sys.argv[4]) if len(sys.argv) > 4 else 8
HEALTHY = f"{PROFILES}/scenarios/hill_climb/healthy.yaml"
BENCH = f"{PROFILES}/benches/hill_climb.yaml"
KART = f"{PROFILES}/benches/kart.yaml"
SIGNALS = [signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGKILL]
NAMES = {signal.SIGTERM: "TERM", signal.SIGINT: "INT", signal.SIGHUP: "HUP"}


def lamps(folder, count):
    """The kart's bench with so many lamps more, each to be asked for."""
    text = pathlib.Path(KART).read_text().replace("../parts/", f"{PROFILES}/parts/")
    wires = loads = plugs = outputs = ""
    for n in range(count):
        plugs += f"  L{n}: {{pins: 2}}\n"
        loads += f"  lamp{n}: {{plus: L{n}.1, minus: L{n}.2, ohm: 60}}\n"
        wires += f"  - {{circuit: l{n}, from: L{n}.2, to: X.{n + 1}}}\n  - {{circuit: p{n}, from: L{n}.1, to: P}}\n"
        outputs += f'    lamp{n}: {{terminal: X.{n + 1}, kind: low_side, load: lamp{n}, asks: "Does lamp {n} light?"}}\n'
    plugs += f"  X: {{pins: {count}}}\n"
    for section, more in (("connectors", plugs), ("loads", loads), ("wires", wires)):
        text = text.replace(f"\n{section}:\n", f"\n{section}:\n{more}", 1)
    text = text.replace("\n  outputs:\n", f"\n  outputs:\n{outputs}", 1)
    path = pathlib.Path(folder, "lamps.yaml")
    path.write_text(text)
    return str(path)


def as_from_a_terminal():
    """What starts the tests may ignore some, and a child would go on to until it listens itself."""
    for how in SIGNALS[:3]:
        signal.signal(how, signal.SIG_DFL)


def drycrank(*words, **kwargs):
    return subprocess.run([DRYCRANK, *words], capture_output=True, text=True, timeout=300, **kwargs)


class Case(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = pathlib.Path(folder.name)
        self.random = random.Random(11)

    def kill_after(self, command, how, least_s, most_s):
        """Its exit code; None: it was over before."""
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                                   stdin=subprocess.DEVNULL, preexec_fn=as_from_a_terminal)
        time.sleep(self.random.uniform(least_s, most_s))
        over = process.poll() is not None
        if not over:
            process.send_signal(how)
        try:
            self.out, self.err = process.communicate(timeout=60)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
            self.fail(f"{command[1]}: goes on after {how}")
        return None if over else process.returncode

    def last_whole(self, path):
        text = path.read_bytes()
        return text[:text.rfind(b"\n") + 1], text

    def expect_record(self, folder, how, scenario):
        """Whole up to its last line; after a clean end that line says why."""
        events = folder / "events.csv"
        if not (folder / "record.json").exists():
            return "none"  # killed before there was one: nothing was committed
        whole, text = self.last_whole(events)
        if how != signal.SIGKILL:
            self.assertEqual(whole, text, "half a line")
            self.assertTrue(text.endswith(f",end,stopped by {NAMES[how]}\n".encode()), text[-80:])
        self.assertNotIn(b"\0", text)
        if how == signal.SIGKILL and b",end," in text:
            return "the one before is whole"  # killed before the new one was begun
        out = drycrank("judge", scenario, "--record", str(folder))
        if how == signal.SIGKILL:
            self.assertIn("judged up to the last whole line", out.stderr + out.stdout)
            return "cut"
        self.assertIn(out.returncode, (0, 1, 3, 4), out.stderr)
        return "ended"


class Killed(Case):
    def each(self, what, once):
        """So many kills; those that were over before are none of them."""
        seen, kills = {}, 0
        for _ in range(20 * KILLS):
            kind = once(kills, SIGNALS[kills % len(SIGNALS)])
            seen[kind] = seen.get(kind, 0) + 1
            kills += kind != "over before"
            if kills == KILLS:
                break
        print(f"{what}: {kills} kills, {seen}", flush=True)
        self.assertEqual(kills, KILLS)
        return seen

    def test_run(self):
        endless = self.tmp / "endless.yaml"
        endless.write_text(f"kind: scenario\nname: endless\nbench: {BENCH}\n"
                           "steps: [{name: idle, for_s: 1000 s, drive: {engine_speed: 900 rpm}}]\n"
                           "expect: [{name: there, kind: message_present, message: engine_fast, jitter_ms: 900 ms, means: there}]\n")
        out = self.tmp / "run"

        def once(i, how):
            # One folder for all: whoever was killed has left it to the next.
            code = self.kill_after([DRYCRANK, "run", str(endless), "--real-time", "--quiet", "--out", str(out), "--overwrite"],
                                   how, 0.0, 2.0)
            self.assertIsNotNone(code, self.err)
            if code == 2:
                self.fail(self.err)
            if code == -how and how != signal.SIGKILL:
                return "before it listened"
            return self.expect_record(out, how, str(endless))
        self.assertTrue(self.each("run", once).get("ended", 0) + 1 > KILLS / 4)

    def test_daemon(self):
        out, control = self.tmp / "live", str(self.tmp / "control")

        def once(i, how):
            code = self.kill_after([DRYCRANKD, BENCH, "--socket", control, "--out", str(out), "--overwrite"], how, 0.0, 2.0)
            self.assertIsNotNone(code, self.err)
            if code == 2:
                self.fail(self.err)
            if code == -how and how != signal.SIGKILL:
                return "before it listened"
            return self.expect_record(out, how, HEALTHY)
        self.assertTrue(self.each("daemon", once).get("ended", 0) + 1 > KILLS / 4)

    def test_walk(self):
        out, answers = self.tmp / "walk", self.tmp / "answers.yaml"
        bench = lamps(self.tmp, 40)
        answers.write_text("".join(f"lamp{n}: yes\n" for n in range(40)))
        begun = time.monotonic()
        whole = drycrank("walk", bench, "--answers", str(answers), "--out", str(self.tmp / "whole"))
        lasts_s = time.monotonic() - begun
        self.assertIn(whole.returncode, (0, 1, 4), whole.stderr)
        committed = b""

        def once(i, how):
            nonlocal committed
            resume = ["--resume"] if (out / "answers").exists() else []
            code = self.kill_after([DRYCRANK, "walk", bench, "--answers", str(answers), "--out", str(out), *resume],
                                   how, 0.0, lasts_s)
            if code == 2:
                self.fail(self.err)
            book = out / "answers"
            if not book.exists():
                self.assertEqual(committed, b"")
                return "nothing begun"
            now, _ = self.last_whole(book)
            self.assertTrue(now.startswith(committed), "an answer was lost")
            committed = now
            if code is None:  # the whole walk is there: from the beginning again
                shutil.rmtree(out)
                committed = b""
                return "over before"
            return "killed"
        self.each("walk", once)
        resume = ["--resume"] if (out / "answers").exists() else []
        last = drycrank("walk", bench, "--answers", str(answers), "--out", str(out), *resume)
        self.assertEqual(last.returncode, whole.returncode, last.stderr)
        self.assertTrue((out / "answers").read_bytes().startswith(committed))
        first, again = (json.loads((folder / "report.json").read_text())["circuits"] for folder in (self.tmp / "whole", out))
        self.assertEqual(first, again)

    def test_campaign(self):
        whole, out = self.tmp / "whole", self.tmp / "out"
        begun = time.monotonic()
        self.assertEqual(drycrank("campaign", KART, "--out", str(whole)).returncode, 0)
        lasts_s = time.monotonic() - begun
        committed = set()

        def once(i, how):
            code = self.kill_after([DRYCRANK, "campaign", KART, "--out", str(out)], how, 0.0, max(0.2, 4 * lasts_s / KILLS))
            if code == 2:
                self.fail(self.err)
            faults = out / "faults.jsonl"
            if not faults.exists():
                self.assertFalse(committed)
                return "none"
            lines = self.last_whole(faults)[0].splitlines()
            for line in lines:
                json.loads(line)
            self.assertTrue(committed <= set(lines), "a fault that was done is lost")
            self.assertEqual(len(lines), len(set(lines)))
            committed.update(lines)
            if code is None:
                is_whole()
                shutil.rmtree(out)
                committed.clear()
                return "over before"
            return "killed"

        def is_whole():
            for name in ("faults.jsonl", "summary.json", "campaign.json", "table.txt"):
                self.assertEqual((out / name).read_bytes(), (whole / name).read_bytes(), name)
        self.each("campaign", once)
        self.assertEqual(drycrank("campaign", KART, "--out", str(out)).returncode, 0)
        is_whole()


@unittest.skipUnless(os.geteuid() == 0 and shutil.which("unshare"), "mounts a disk of its own: needs root")
class DiskFull(Case):
    def on_small_disk(self, kilobytes, words):
        """Runs it with its record on a disk of that size; what is left there is in tmp/left."""
        left = self.tmp / "left"
        shutil.rmtree(left, ignore_errors=True)
        script = (f'set -e; mkdir -p {self.tmp}/disk {left}; mount -t tmpfs -o size={kilobytes}k none {self.tmp}/disk; code=0; '
                  f'"$@" --out {self.tmp}/disk/r || code=$?; cp -r {self.tmp}/disk/r {left}/ 2>/dev/null || true; exit $code')
        return subprocess.run(["unshare", "-m", "sh", "-c", script, "sh", *words], capture_output=True, text=True, timeout=300)

    def test_run_at_any_write(self):
        ended = cut = fits = 0
        sizes = [16, 64, 100, 128, 200, 260, 333, 400, 500, 700, 1600] if KILLS <= 8 else range(16, 900, 8)
        for kilobytes in sizes:
            out = self.on_small_disk(kilobytes, [DRYCRANK, "run", HEALTHY])
            if "No space left" not in out.stderr:
                self.assertEqual(out.returncode, 0, f"{kilobytes} kB: {out.stderr}")
                self.assertEqual(drycrank("judge", HEALTHY, "--record", str(self.tmp / "left/r")).returncode, 0)
                fits += 1
                continue
            self.assertEqual(fits, 0, f"{kilobytes} kB: less was enough")
            self.assertIn(out.returncode, (2, 3), f"{kilobytes} kB: {out.stdout}{out.stderr}")
            record = self.tmp / "left/r"
            if not (record / "record.json").exists():
                cut += 1
                continue
            for name in ("events.csv", "stimuli.csv"):
                text = (record / name).read_bytes() if (record / name).exists() else b""
                self.assertTrue(text == b"" or text.endswith(b"\n"), f"{kilobytes} kB: half a line in {name}: {text[-80:]}")
            events = (record / "events.csv").read_text()
            if events.endswith(",end,error: No space left on device\n"):
                ended += 1
            judged = drycrank("judge", HEALTHY, "--record", str(record))
            # The disk was too small for another of its files: what is judged is whole.
            whole = events.rstrip("\n").rsplit(",", 1)[-1] == "finished"
            self.assertIn(judged.returncode, (0,) if whole else (1, 2, 3, 4), judged.stdout + judged.stderr)
        print(f"disk full: {len(sizes)} sizes, {cut} without a record, {ended} end with the reason, {fits} large enough", flush=True)
        self.assertGreater(ended, 0)
        self.assertGreater(fits, 0)

    def test_a_daemon_goes_on_and_says_so(self):
        control = f"{self.tmp}/control"
        daemon = subprocess.Popen(
            ["unshare", "-m", "sh", "-c", f"mkdir {self.tmp}/disk; mount -t tmpfs -o size=400k none {self.tmp}/disk; "
             f'exec "$@"', "sh", DRYCRANKD, BENCH, "--socket", control, "--out", f"{self.tmp}/disk/r"],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.addCleanup(daemon.communicate)
        self.addCleanup(daemon.kill)
        self.assertIn("is live", daemon.stdout.readline())
        said = daemon.stdout.readline()
        self.assertIn("the disk is nearly full: ", said)  # 400 kB are less than 100 MB
        for _ in range(200):
            record = json.loads(drycrank("tell", "--socket", control, "status").stdout)["record"]
            self.assertEqual(record["folder"], f"{self.tmp}/disk/r")
            self.assertNotEqual(record["low"], "")
            if "No space left" in record["trouble"]:
                break
            time.sleep(0.1)
        self.assertIn("No space left", record["trouble"])
        self.assertLessEqual(record["bytes"], 400 * 1024)
        self.assertIn("not recorded any more: ", daemon.stdout.readline())
        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(daemon.wait(timeout=20), 3)


unittest.main(argv=sys.argv[:1] + sys.argv[5:], verbosity=1)
