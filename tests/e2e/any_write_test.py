#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Each write of each command goes wrong in turn (at_write.cc): the disk is full from there on, takes half of it, fails once, or
the program is killed. What was there before is whole or replaced, nothing is called done that is not, and the same command
does it afterwards.

    any_write_test.py AT_WRITE DRYCRANK DRYCRANKD PROFILES [EACH [TEST...]]

At most EACH (10) writes of a command and a kind, first and last among them; 0: all. The figures are printed.
"""
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time
import unittest
import xml.etree.ElementTree

AT_WRITE, DRYCRANK, DRYCRANKD, PROFILES = map(os.path.abspath, sys.argv[1:5])
EACH = int(sys.argv[5]) if len(sys.argv) > 5 else 10
KART = f"{PROFILES}/benches/kart.yaml"
HEALTHY = f"{PROFILES}/scenarios/kart/healthy.yaml"
SCHEDULE = f"{PROFILES}/schedules/kart.csv"
KINDS = ("full", "half", "once", "kill")
KILLED = 128 + 9
# In English, as strerror(3) has them.
WORDS = {"full": "No space left on device", "half": "No space left on device", "once": "Input/output error"}


def contents(folder):
    return {path.relative_to(folder): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def chosen(writes):
    """Which of so many are tried."""
    if EACH == 0 or writes <= EACH:
        return list(range(1, writes + 1))
    return sorted({1, 2, writes - 1, writes} | {1 + round(i * (writes - 1) / (EACH - 1)) for i in range(EACH)})


def whole(path):
    """A file of a kind that can be asked: is all of it there?"""
    text = path.read_text(errors="strict") if path.suffix not in (".pcapng", ".bin", ".wav") else ""
    if path.suffix == ".json":
        json.loads(text)
    elif path.suffix in (".xml", ".svg"):
        xml.etree.ElementTree.fromstring(text)
    elif path.suffix == ".html":
        assert text.rstrip().endswith("</html>"), path
    elif path.suffix in (".csv", ".log", ".jsonl", ".yaml", ".txt", ".vcd") or path.name in ("answers", "signatures"):
        assert text == "" or text.endswith("\n"), f"{path}: half a line"


class AnyWrite(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = pathlib.Path(folder.name)
        self.out = self.tmp / "out"

    def play(self, how, at, words):
        out = subprocess.run([AT_WRITE, how, str(at), str(self.out), DRYCRANK, *words], capture_output=True, text=True, timeout=120,
                             stdin=subprocess.DEVNULL)
        self.err, _, writes = out.stderr.rpartition("writes: ")
        self.said = out.stdout
        return out.returncode, int(writes)

    def begin(self, before):
        """The folder as it is when the command comes."""
        shutil.rmtree(self.out, ignore_errors=True)
        self.out.mkdir()
        if before:
            self.assertIn(subprocess.run([DRYCRANK, *before], capture_output=True, timeout=120).returncode, (0, 1, 4))

    def try_all(self, name, words, again=None, before=None, good=(0,), then=None):
        """`again`: what does it afterwards; `then`: asked after each trial, with the kind and whether it was done."""
        self.begin(before)
        code, writes = self.play("full", 0, words)
        self.assertIn(code, good, self.err)
        complete = contents(self.out)
        counts = {}
        for how in KINDS:
            for at in chosen(writes):
                self.begin(before)
                code, _ = self.play(how, at, words)
                where = f"{name}: {how} at write {at} of {writes}: exit code {code}\n{self.said[-300:]}{self.err[-600:]}"
                if how == "kill":
                    self.assertEqual(code, KILLED, where)
                else:
                    self.assertIn(code, (2, 3), where)
                    self.assertIn(WORDS[how], self.err, where)
                    for path in self.out.rglob("*"):
                        if path.is_file():
                            try:
                                whole(path)
                            except Exception as problem:
                                self.fail(f"{where}{path}: {problem}")
                    self.assertEqual([p for p in self.out.rglob("*being_made*")], [], where)
                if then:
                    then(how, where)
                code, _ = self.play("full", 0, again or words)
                self.assertIn(code, good, f"{where}\nand then: {self.err}")
                for path, content in complete.items():
                    self.assertIn(path, contents(self.out), where)
                counts[how] = counts.get(how, 0) + 1
        print(f"{name}: {writes} writes, tried {counts}", flush=True)

    def short(self):
        path = self.tmp / "short.yaml"
        path.write_text(f"kind: scenario\nname: short\nbench: {KART}\n"
                        "steps: [{name: a, for_s: 0.3 s}, {name: b, for_s: 0.7 s, drive: {engine_speed: 2000 rpm}}]\n"
                        "expect: [{name: there, kind: message_present, message: all, jitter_ms: 900 ms, means: there}]\n")
        return str(path)

    def expect_record_or_none(self, how, where, record=None):
        """What lies in the folder is a record that can be judged, or none; never called finished when it is not."""
        record = record or self.out / "r"
        if not (record / "record.json").exists():
            return
        judged = subprocess.run([DRYCRANK, "judge", self.short(), "--record", str(record)], capture_output=True, text=True, timeout=60)
        finished = (record / "events.csv").read_bytes().endswith(b",end,finished\n")
        self.assertIn(judged.returncode, (0, 1, 3, 4) if finished else (1, 2, 3, 4), where + judged.stderr)

    def test_run(self):
        words = ["run", self.short(), "--out", str(self.out / "r"), "--recording", str(self.out / "r.pcapng"),
                 "--html", str(self.out / "a.html"), "--json", str(self.out / "a.json"), "--junit", str(self.out / "a.xml")]
        self.try_all("run", words, again=[*words, "--overwrite"], then=self.expect_record_or_none)

    def test_run_over_another(self):
        """One of both is whole at each instant, the old one perhaps in record_before.drycrank/; and with it are the reports that are there."""
        words = ["run", self.short(), "--out", str(self.out / "r"), "--quiet"]

        def old_or_new(how, where):
            record = self.out / "r" / "record.json"
            folder = self.out / "r" if record.exists() else self.out / "r/record_before.drycrank"
            self.assertTrue((folder / "record.json").exists(), where)
            if not record.exists():
                out = subprocess.run([DRYCRANK, "judge", words[1], "--record", str(self.out / "r")], capture_output=True, text=True)
                self.assertIn("is whole in", out.stderr, where)
            self.expect_record_or_none(how, where, folder)
        self.try_all("run --overwrite", [*words, "--overwrite"], before=words, then=old_or_new)

    def test_judge_keeps_the_old_reports(self):
        files = [self.out / name for name in ("a.html", "a.json", "a.xml")]
        options = ["--html", str(files[0]), "--json", str(files[1]), "--junit", str(files[2])]
        record = str(self.tmp / "record")
        subprocess.run([DRYCRANK, "run", self.short(), "--out", record], capture_output=True, timeout=60)
        words = ["judge", self.short(), "--record", record, *options]

        def old_or_new(how, where):
            for path in files:
                self.assertTrue(path.exists(), where)
                whole(path)
        self.try_all("judge", words, before=words, then=old_or_new)

    def test_walk(self):
        answers = self.tmp / "answers.yaml"
        answers.write_text("coil: yes\n")
        words = ["walk", KART, "--answers", str(answers), "--out", str(self.out / "w"), "--quiet"]
        self.try_all("walk", words, again=[*words, "--overwrite"], good=(0, 1, 4))

    def test_walk_over_another_keeps_what_was_answered(self):
        """What a person has answered is never gone: it is in the book, or in the one put aside."""
        answers = self.tmp / "answers.yaml"
        answers.write_text("coil: yes\n")
        words = ["walk", KART, "--answers", str(answers), "--out", str(self.out / "w"), "--quiet"]

        def whole_book(how, where):
            books = [self.out / "w" / name for name in ("answers", "answers.before")]
            self.assertTrue([book for book in books if book.exists() and b'"coil"' in book.read_bytes()], where)
        self.try_all("walk --overwrite", [*words, "--overwrite"], before=words, good=(0, 1, 4), then=whole_book)

    def test_campaign(self):
        """Some faults of it: what was done stays, and is not done again."""
        words = ["campaign", KART, "--shard", "1/60", "--jobs", "1", "--out", str(self.out / "c"), "--quiet"]
        self.try_all("campaign", words)

    def live(self, how, at):
        """A bench that is told to stop after a second; its exit code, and how many writes there were."""
        self.begin(None)
        control = self.tmp / "control"
        process = subprocess.Popen([AT_WRITE, how, str(at), str(self.out), DRYCRANKD, KART, "--socket", str(control),
                                    "--out", str(self.out / "r"), "--recording", str(self.out / "r.pcapng")],
                                   stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.addCleanup(process.kill)
        begun = time.monotonic()
        while process.poll() is None and time.monotonic() - begun < 60:
            time.sleep(1.1)
            subprocess.run([DRYCRANK, "tell", "--socket", str(control), "stop"], capture_output=True, timeout=20)
        self.said, errors = process.communicate(timeout=20)
        self.err, _, writes = errors.rpartition("writes: ")
        return process.returncode, int(writes)

    def test_live(self):
        code, writes = self.live("full", 0)
        self.assertEqual(code, 0, self.err)
        early = min(writes, 30)  # later ones come in real time, each like the other
        tried = chosen(early)[::1 if EACH == 0 else 3]
        for how in KINDS:
            for at in tried:
                code, _ = self.live(how, at)
                where = f"drycrankd: {how} at write {at}: exit code {code}\n{self.said[-300:]}{self.err[-600:]}"
                if how == "kill":
                    self.assertEqual(code, KILLED, where)
                else:
                    self.assertIn(code, (2, 3), where)
                    self.assertIn(WORDS[how], self.said + self.err, where)
                self.expect_record_or_none(how, where)
        print(f"drycrankd: {writes} writes, tried {tried} of each kind", flush=True)
        code, _ = self.live("full", 0)
        self.assertEqual(code, 0, self.err)

    def test_sign(self):
        words = ["walk", KART, "--out", str(self.out / "w"), "--quiet"]
        signed = ["sign", str(self.out / "w"), "--circuit", "injector_supply", "--why", "seen", "--by", "A. Fitter"]
        self.try_all("sign", signed, before=words, good=(0, 4))

    def test_files_from_files(self):
        record = self.tmp / "record"
        subprocess.run([DRYCRANK, "run", self.short(), "--out", str(record)], capture_output=True, timeout=60)
        o = str(self.out)
        for name, words, more in (
                ("convert", ["convert", str(record), f"{o}/c.log"], ["--overwrite"]),
                ("decode", ["decode", str(record), "--bench", KART, "--out", f"{o}/d.csv"], ["--overwrite"]),
                ("signals of a scenario", ["signals", self.short(), "--out", f"{o}/s"], ["--overwrite"]),
                ("signals of a record", ["signals", str(record), "--out", f"{o}/s"], ["--overwrite"]),
                ("schedule import", ["schedule", "import", SCHEDULE, "--out", f"{o}/h.yaml"], ["--overwrite"]),
                ("schedule draw", ["schedule", "draw", KART, "--out", f"{o}/draw"], ["--overwrite"]),
                ("display sweep", ["display", "sweep", KART, "--out", f"{o}/display"], [])):
            with self.subTest(name):
                helped = subprocess.run([DRYCRANK, *words[:2 if words[0] in ("schedule", "display") else 1], "--help"],
                                        capture_output=True, text=True, timeout=60).stdout
                again = words + [option for option in more if option in helped]
                self.try_all(name, words, again=again, good=(0, 1, 2, 4) if name == "schedule import" else (0, 1, 4))


unittest.main(argv=sys.argv[:1] + sys.argv[6:], verbosity=1)
