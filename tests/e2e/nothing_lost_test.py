#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Nothing that was there is lost, and nothing is done late: where results may go, full disks, signals at a prompt, a bench that
has more to do than the computer can, times that go back, requests of somebody who is gone."""
import json
import os
import pathlib
import pty
import random
import re
import resource
import select
import shutil
import signal
import socket
import struct
import subprocess
import sys
import threading
import time
import unittest

from program_case import DRYCRANK, DRYCRANKD, PROFILES, Case, drycrank

SCENARIO, KART = f"{PROFILES}/scenarios/kart/healthy.yaml", f"{PROFILES}/benches/kart.yaml"


def small(limit):
    """In a child: no file can be made longer, as when the disk is full."""
    def limited():
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    return limited


class Places(Case):
    """Nothing is written over an input, over a file of a record, over what is no result."""

    def setUp(self):
        super().setUp()
        shutil.copytree(PROFILES, self.tmp / "p")
        self.scenario, self.bench = (str(self.tmp / "p" / name) for name in ("scenarios/kart/healthy.yaml", "benches/kart.yaml"))

    def refused(self, text, *words):
        before = {p: p.read_bytes() for p in self.tmp.rglob("*") if p.is_file()}
        out = drycrank(*words)
        self.assertEqual(out.returncode, 2, out.stdout + out.stderr)
        self.assertIn(text, out.stderr)
        self.assertEqual(out.stdout, "", "it was refused after it had been done")
        self.assertEqual({p: p.read_bytes() for p in self.tmp.rglob("*") if p.is_file()}, before)

    def record(self):
        self.assertEqual(drycrank("run", self.scenario, "--quiet", "--out", str(self.out)).returncode, 0)
        return str(self.out)

    def test_an_input_is_not_a_place_for_a_result(self):
        self.refused("--html", "run", self.scenario, "--html", self.scenario)
        self.refused("this command reads that file", "run", self.scenario, "--json", self.bench)
        record = self.record()
        self.refused("this command reads that file", "decode", record, "--bench", self.bench, "--out", self.bench, "--overwrite")
        self.refused("file of the record", "judge", self.scenario, "--record", record, "--html", f"{record}/events.csv")
        self.refused("the same file", "convert", record, f"{record}/frames.pcapng", "--overwrite")
        self.refused("file of the record", "run", self.scenario, "--out", str(self.tmp / "n"), "--json", str(self.tmp / "n/record.json"))

    def test_the_map_of_a_capture_is_an_input_too(self):
        """Written as JSON, which YAML may be, it looks like a report."""
        drawn = (self.tmp / "p/scenarios/hill_climb/captured_cam_late.yaml").read_text()
        self.assertIn("hill_climb_cam_late.yaml}", drawn)
        at = self.tmp / "p/scenarios/hill_climb/mapped.yaml"
        at.write_text(drawn.replace("hill_climb_cam_late.yaml}", "map.json}"))
        columns = self.tmp / "p/captures/map.json"
        columns.write_text('{"kind": "capture", "format": 1, "channels": {"crank": {"column": 1}}}')
        self.refused("this command reads that file", "run", str(at), "--json", str(columns))

    def test_what_is_no_report_is_not_replaced_and_an_old_report_is(self):
        notes, page = self.tmp / "notes.txt", self.tmp / "page.html"
        notes.write_text("precious")
        self.refused("is no such result", "run", self.scenario, "--html", str(notes))
        for _ in range(2):
            self.assertEqual(drycrank("run", self.scenario, "--quiet", "--html", str(page)).returncode, 0)

    def test_a_folder_that_is_not_there_is_said_before_anything_happens(self):
        for option in ("--html", "--json", "--junit"):
            self.refused("mkdir -p", "run", self.scenario, option, str(self.tmp / "no/x"))
        self.refused("the name is empty", "run", self.scenario, "--out", "")
        out = subprocess.run([DRYCRANKD, self.bench, "--socket", str(self.tmp / "no/x")], capture_output=True, text=True, timeout=20)
        self.assertEqual(out.returncode, 2)
        self.assertIn("mkdir -p", out.stderr)

    def test_foreign_files_are_not_mixed_with_a_record_and_never_removed(self):
        self.out.mkdir()
        (self.out / "photo.jpg").write_text("precious")
        for more in ([], ["--overwrite"]):
            for command in (["run", self.scenario], ["walk", self.bench]):
                self.refused("photo.jpg", *command, "--out", str(self.out), *more)
        shutil.rmtree(self.out)
        self.record()
        mine = self.out / "profiles/mine.yaml"
        mine.write_text("mine")
        self.assertEqual(drycrank("run", self.scenario, "--quiet", "--out", str(self.out), "--overwrite").returncode, 0)
        self.assertEqual(mine.read_text(), "mine")
        # Of a folder without a whole record nothing is taken unasked, foreign files are never.
        (self.out / "record.json").unlink()
        self.refused("left of a record", "run", self.scenario, "--out", str(self.out))
        mine.unlink()
        self.assertEqual(drycrank("run", self.scenario, "--quiet", "--out", str(self.out), "--overwrite").returncode, 0)

    def test_a_file_of_the_users_that_bears_a_name_of_ours_is_not_ours(self):
        """Each was replaced or deleted, the first ones even without a record there."""
        self.out.mkdir()
        profiles = self.out / "profiles"
        profiles.write_text("mine")
        self.refused("holds profiles", "run", self.scenario, "--out", str(self.out), "--overwrite")
        profiles.unlink()
        profiles.mkdir()
        (profiles / "000-healthy.yaml").write_text("mine")
        self.refused("holds profiles", "walk", self.bench, "--out", str(self.out), "--overwrite")
        shutil.rmtree(self.out)
        record = self.record()
        for name in ("events.csv", "edges.bin", "report.html", "record_before.drycrank/events.csv"):
            mine = self.out / name
            mine.parent.mkdir(exist_ok=True)
            before = mine.read_bytes() if mine.exists() else None
            mine.write_text("my own text\n")
            self.refused(f"holds {name}", "run", self.scenario, "--out", record, "--overwrite")
            mine.unlink() if before is None else mine.write_bytes(before)
        (self.out / "record_before.drycrank").rmdir()
        self.assertEqual(drycrank("run", self.scenario, "--quiet", "--out", record, "--overwrite").returncode, 0)
        campaign = self.tmp / "campaign"
        self.assertIn(drycrank("campaign", self.bench, "--out", str(campaign)).returncode, (0, 1, 4))
        (campaign / "report.html").write_text("my own page")
        self.refused("holds report.html", "campaign", self.bench, "--out", str(campaign))

    def test_what_people_said_outlives_a_walk_that_is_refused(self):
        """Each refused --overwrite put the answers aside, the second one over the first."""
        walk = ["walk", self.bench, "--quiet", "--out", str(self.out)]
        self.assertIn(drycrank(*walk).returncode, (0, 1, 4))
        kept = self.out / "answers"
        with kept.open("a") as book:
            book.write('{"about":"fuel_pump","answer":"yes"}\n')
        words = kept.read_bytes()
        for more in (["--recording", str(self.tmp / "rec.txt")], ["--real-time", "--bus", "dash=socketcan:none7"]) * 2:
            out = drycrank(*walk, "--overwrite", *more)
            self.assertIn(out.returncode, (2, 3), out.stdout + out.stderr)
            self.assertEqual(kept.read_bytes(), words)
            self.assertFalse((self.out / "answers.before").exists())
        # Another one that ends takes their place, and they stand aside; what nobody said takes no place.
        for _ in range(2):
            self.assertIn(drycrank(*walk, "--overwrite").returncode, (0, 1, 4))
            self.assertEqual((self.out / "answers.before").read_bytes(), words)
            self.assertEqual(kept.read_text().count("\n"), 1)

    def test_a_link_is_not_written_through_by_a_signature(self):
        out = drycrank("walk", self.bench, "--quiet", "--out", str(self.out))
        circuit = re.search(r"^ *○? *(\w+)", "".join(c["name"] + "\n" for c in json.loads((self.out / "report.json").read_text())["circuits"]
                                                    if c["state"] == "not_shown"), re.M)
        self.assertTrue(circuit, out.stdout)
        mine = self.tmp / "mine.txt"
        mine.write_text("")
        (self.out / "signatures").symlink_to(mine)
        self.refused("is a link", "sign", str(self.out), "--circuit", circuit[1], "--by", "N", "--why", "looked at")

    def test_nothing_else_of_the_users_is_replaced(self):
        """Each was: a bench by a learnt wheel, a page by a drawing, a diary by a recording, a report of one by another's."""
        hill, captures = str(self.tmp / "p/benches/hill_climb.yaml"), self.tmp / "p/captures"
        match = ("match", hill, str(captures / "hill_climb_cam_late.wav"), "--map", str(captures / "hill_climb_cam_late.yaml"))
        self.refused("--learn", *match, "--learn", self.bench)
        learnt = str(self.tmp / "learnt.yaml")
        for _ in range(2):
            self.assertIn(drycrank(*match, "--learn", learnt).returncode, (1, 4))
            self.assertIn("Learnt from", pathlib.Path(learnt).read_text())
        for name in ("draw", "sweep"):
            (self.tmp / name).mkdir()
        drawing, sweep = str(self.tmp / "draw"), str(self.tmp / "sweep")
        for name, text in (("index.html", "<!DOCTYPE html><html>mine"), ("harness.svg", "<svg>mine</svg>")):
            (self.tmp / "draw" / name).write_text(text)
            self.refused(name, "schedule", "draw", self.bench, "--out", drawing)
            (self.tmp / "draw" / name).unlink()
        for _ in range(2):
            self.assertEqual(drycrank("schedule", "draw", self.bench, "--out", drawing).returncode, 0)
        (self.tmp / "sweep/shown.csv").write_text("mine")
        self.refused("shown.csv", "display", "sweep", hill, "--out", sweep)
        page, diary = str(self.tmp / "page.html"), str(self.tmp / "diary.log")
        pathlib.Path(page).write_text("<!DOCTYPE html><html><head><title>mine</title>")
        self.refused("no such result", "run", self.scenario, "--html", page)
        pathlib.Path(diary).write_text("Dear diary")
        record = self.record()
        self.refused("no such result", "convert", record, diary, "--overwrite")
        self.refused("no such result", "decode", record, "--bench", self.bench, "--out", diary, "--overwrite")
        self.refused("no such result", "run", self.scenario, "--recording", diary, "--overwrite")
        self.refused("no such result", "schedule", "import", str(self.tmp / "p/schedules/kart.csv"), "--out", self.bench, "--overwrite")
        self.refused("file of the record", "doctor", "--json", f"{record}/report.json")
        self.refused("file of the record", "schedule", "check", self.bench, "--json", f"{record}/report.json")
        self.refused("file of the record", "run", self.scenario, "--html", f"{record}/report.html")
        self.assertEqual(drycrank("judge", self.scenario, "--record", record, "--html", f"{record}/report.html").returncode, 0)

    def test_names_of_ours_make_no_file_ours(self):
        """With --overwrite each of these was replaced, in a folder that held nothing else."""
        for name in ("events.csv", "report.html", "report.json", "junit.xml", "stimuli.csv", "messages.csv", "motion.csv", "record.json",
                     "edges.bin", "frames.pcapng", "edges.csv", "outputs.csv", "edges.vcd", "answers"):
            shutil.rmtree(self.out, ignore_errors=True)
            self.out.mkdir()
            (self.out / name).write_text('{"my": "own text"}\n')
            for command in (["run", self.scenario], ["walk", self.bench]):
                self.refused(f"holds {name}, which is of no record", *command, "--out", str(self.out), "--overwrite")
        for name in ("table.txt", "summary.json", "report.html", "campaign.json", "faults.jsonl"):
            shutil.rmtree(self.out)
            self.out.mkdir()
            (self.out / name).write_text('{"my": "own text"}\n')
            self.refused("which is of no campaign", "campaign", self.bench, "--out", str(self.out), "--overwrite")

    def test_each_file_that_we_write_is_known_as_ours(self):
        """Alone in a folder, as a kill or a removal may leave it, it is known by what it holds; so the marks fit the writers."""
        campaign = ["campaign", self.bench, "--quiet", "--shard", "1/400"]
        for command in (["run", self.scenario, "--quiet"], ["walk", self.bench, "--quiet"], campaign):
            full = self.tmp / "full"
            done = drycrank(*command, "--out", str(full)).returncode
            self.assertIn(done, (0, 4))
            files = [path.name for path in full.iterdir() if path.is_file()]
            self.assertGreater(len(files), 4)
            for name in files:
                self.out.mkdir()
                shutil.copy(full / name, self.out / name)
                out = drycrank(*command, "--out", str(self.out), "--overwrite")
                self.assertEqual(out.returncode, done, f"{command[0]}: {name}: {out.stderr}")
                shutil.rmtree(self.out)
            shutil.rmtree(full)

    def test_a_campaign_and_a_record_are_not_mixed(self):
        campaign = ("campaign", self.bench, "--quiet", "--shard", "1/400", "--out", str(self.out))
        self.assertEqual(drycrank(*campaign).returncode, 0)
        for command in (["run", self.scenario], ["walk", self.bench]):
            self.refused("campaign.json", *command, "--out", str(self.out), "--overwrite")
        shutil.rmtree(self.out)
        self.record()
        (self.out / "campaign.json").write_text('{"format": "drycrank campaign"}')
        self.refused("record.json", *campaign, "--overwrite")

    def test_nothing_is_written_or_removed_through_a_link(self):
        mine = self.tmp / "mine"
        self.record()
        (self.out / "profiles").rename(mine)
        (self.out / "profiles").symlink_to(mine)
        self.refused("profiles in it is a link", "run", self.scenario, "--out", str(self.out), "--overwrite")
        shutil.rmtree(self.out)
        self.out.mkdir()
        (self.tmp / "lines").write_text("one\n")
        (self.out / "faults.jsonl").symlink_to(self.tmp / "lines")
        self.refused("faults.jsonl in it is a link", "campaign", self.bench, "--out", str(self.out))

    def test_a_file_that_may_not_grow_is_said(self):
        """ulimit -f ended it by a signal, without a word."""
        record = self.record()
        for words in (["run", self.scenario, "--out", str(self.tmp / "r")], ["walk", self.bench, "--out", str(self.tmp / "w")],
                      ["campaign", self.bench, "--shard", "1/3", "--out", str(self.tmp / "c")], ["convert", record, str(self.tmp / "x.log")]):
            out = subprocess.run([DRYCRANK, *words], capture_output=True, text=True, timeout=60,
                                 preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (30000, 30000)))
            self.assertEqual(out.returncode, 3, (words, out.stderr))
            self.assertIn("File too large", out.stderr, words)

    def test_a_campaign_whose_folder_goes_says_so(self):
        play = subprocess.Popen([DRYCRANK, "campaign", str(self.tmp / "p/benches/hill_climb.yaml"), "--jobs", "1", "--quiet", "--play-all",
                                 "--out", str(self.out)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        lines = self.out / "faults.jsonl"
        while not lines.exists() or not lines.stat().st_size:
            time.sleep(0.02)
        shutil.rmtree(self.out)
        said = play.communicate(timeout=20)[1]  # all of them would take a minute
        self.assertEqual(play.returncode, 3, said)
        self.assertIn("was moved or taken away meanwhile", said)

    def test_a_folder_in_a_folder_that_is_held_is_taken_too(self):
        run = self.running()
        self.refused(f"is in use by process {run.pid}", "run", self.scenario, "--out", str(self.out / "sub"))
        self.end(run)

    def test_parts_of_a_recording_are_results_too(self):
        record = self.record()
        parts = self.tmp / "parts"
        parts.mkdir()
        limits = ("--quiet", "--recording", str(parts / "x.pcapng"), "--recording-mib", "0.01")
        (parts / "x-000002.pcapng").symlink_to(f"{record}/frames.pcapng")
        self.refused("x-000002.pcapng: that is a file of the record", "run", self.scenario, *limits, "--overwrite")
        (parts / "x-000002.pcapng").unlink()
        (parts / "x-000003.pcapng").write_text("precious")
        self.refused("x-000003.pcapng", "run", self.scenario, *limits, "--recording-files", "2", "--overwrite")
        (parts / "x-000003.pcapng").unlink()
        for _ in range(2):
            self.assertEqual(drycrank("run", self.scenario, *limits, "--overwrite").returncode, 0)

    def test_folders_and_names_for_what_is_in_the_making_are_taken_from_nobody(self):
        record = self.record()
        for name in ("record_before.drycrank", "record_in_making.drycrank"):
            made = self.out / name / "photos"
            made.mkdir(parents=True)
            (made / "1.jpg").write_text("precious")
            self.refused(f"{name}/photos", "run", self.scenario, "--out", record, "--overwrite")
            shutil.rmtree(self.out / name)
        (self.out / "record_before.drycrank").write_text("precious")
        self.refused("record_before.drycrank", "run", self.scenario, "--out", record, "--overwrite")
        (self.out / "record_before.drycrank").unlink()
        for name in ("before", "being_made", "drycrank"):  # a copy that was kept by hand
            shutil.copytree(record, self.tmp / "copy")
            (self.tmp / "copy").rename(self.out / name)
        self.assertEqual(drycrank("run", self.scenario, "--out", record, "--overwrite").returncode, 0)
        for name in ("before", "being_made", "drycrank"):
            self.assertTrue((self.out / name / "events.csv").exists(), name)
            shutil.rmtree(self.out / name)
        folder = self.tmp / "made"
        (folder / "being_made").mkdir(parents=True)
        secret = self.tmp / "secret.txt"
        mine = [folder / name for name in ("being_made/f", "v.being_made.csv", "c.being_made.log", "h.html.being_made", "h.being_made.html")]
        for path in [secret, *mine]:
            path.write_text("precious")
        (folder / "w.being_made.csv").symlink_to(secret)
        for words in (["signals", self.scenario, "--out", folder], ["decode", record, "--bench", self.bench, "--out", folder / "v.csv"],
                      ["decode", record, "--bench", self.bench, "--out", folder / "w.csv"], ["convert", record, folder / "c.log"],
                      ["run", self.scenario, "--html", folder / "h.html"]):
            self.assertEqual(drycrank(*map(str, words)).returncode, 0, words)
        self.assertEqual([path.read_text() for path in [secret, *mine]], ["precious"] * 6)
        self.assertFalse((folder / "w.csv").is_symlink())
        self.assertEqual([p.name for p in folder.rglob("*being_made-*")], [])

    def test_a_walk_taken_up_again_reports_as_much_as_one_that_was_not_disturbed(self):
        once, twice = self.tmp / "undisturbed", self.tmp / "twice"
        for out, more in ((once, []), (twice, []), (twice, ["--resume"])):
            self.assertEqual(drycrank("walk", self.bench, "--quiet", "--out", str(out), *more).returncode, 4)
        for name in ("report.html", "junit.xml", "events.csv", "edges.bin", "messages.csv"):
            self.assertEqual((once / name).read_bytes().replace(b"undisturbed", b"twice"), (twice / name).read_bytes(), name)

    def test_a_folder_that_is_moved_away_takes_its_verdict_with_it(self):
        run = self.running()
        self.out.rename(self.tmp / "moved")
        leads = str(self.tmp / "p/scenarios/kart/leads_swapped.yaml")
        self.assertEqual(drycrank("run", leads, "--quiet", "--out", str(self.out)).returncode, 1)
        before = {p: p.read_bytes() for p in self.out.rglob("*") if p.is_file()}
        self.assertEqual(self.end(run), 3)
        self.assertEqual({p: p.read_bytes() for p in self.out.rglob("*") if p.is_file()}, before)
        self.assertEqual([p.name for p in (self.tmp / "moved").glob("report.*")], [])

    def test_no_old_success_stands_beside_a_run_that_was_killed(self):
        files = [str(self.tmp / name) for name in ("k.html", "k.json", "k.xml")]
        wanted = [word for pair in zip(("--html", "--json", "--junit"), files) for word in pair]
        self.assertEqual(drycrank("run", self.scenario, "--quiet", *wanted).returncode, 0)
        self.end(self.running(*wanted), signal.SIGKILL)
        self.assertEqual([f for f in files if os.path.exists(f)], [])

    def test_a_report_to_standard_output_gets_there(self):
        page = self.tmp / "said.html"
        with open(page, "w") as said:
            out = subprocess.run([DRYCRANK, "run", self.scenario, "--quiet", "--html", "/dev/stdout"], stdout=said, timeout=60)
        self.assertEqual(out.returncode, 0)
        self.assertTrue(page.read_text().startswith("<!DOCTYPE html>"))
        self.assertTrue(os.path.islink("/dev/stdout"))

    def test_what_cannot_be_said_is_no_success(self):
        with open("/dev/full", "w") as full:
            for words, code in ((["settings", KART], 3), (["explain", "gauge"], 3), (["run", SCENARIO, "--quiet"], 3), (["--help"], 3),
                                (["run", f"{PROFILES}/scenarios/kart/leads_swapped.yaml", "--quiet"], 1)):
                out = subprocess.run([DRYCRANK, *words], stdout=full, stderr=subprocess.PIPE, text=True, timeout=60)
                self.assertEqual(out.returncode, code, words)
                self.assertIn("standard output could not be written: No space left", out.stderr)

        for words in (["--help"], ["--version"]):
            with open("/dev/full", "w") as full:
                out = subprocess.run([DRYCRANKD, *words], stdout=full, stderr=subprocess.PIPE, text=True, timeout=60)
            self.assertEqual(out.returncode, 3, words)

    def test_signals_replace_their_own_files_alone(self):
        self.out.mkdir()
        (self.out / "edges.vcd").write_text("precious")
        self.refused("edges.vcd: what is there is no such result", "signals", self.scenario, "--out", str(self.out))
        (self.out / "edges.vcd").unlink()
        (self.out / "edges.csv").write_text("time;crank")
        for _ in range(2):
            self.assertEqual(drycrank("signals", self.scenario, "--out", str(self.out)).returncode, 0)
        record = str(self.tmp / "record")
        self.assertEqual(drycrank("run", self.scenario, "--quiet", "--out", record).returncode, 0)
        self.refused("edges.csv: what is there is no such result", "signals", record, "--out", str(self.out))
        (self.out / "edges.csv").unlink()
        for folder in (self.out, self.out, record):
            self.assertEqual(drycrank("signals", record, "--out", str(folder)).returncode, 0)

    def test_a_campaign_stands_alone_in_its_folder(self):
        self.out.mkdir()
        (self.out / "photo.jpg").write_text("precious")
        campaign = ("campaign", self.bench, "--quiet", "--shard", "1/400", "--out")
        for more in ([], ["--overwrite"]):
            self.refused("photo.jpg, which is of no campaign", *campaign, str(self.out), *more)
        (self.out / "photo.jpg").unlink()
        self.refused("which is of no campaign", *campaign, self.record(), "--overwrite")
        shutil.rmtree(self.out)
        for more in ([], [], ["--overwrite"]):
            self.assertEqual(drycrank(*campaign, str(self.out), *more).returncode, 0)
            (self.out / "note.txt").write_text("mine")
        self.assertEqual((self.out / "note.txt").read_text(), "mine")
        parts = [str(self.tmp / f"part{i}") for i in (1, 2)]
        for i, part in enumerate(parts):
            self.assertEqual(drycrank("campaign", self.bench, "--quiet", "--shard", f"{i + 1}/400", "--out", part).returncode, 0)
        self.refused("one of the parts", "campaign", "--merge", *parts, "--out", parts[0], "--overwrite")
        self.refused("10/400 and 390 more", "campaign", "--merge", *parts, "--out", str(self.tmp / "q"))
        self.assertFalse((self.tmp / "q").exists())
        self.refused("which is of no campaign", "campaign", "--merge", str(self.out), "--out", str(self.tmp / "p"), "--overwrite")

    def test_a_folder_that_somebody_holds_takes_no_result(self):
        run = self.running()
        run.send_signal(signal.SIGSTOP)  # it writes nothing meanwhile
        self.refused(f"is in use by process {run.pid}", "run", self.scenario, "--html", str(self.out / "page.html"))
        run.send_signal(signal.SIGCONT)
        self.end(run)

    def test_no_old_verdict_stands_beside_a_new_record(self):
        self.record()
        self.assertTrue((self.out / "report.html").exists())
        run = self.running("--overwrite")
        self.wait_for(lambda: (self.out / "record.json").exists() and b'"endless"' in (self.out / "record.json").read_bytes() and not (self.out / "before").exists())
        self.end(run, signal.SIGKILL)
        self.assertEqual([p.name for p in self.out.iterdir() if p.name in ("report.html", "report.json", "junit.xml")], [])

    def test_sizes_and_words_of_the_command_line(self):
        for size in ("0", "-1", "nan", "1e400GB", "99999999999999999999GB", "5 furlong", "10", "GB"):
            out = drycrank("run", self.scenario, "--out", str(self.out), f"--out-most={size}")
            self.assertEqual(out.returncode, 2, size)
            self.assertIn("write a size as 2GB", out.stderr, size)
            self.assertFalse(self.out.exists())
        out = drycrank("run", self.scenario, "--quiet", "--out", str(self.out), "--out-most", "1.5GB")
        self.assertEqual(out.returncode, 0, out.stderr)
        for word in ("--serial=a\x1b[2Jb", "--out=\x9b2J", "--html=a\rb\x7f"):
            out = subprocess.run([DRYCRANK, "run", self.scenario, word.encode("latin-1")], capture_output=True, timeout=60)
            self.assertEqual(out.returncode, 2)
            self.assertIn(b"control characters", out.stderr)
            self.assertNotRegex(out.stderr, rb"[\x1b\x9b\r\x7f]")

    def test_a_settling_time_as_long_as_each_step_is_refused(self):
        path = pathlib.Path(self.scenario)
        path.write_text(re.sub(r"settle_s: [0-9.]+ s", "settle_s: 500 s", path.read_text(), count=1))
        out = drycrank("run", self.scenario)
        self.assertEqual(out.returncode, 2, out.stdout)
        self.assertIn("make it shorter, or a step longer", out.stderr)


class FullDisk(Case):
    def test_an_old_file_stays_when_the_new_one_does_not_fit(self):
        self.assertEqual(drycrank("run", SCENARIO, "--quiet", "--out", str(self.out)).returncode, 0)
        folder = self.tmp / "there"
        folder.mkdir()
        names = ("d.csv", "d.log", "d.pcapng", "edges.vcd", "signals.csv", "waveforms.wav", "edges.csv", "outputs.csv")
        own = {"edges.vcd": "$", "signals.csv": "t_s", "waveforms.wav": "RIFF", "edges.csv": "1", "outputs.csv": "1",
               "d.csv": "t_s,signal,value,unit", "d.log": "(", "d.pcapng": "\n\r\r\n"}
        there = {name: own.get(name, "") + " precious" for name in names}
        for name, text in there.items():
            (folder / name).write_bytes(text.encode())
        for words in (["decode", self.out, "--bench", KART, "--out", folder / "d.csv", "--overwrite"],
                      ["convert", self.out, folder / "d.log", "--overwrite"],
                      ["convert", self.out, folder / "d.pcapng", "--overwrite"],
                      ["signals", SCENARIO, "--out", folder],
                      ["signals", self.out, "--out", folder]):
            out = drycrank(*map(str, words), preexec_fn=small(3000))
            self.assertEqual(out.returncode, 3, out.stdout + out.stderr)
            self.assertIn("File too large", out.stderr)
            self.assertNotIn("being_made", out.stderr)
            self.assertEqual({p.name: p.read_bytes().decode() for p in folder.iterdir()}, there, words)

    def test_a_record_with_too_few_descriptors_is_said(self):
        """Its files stayed where they are made, and the run told a success."""
        for most in range(9, 20):
            shutil.rmtree(self.out, ignore_errors=True)
            out = drycrank("run", SCENARIO, "--quiet", "--out", str(self.out),
                           preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (most, most)))
            whole = (self.out / "record.json").exists() and (self.out / "events.csv").exists()
            self.assertEqual(out.returncode == 0, whole, f"{most}: {out.stdout}{out.stderr}")
            if out.returncode == 0:
                self.assertEqual(drycrank("judge", SCENARIO, "--record", str(self.out)).returncode, 0)
            else:
                self.assertIn(out.returncode, (2, 3))
                self.assertIn("drycrank", out.stderr)

    def test_a_drawing_that_cannot_be_written_leaves_no_folder(self):
        out = drycrank("schedule", "draw", KART, "--out", str(self.tmp / "svg"), preexec_fn=small(64))
        self.assertEqual(out.returncode, 3, out.stderr)
        self.assertTrue(out.stderr.startswith("drycrank schedule draw: "), out.stderr)
        self.assertFalse((self.tmp / "svg").exists())


class Prompt(Case):
    """A stop signal within the first milliseconds after an answer, when the next question is about to be waited for."""

    def test_a_signal_just_before_the_wait_ends_the_walk(self):
        chance, left = random.Random(1), []
        for i in range(30):
            shutil.rmtree(self.out, ignore_errors=True)
            ours, theirs = pty.openpty()
            walk = subprocess.Popen([DRYCRANK, "walk", f"{PROFILES}/benches/boat_v8.yaml", "--out", str(self.out), "--ask"],
                                    stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True)
            os.close(theirs)
            self.read_to(ours, "[y/n")
            os.write(ours, b"y\n")
            time.sleep(chance.random() * 0.004)
            walk.send_signal((signal.SIGTERM, signal.SIGINT, signal.SIGHUP)[i % 3])
            end = time.monotonic() + 10
            while walk.poll() is None and time.monotonic() < end:
                self.drain(ours)
            if walk.poll() is None:
                left.append(i)
                walk.kill()
            walk.wait()
            os.close(ours)
        self.assertEqual(left, [])

    def drain(self, terminal):
        if select.select([terminal], [], [], 0.05)[0]:
            try:
                return os.read(terminal, 65536)
            except OSError:
                return b""
        return b""

    def read_to(self, terminal, text):
        read, end = b"", time.monotonic() + 60
        while text.encode() not in read and time.monotonic() < end:
            read += self.drain(terminal)
        self.assertIn(text.encode(), read)


class ByHand(Case):
    def test_json_that_somebody_has_changed_is_named_in_our_words(self):
        walk = ["walk", KART, "--quiet", "--out", str(self.out)]
        self.assertIn(drycrank(*walk).returncode, (0, 1, 4))
        head, answers = self.out / "record.json", self.out / "answers"
        whole, said = head.read_text(), answers.read_text()
        for text in ('{"format":2,"profiles":"x"}', '{"format":2,"profiles":[1]}', '{"format":2,"mode":1,"profiles":[{"from":3}]}'):
            head.write_text(text)
            for words in (["diagnose", str(self.out)], ["judge", KART, "--record", str(self.out)]):
                out = drycrank(*words)
                self.assertEqual(out.returncode, 2, f"{text} {words} {out.stderr}")
                self.assertNotIn("json.exception", out.stderr)
        head.write_text(whole)
        answers.write_text(said + '{"about":1,"answer":[]}\n')
        self.assertNotIn("json.exception", drycrank("diagnose", str(self.out)).stderr)
        answers.write_text(said)
        (self.out / "signatures").write_text('{"format":"drycrank signatures","format_version":1}\n{"circuit":1,"why":[]}\n')
        out = drycrank(*walk, "--resume")
        self.assertIn("signatures:2: no signature can be read here", out.stderr)
        self.assertNotIn("json.exception", out.stderr)

    def test_an_option_before_the_command_is_named(self):
        out = drycrank("--nonsense", "run")
        self.assertEqual(out.returncode, 2)
        self.assertIn("'--nonsense' stands before the command", out.stderr)


class Live(Case):
    def ask(self, client, request):
        client.sendall(request.encode() + b"\n")
        reply = b""
        while not reply.endswith(b"\n"):
            piece = client.recv(65536)
            self.assertTrue(piece, "closed")
            reply += piece
        return json.loads(reply)

    def connect(self):
        client = socket.socket(socket.AF_UNIX)
        self.addCleanup(client.close)
        client.settimeout(10)
        client.connect(self.socket)
        return client

    def test_a_file_of_the_record_that_is_moved_away_is_said(self):
        """Writing went on into another name, or into a record that nobody can read, exit code 0."""
        for name in ("events.csv", "record.json"):
            shutil.rmtree(self.out, ignore_errors=True)
            daemon = self.daemon("--out", str(self.out))
            client = self.connect()
            self.assertEqual(self.ask(client, "status")["record"]["trouble"], "")
            (self.out / name).rename(self.tmp / "moved")
            for _ in range(100):
                trouble = self.ask(client, "status")["record"]["trouble"]
                if trouble:
                    break
                time.sleep(0.1)
            self.assertIn(name, trouble)
            self.assertIn("removed or moved", trouble)
            client.close()
            self.assertEqual(self.end(daemon), 3)

    def test_no_more_errors_than_the_bus_can_carry(self):
        # 20,000 error frames a second of 17 bits: 340 of 500 kbit/s; ISO 11898-1.
        daemon = self.daemon()
        client = self.connect()
        bus = next(iter(self.ask(client, "status")["buses"]))
        error = "{kind: error_frames, at: %s, period_ms: 0.05, name: %s}"
        self.assertTrue(self.ask(client, "fault " + error % (bus, "one"))["ok"])
        refused = self.ask(client, "fault " + error % (bus, "two"))
        self.assertFalse(refused["ok"])
        self.assertIn("680000 bit/s", refused["problem"])
        self.assertTrue(self.ask(client, "clear one")["ok"])
        self.assertEqual(self.end(daemon), 0)

    def test_a_daemon_that_is_behind_still_answers_and_ends(self):
        """It may use half a millisecond of each 400, and has 20,000 error frames a second to make on each bus."""
        daemon = self.daemon("--out", str(self.out))
        client = self.connect()
        for bus in self.ask(client, "status")["buses"]:
            self.assertTrue(self.ask(client, "fault {kind: error_frames, at: %s, period_ms: 0.05, name: %s}" % (bus, bus))["ok"])
        over = threading.Event()

        def used_s():
            try:
                return int(pathlib.Path(f"/proc/{daemon.pid}/schedstat").read_text().split()[0]) * 1e-9
            except OSError:
                return 1e9

        def slow_down():
            while not over.is_set() and daemon.poll() is None:
                daemon.send_signal(signal.SIGSTOP)
                time.sleep(0.4)
                enough = used_s() + 0.0005
                daemon.send_signal(signal.SIGCONT)
                while used_s() < enough and daemon.poll() is None:  # as long as that takes beside others
                    time.sleep(0.0001)

        slow = threading.Thread(target=slow_down)
        slow.start()
        self.addCleanup(slow.join)
        self.addCleanup(over.set)
        behind = []
        for _ in range(4):
            time.sleep(2)
            begin = time.monotonic()
            behind.append(self.ask(client, "status")["behind_s"])
            self.assertLess(time.monotonic() - begin, 5)
        self.assertGreater(behind[-1], 1, "it has kept up: this shows nothing")
        daemon.send_signal(signal.SIGTERM)
        daemon.wait(timeout=20)
        over.set()
        self.assertEqual(daemon.returncode, 0)
        self.assertTrue("behind real time" in (self.out / "events.csv").read_text())

    def test_what_nobody_waits_for_any_more_is_not_done(self):
        daemon = self.daemon("--out", str(self.out))
        daemon.send_signal(signal.SIGSTOP)
        clients = []
        for request in ("leave set engine_speed 3000", "leave ramp engine_speed 2000 in 1 s", "leave crank 220 rpm", "fault {kind: open, at: CLT.1, name: late}"):
            clients.append(self.connect())
            clients[-1].sendall(request.encode() + b"\n")
        half = self.connect()  # has said all, and still waits
        half.sendall(b"leave set coolant_temperature 77\n")
        half.shutdown(socket.SHUT_WR)
        for client in clients:
            client.close()
        daemon.send_signal(signal.SIGCONT)
        self.assertIn(b'"ok":true', half.recv(4096))
        status = self.tell("status")
        self.assertEqual(status["stimuli"]["engine_speed"]["value"], 0)
        self.assertEqual(round(status["stimuli"]["coolant_temperature"]["value"]), 77)
        self.assertEqual(status["faults"], [])
        self.assertEqual(self.end(daemon), 0)
        events = (self.out / "events.csv").read_text()
        self.assertEqual(events.count("not done, for who asked is gone"), 4, events[-600:])

    def test_a_socket_that_does_not_listen_yet_is_left(self):
        with socket.socket(socket.AF_UNIX) as other:
            other.bind(self.socket)
            out = self.refused_daemon("--socket", self.socket)
            self.assertEqual(out.returncode, 2, out.stderr)
            self.assertIn("does not listen yet", out.stderr)
            self.assertTrue(os.path.exists(self.socket))
        self.end(self.daemon())  # its owner is gone

    def test_a_socket_of_others_is_left_with_a_sentence(self):
        other = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.addCleanup(other.close)
        other.bind(self.socket)
        out = self.refused_daemon("--socket", self.socket)
        self.assertEqual(out.returncode, 2, out.stderr)
        self.assertIn("of another kind; give another --socket", out.stderr)
        full = socket.socket(socket.AF_UNIX)
        self.addCleanup(full.close)
        full.bind(self.socket + "2")
        full.listen(0)
        waiting = []
        for _ in range(8):
            client = socket.socket(socket.AF_UNIX)
            client.setblocking(False)
            waiting.append(client)
            self.addCleanup(client.close)
            try:
                client.connect(self.socket + "2")
            except BlockingIOError:
                break
        begin = time.monotonic()
        out = self.refused_daemon("--socket", self.socket + "2")
        self.assertLess(time.monotonic() - begin, 10)
        self.assertEqual(out.returncode, 2, out.stderr)
        self.assertIn("takes nobody in", out.stderr)


class Times(Case):
    def log(self, name, times):
        path = self.tmp / name
        path.write_text("".join(f"({t:.6f}) dash 123#{i % 256:02X}\n" for i, t in enumerate(times)))
        return str(path)

    def frames(self, path):
        """Of a pcapng by its packet blocks of type 6; of a log by its lines (draft-ietf-opsawg-pcapng; candump)."""
        data = pathlib.Path(path).read_bytes()
        if not path.endswith(".pcapng"):
            return data.count(b"\n")
        at = count = 0
        while at < len(data):
            kind, size = struct.unpack_from("<II", data, at)
            count += kind == 6
            at += size
        return count

    def test_frames_before_the_first_are_kept_and_counted(self):
        times = [1000 + 0.01 * i for i in range(300)]
        times[150:] = [t - 1.8 - 0.5 for t in times[150:]]  # back before the first one
        log = self.log("back.log", times)
        for name in ("out.log", "out.pcapng"):
            out = drycrank("convert", log, str(self.tmp / name))
            self.assertEqual(out.returncode, 0, out.stderr)
            self.assertIn("the time goes back once, first at frame 151 by 2.29 s", out.stderr)
            self.assertEqual(self.frames(str(self.tmp / name)), 300)
        out = drycrank("decode", log, "--bench", KART)
        self.assertIn("the time goes back once", out.stderr)
        self.assertIn("300 frames", out.stderr)
        out = drycrank("judge", SCENARIO, "--record", log)
        self.assertIn("the time goes back once", out.stdout)
        # From 1 s on to 2 s: of times that never go back, 1.00 to 1.99 s.
        out = drycrank("convert", log, str(self.tmp / "part.log"), "--from", "1", "--to", "2")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertIn(self.frames(str(self.tmp / "part.log")), (100, 101))

    def test_a_pause_is_said_and_kept(self):
        """convert, decode and judge did not say it."""
        log = self.log("pause.log", [1000 + 0.01 * i + (90 if i >= 100 else 0) for i in range(200)])
        out = drycrank("convert", log, str(self.tmp / "p.log"))
        said = "nothing comes for a minute or more once, first before frame 101 for 90.01 s"
        self.assertIn(said, out.stderr)
        self.assertEqual(self.frames(str(self.tmp / "p.log")), 200)
        self.assertIn(said, drycrank("decode", log, "--bench", KART).stderr)
        self.assertIn(said, drycrank("judge", SCENARIO, "--record", log).stdout)

    def test_shuffled_times_make_a_recording_that_is_whole(self):
        chance = random.Random(5)
        log = self.log("shuffled.log", [1000 + chance.random() * 6 for _ in range(200)])
        for name in ("a.pcapng", "a.log"):
            drycrank("convert", log, str(self.tmp / name))
            out = drycrank("convert", str(self.tmp / name), str(self.tmp / ("b-" + name)))
            self.assertEqual(out.returncode, 0, out.stderr)
            self.assertNotIn("damaged", out.stderr)

    def test_packets_of_no_can_interface_are_counted(self):
        """One byte of the first interface block: its link type, then its length (draft-ietf-opsawg-pcapng, 4.2)."""
        record = self.tmp / "record"
        self.assertEqual(drycrank("run", SCENARIO, "--quiet", "--out", str(record)).returncode, 0)
        whole = (record / "frames.pcapng").read_bytes()
        begin = struct.unpack_from("<I", whole, 4)[0]
        frames = int(drycrank("convert", str(record), str(self.tmp / "w.log")).stdout.split(": ")[1].split()[0])
        for at, said in ((8, f"passed over: {frames} blocks"), (4, "which the file does not describe")):
            damaged = self.tmp / "damaged.pcapng"
            damaged.write_bytes(whole[:begin + at] + b"\0" + whole[begin + at + 1:])
            out = drycrank("convert", str(damaged), str(self.tmp / "z.log"), "--overwrite")
            self.assertEqual(out.returncode, 2, out.stdout + out.stderr)
            self.assertIn(said, out.stderr)
        self.assertIn(f"damaged in {frames + 1} places", out.stderr)

    def test_a_log_that_begins_in_the_middle_of_a_line(self):
        """All of it was refused."""
        log = pathlib.Path(self.log("whole.log", [1000 + 0.01 * i for i in range(50)])).read_bytes()
        for first in (log[7:], b"\xef\xbb\xbf" + log, b"# of the test drive\n" + log, b"\xa8" + log[1:]):
            (self.tmp / "cut.log").write_bytes(first)
            out = drycrank("convert", str(self.tmp / "cut.log"), str(self.tmp / "c.log"), "--overwrite")
            self.assertEqual(self.frames(str(self.tmp / "c.log")), 50 if b"# of" in first else 49, out.stderr)
            self.assertIn("damaged", out.stderr)
        (self.tmp / "prose.log").write_text("Dear reader,\nthis is no log.\n" * 200)
        out = drycrank("convert", str(self.tmp / "prose.log"), str(self.tmp / "d.log"))
        self.assertEqual(out.returncode, 2)
        self.assertIn("is not a candump log", out.stderr)

    def test_what_is_no_number_is_refused(self):
        log = self.log("a.log", [1, 2])
        for words in (["--to", "nan"], ["--from", "nan"], ["--to", "inf"]):
            out = drycrank("convert", log, str(self.tmp / "n.log"), *words)
            self.assertEqual(out.returncode, 2, out.stderr)
            self.assertFalse((self.tmp / "n.log").exists())
        for seed in ("-1", "99999999999999999999", "1.5", "0x10"):
            out = drycrank("run", SCENARIO, f"--seed={seed}")
            self.assertEqual(out.returncode, 2, seed)
            self.assertIn("is no seed", out.stderr)

    def test_an_interface_that_no_frame_is_of(self):
        log = self.log("a.log", [1, 2])
        out = drycrank("convert", log, str(self.tmp / "b.log"), "--interface", "nope")
        self.assertEqual(out.returncode, 2)
        self.assertIn("it has dash", out.stderr)
        self.assertFalse((self.tmp / "b.log").exists())


unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=1)
