#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Texts that want to be more than read, in every text field of a bench and a scenario, through every command: what is no
character is refused with its place; line breaks, commas, quotes and markup come out as text, on the terminal and in every file.

    hostile_text_test.py DRYCRANK DRYCRANKD PROFILES
"""
import csv
import html.parser
import io
import json
import os
import pathlib
import pty
import re
import subprocess
import sys
import tempfile
import time
import unicodedata
import unittest
import xml.etree.ElementTree

import yaml

DRYCRANK, DRYCRANKD, PROFILES = map(os.path.abspath, sys.argv[1:4])

# A line of a record that nobody wrote, the end of a quoted field, of an element, a script, a comment, a CDATA section, a
# value change dump and a formula.
MARK = "Zqx"
HOSTILE = (f"{MARK}\n7,end,finished\n8,frame,dash,rx,400#00\n,\"',\"\"=1+1;</title></td><script>{MARK}()</script>"
           f"<b onload='{MARK}()'>--> ]]> &amp; &#27; $end %s {{}} \\n \\x1b[31m\t{MARK}\r\n/")
# Orders to a terminal, by ECMA-48: in seven bits (5.2 a), in eight (5.3), BEL, DEL, NUL; and what turns a line round (UAX #9).
ORDERS = {"escape": "\x1b[2J", "eight bits": "\x9b2J", "bell": "\x07", "delete": "\x7f", "null": "\0", "backspace": "\b",
          "right to left": "\u202e", "isolate": "\u2066", "line separator": "\u2028"}
# Texts that a bench or a scenario takes as they are; each is put in wherever it may stand.
LABELLED = ("stimuli", "connectors", "triggers", "sensors")


def text_fields(bench):
    """Where texts stand, as (mapping or list, key), with those that could be there put in."""
    for key in ("title", "note"):
        yield bench, key
    for section in LABELLED:
        for item in bench[section].values():
            yield item, "label"
    for item in bench["connectors"].values():
        yield item, "family"
    for wire in bench["wires"]:
        yield wire, "colour"
        yield wire, "twist"
    for output in bench["controller"]["outputs"].values():
        yield output, "label"
        if "asks" in output:
            yield output, "asks"
    for section in (bench["display"]["gauges"], bench["readouts"]):
        for item in section.values():
            yield item, "label"
            yield item, "lamp"
    for bus in bench["buses"].values():
        for message in bus["messages"].values():
            for name, signal in message["signals"].items():
                if "values" in signal and name != "sync":
                    for value in signal["values"]:
                        yield signal["values"], value


def kart():
    """The shipped bench, its parts by their full paths, with readouts to be asked about."""
    bench = yaml.safe_load(pathlib.Path(PROFILES, "benches/kart.yaml").read_text().replace("../parts/", f"{PROFILES}/parts/"))
    bench["readouts"] = {"head": {"signal": "all.head", "unit": "degC", "decimals": 0, "warn_above": 65, "lamp": "red"}}
    return bench


def scenario(text=HOSTILE):
    return {"kind": "scenario", "name": "hostile", "title": text, "bench": "bench.yaml", "seed": 3,
            "steps": [{"name": "still", "for_s": "0.5 s"},
                      {"name": "turn", "for_s": "1.5 s", "drive": {"engine_speed": {"ramp": "2400 rpm", "over_s": "0.4 s"}}}],
            "faults": [{"name": text, "kind": "open", "at": "HT.1", "from_s": "1 s", "to_s": "1.2 s"}],
            "expect": [{"name": "there", "kind": "message_present", "message": "all", "jitter_ms": "5 ms", "means": text},
                       {"name": "head", "kind": "follows", "signal": "all.head", "stimulus": "head_temperature", "tolerance": "2 K",
                        "settle_s": "0.1 s", "means": text}]}


class Elements(html.parser.HTMLParser):
    """All but the pages' own script, which is the same on each, to the letter."""
    own_script = None

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_data(self, data):
        if self.lasttag != "script" or not data.strip():
            return
        if Elements.own_script is None and data.startswith("\n'use strict';") and MARK not in data:
            Elements.own_script = data
        self.found.append("own script" if data == Elements.own_script else "script")

    def handle_starttag(self, tag, attrs):
        if tag != "script" or attrs:
            self.found.append(tag)
        if any(name.startswith("on") or MARK in name for name, _ in attrs):
            self.found.append(f"{tag} {attrs}")


class HostileText(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(folder.cleanup)
        cls.tmp = pathlib.Path(folder.name)
        cls.bench, cls.scenario, cls.out = cls.tmp / "bench.yaml", cls.tmp / "scenario.yaml", cls.tmp / "out"
        bench = kart()
        cls.fields = 0
        for place, key in text_fields(bench):
            place[key] = f"{HOSTILE} {key}" if isinstance(key, int) else HOSTILE  # values of one signal differ
            cls.fields += 1
        cls.bench.write_text(yaml.safe_dump(bench, allow_unicode=True))
        cls.scenario.write_text(yaml.safe_dump(scenario(), allow_unicode=True))
        cls.play("run", cls.scenario, "--out", cls.out / "run", "--recording", cls.out / "r.log")
        cls.play("walk", cls.bench, "--out", cls.out / "walk")
        cls.play("display", "sweep", cls.bench, "--out", cls.out / "shown")

    @classmethod
    def play(cls, *words, stdin="", **kwargs):
        cls.out.mkdir(exist_ok=True)
        return subprocess.run([DRYCRANK, *map(str, words)], capture_output=True, timeout=300, input=stdin.encode(), cwd=cls.tmp, **kwargs)

    def expect_plain(self, text, where):
        """Characters that a terminal shows, and line feeds: nothing that it obeys."""
        for char in text.decode("utf-8"):
            if char != "\n":
                self.assertNotIn(unicodedata.category(char), ("Cc", "Cs", "Zl", "Zp"), f"{where}: {char!r}")
                self.assertNotIn(unicodedata.bidirectional(char), ("RLO", "LRO", "RLI", "LRI", "FSI", "RLE", "LRE"), where)
        for line in text.decode().splitlines():
            self.assertFalse(line.startswith(("7,end,", "8,frame,")), f"{where}: {line}")

    def expect_file(self, path):
        text = path.read_bytes()
        where = str(path.relative_to(self.tmp))
        if path.suffix in (".pcapng", ".bin", ".wav") or "profiles" in path.parts:
            return
        if path.suffix == ".json":
            json.loads(text)
        elif path.suffix == ".jsonl":
            for line in text.decode().splitlines():
                json.loads(line)
        elif path.suffix in (".svg", ".xml"):
            xml.etree.ElementTree.fromstring(text)
        elif path.suffix == ".csv":
            self.expect_plain(text, where)
            self.expect_rows(text.decode(), path)
        elif path.suffix == ".yaml":
            yaml.safe_load(text)
        else:
            self.expect_plain(text, where)
        if path.suffix in (".html", ".svg"):
            elements = Elements()
            elements.feed(text.decode())
            self.assertEqual([tag for tag in elements.found if tag in ("script", "b onload") or MARK in tag], [], where)

    def expect_rows(self, text, path):
        """Quoted as RFC 4180 has it: as many columns as the kind of line has."""
        rows = list(csv.reader(io.StringIO("".join(line for line in text.splitlines(True) if not line.startswith("# ")))))
        if path.name == "events.csv":
            counts = {"step": 4, "frame": 5, "fault": 4, "note": 3, "end": 3, "drive": 5, "unobservable": 4, "observable": 3}
            self.assertEqual([row for row in rows if len(row) != counts[row[1]]], [])
            self.assertEqual([row for row in rows if row[1] == "end"], [rows[-1]])
        else:
            self.assertEqual({len(row) for row in rows if row}, {len(rows[-1])}, path)

    def expect_clean(self, name, out, codes=(0, 1, 4)):
        self.assertIn(out.returncode, codes, f"{name}: {out.stderr.decode()[-2000:]}")
        self.expect_plain(out.stdout, f"{name}: stdout")
        self.expect_plain(out.stderr, f"{name}: stderr")
        for path in self.out.rglob("*"):
            if path.is_file():
                self.expect_file(path)

    def test_it_is_in_every_field(self):
        self.assertGreater(self.fields, 60)
        self.assertEqual(self.bench.read_text().count(MARK), 4 * self.fields)

    def test_no_line_of_a_record_is_forged(self):
        """The fault's name ends nothing: what was run is judged the same, the fault has its two lines."""
        events = (self.out / "run/events.csv").read_text()
        self.expect_rows(events, self.out / "run/events.csv")
        names = [row[3] for row in csv.reader(io.StringIO(events)) if row[1] == "fault"]
        self.assertEqual(len(names), 2)
        # White space as the writer has it: each of it a space.
        self.assertEqual(names[0], re.sub(r"[\t\n\r]", " ", HOSTILE))
        ran = self.play("run", self.scenario, "--json", self.tmp / "ran.json")
        judged = self.play("judge", self.scenario, "--record", self.out / "run", "--json", self.tmp / "judged.json")
        self.assertEqual((ran.returncode, judged.returncode), (1, 1), judged.stderr)
        verdicts = [{v["name"]: (v["outcome"], v["margin"]) for v in json.loads((self.tmp / f"{name}.json").read_text())["expectations"]}
                    for name in ("ran", "judged")]
        self.assertEqual(*verdicts)
        self.assertEqual({name: outcome for name, (outcome, _) in verdicts[0].items()}, {"there": "met", "head": "failed"})

    def test_every_command_says_it_as_text(self):
        o, run = self.out, self.out / "run"
        commands = {
            "run": ["run", self.scenario, "--html", o / "r.html", "--junit", o / "r.xml", "--json", o / "r.json"],
            "judge": ["judge", self.scenario, "--record", run, "--html", o / "j.html", "--junit", o / "j.xml"],
            "walk": ["walk", self.bench, "--fault", "{kind: open, at: HT.1}", "--out", o / "faulty"],
            "diagnose": ["diagnose", o / "faulty", "--html", o / "d.html", "--json", o / "d.json"],
            "diagnose a run": ["diagnose", run, "--html", o / "d2.html"],
            "campaign": ["campaign", self.bench, "--shard", "1/20", "--out", o / "campaign"],
            "proofread": ["proofread", self.bench, self.scenario],
            "settings": ["settings", self.bench],
            "messages": ["messages", self.bench],
            "signals": ["signals", self.scenario, "--out", o / "signals"],
            "signals of a record": ["signals", run, "--out", o / "edges"],
            "decode": ["decode", run, "--bench", self.bench, "--out", o / "decoded.csv"],
            "decode a recording": ["decode", o / "r.log", "--bench", self.bench],
            "convert": ["convert", run, o / "converted.log"],
            "schedule check": ["schedule", "check", self.bench, "--json", o / "check.json"],
            "schedule draw": ["schedule", "draw", self.bench, "--out", o / "drawings"],
            "schedule cut": ["schedule", "cut", self.bench, "--out", o / "cut"],
            "display setting": ["display", "setting", self.bench, o / "shown"],
            "compare": ["compare", o / "shown", o / "shown", "--json", o / "c.json", "--junit", o / "c.xml"],
            "sign": ["sign", o / "walk", "--circuit", "injector_supply", "--why", HOSTILE, "--by", HOSTILE],
            "doctor": ["doctor", self.bench],
            "explain": ["explain", HOSTILE],
        }
        may_refuse = ("schedule check", "schedule draw", "schedule cut", "explain", "proofread", "doctor")  # the bench, or this machine
        for name, words in commands.items():
            with self.subTest(name):
                self.expect_clean(name, self.play(*words), (0, 1, 2, 3, 4) if name in may_refuse else (0, 1, 4))

    def test_questions_to_a_person_are_text(self):
        out = self.play("walk", self.bench, "--ask", "--out", self.out / "asked", stdin="no\n" * 50)
        self.expect_clean("walk --ask", out, (0, 1, 4))
        self.assertIn(MARK.encode(), out.stdout + out.stderr)
        out = self.play("diagnose", self.out / "asked", "--ask", stdin="?\n" * 5)
        self.expect_clean("diagnose --ask", out, (0, 1, 2, 4))

    def test_a_live_bench_says_it_as_text(self):
        control = self.tmp / "control"
        daemon = subprocess.Popen([DRYCRANKD, self.bench, "--socket", control, "--out", self.out / "live"], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.addCleanup(daemon.communicate)
        self.addCleanup(daemon.kill)
        said = daemon.stdout.readline()
        self.assertIn(b"is live", said)
        fault = json.dumps({"name": HOSTILE, "kind": "open", "at": "HT.1"})
        for words in ("status", f"fault {fault}", f"clear {HOSTILE}", f"arm {HOSTILE} by {HOSTILE}", HOSTILE, "set head_temperature 50 °C"):
            leave = ["--leave"] if words.startswith("set") else []
            out = self.play("tell", "--socket", control, words, *leave)
            self.expect_plain(out.stdout + out.stderr, words[:20])
            if out.stdout:
                json.loads(out.stdout)
        time.sleep(0.3)
        self.play("tell", "--socket", control, "stop")
        rest, errors = daemon.communicate(timeout=20)
        self.expect_plain(said + rest + errors, "drycrankd")
        self.expect_file(self.out / "live/events.csv")

    def test_on_a_terminal_without_orders_nothing_is_one(self):
        """TERM=dumb on a pseudoterminal (pty(7)): colours, progress lines and questions have no escape."""
        for words in (["run", self.scenario], ["walk", self.bench], ["campaign", self.bench, "--shard", "1/40", "--out", self.out / "dumb"],
                      ["diagnose", self.out / "walk"], ["display", "sweep", self.bench, "--out", self.out / "dumb_sweep"], ["settings", self.bench],
                      ["proofread", self.bench], ["schedule", "check", self.bench]):
            ours, theirs = pty.openpty()
            process = subprocess.Popen([DRYCRANK, *map(str, words)], stdin=subprocess.DEVNULL, stdout=theirs, stderr=theirs,
                                       env={**os.environ, "TERM": "dumb"})
            os.close(theirs)
            text = b""
            try:
                while piece := os.read(ours, 65536):
                    text += piece
            except OSError:  # Linux: the other side has let go
                pass
            os.close(ours)
            process.wait(timeout=60)
            self.assertGreater(len(text), 20, words)
            self.expect_plain(text.replace(b"\r\n", b"\n"), words[0])

    def test_each_order_is_refused_in_each_field(self):
        """One at a time, each with its place; nothing of it comes out."""
        count = 0
        for n, (place, key) in enumerate(text_fields(kart())):
            name = list(ORDERS)[n % len(ORDERS)]
            bench = kart()
            place, key = list(text_fields(bench))[n]
            place[key] = f"before{ORDERS[name]}after"
            path = self.tmp / "ordered.yaml"
            path.write_text(yaml.safe_dump(bench))  # as YAML escapes: "\e[2J"
            out = self.play("proofread", path)
            self.assertEqual(out.returncode, 2, f"{name} in {key}")
            self.assertRegex(out.stdout + out.stderr, rb"ordered.yaml:\d+:\d+: a text with a control character", f"{name} in {key}")
            self.expect_plain(out.stdout + out.stderr, f"{name} in {key}")
            count += 1
        self.assertGreater(count, 60)

    def test_each_order_is_refused_by_each_command(self):
        """As a byte of the file and as an escape, in the bench or in the scenario."""
        for name, order in ORDERS.items():
            for raw in (True, False):
                path = self.tmp / "bad.yaml"
                quoted = order if raw else "".join(f"\\U{ord(char):08x}" for char in order)
                path.write_text(f'kind: bench\nname: bad\ntitle: "x{quoted}"\n')
                story = self.tmp / "bad_story.yaml"
                story.write_text(f'kind: scenario\nname: bad\ntitle: "x{quoted}"\nbench: bench.yaml\nsteps: [{{name: a, for_s: 1 s}}]\n')
                for words in (["walk", path], ["settings", path], ["messages", path], ["campaign", path, "--out", self.tmp / "none"],
                              ["display", "sweep", path, "--out", self.tmp / "none"], ["schedule", "check", path], ["doctor", path],
                              ["decode", self.out / "run", "--bench", path], ["run", story], ["judge", story, "--record", self.out / "run"],
                              ["signals", story, "--out", self.tmp / "none"], ["proofread", story]):
                    out = self.play(*words)
                    self.assertEqual(out.returncode, 2, f"{name} {raw} {words}")
                    self.assertRegex(out.stdout + out.stderr, rb"bad\w*.yaml:3:\d+: .*control character", f"{name} {words}")
                    self.expect_plain(out.stdout + out.stderr, f"{name} {words}")
                out = subprocess.run([DRYCRANKD, path, "--socket", self.tmp / "none.sock"], capture_output=True, timeout=20)
                self.assertEqual(out.returncode, 2)
                self.expect_plain(out.stdout + out.stderr, f"drycrankd {name}")

    def test_files_whose_lines_end_in_a_carriage_return_alone(self):
        """A bench, a scenario, answers, measured values, a schedule, a recording: said as that, never taken for empty."""
        def cr_only(name, text):
            path = self.tmp / name
            path.write_bytes(text.replace("\r", "").replace("\n", "\r").encode())
            return path
        bench = cr_only("cr_bench.yaml", yaml.safe_dump(kart()))
        story = cr_only("cr_story.yaml", yaml.safe_dump(scenario("x")))
        answers = cr_only("cr_answers.yaml", "coil: yes\nhead_signal: no\n")
        for words in (["walk", bench], ["proofread", bench], ["run", story], ["walk", self.bench, "--answers", answers]):
            out = self.play(*words)
            self.assertEqual(out.returncode, 2, words)
            self.assertIn(b"a line that ends with a carriage return alone", out.stdout + out.stderr, words)
        schedule = cr_only("cr.csv", pathlib.Path(PROFILES, "schedules/kart.csv").read_text())
        out = self.play("schedule", "import", schedule, "--out", self.out / "cr.yaml")
        fine = self.play("schedule", "import", pathlib.Path(PROFILES, "schedules/kart.csv"), "--out", self.out / "lf.yaml")
        self.assertEqual(fine.returncode, 0)
        if out.returncode == 0:  # read as lines
            self.assertEqual(yaml.safe_load((self.out / "cr.yaml").read_text()), yaml.safe_load((self.out / "lf.yaml").read_text()))
        else:
            self.assertIn(b"carriage return", out.stdout + out.stderr)
        recording = cr_only("cr.log", (self.out / "r.log").read_text())
        out = self.play("convert", recording, self.tmp / "cr_out.log")
        self.assertNotEqual(out.returncode, 0)
        self.assertNotIn(b"empty", out.stdout + out.stderr)

    def test_long_answers_are_read_in_their_length(self):
        """Twice as many lines take about twice as long, not four times: 20,000 and 40,000."""
        def seconds(count):
            path = self.tmp / "many.yaml"
            path.write_text("".join(f"nobody_{n}: yes\n" for n in range(count)))
            begun = time.monotonic()
            out = self.play("walk", self.bench, "--answers", path)
            self.assertEqual(out.returncode, 2)
            self.expect_plain(out.stderr, "answers")
            return time.monotonic() - begun
        few, many = (min(seconds(count) for _ in range(2)) for count in (20_000, 40_000))
        print(f"answers: 20,000 lines {few:.2f} s, 40,000 {many:.2f} s", flush=True)
        self.assertLess(many, 3 * few + 0.2)


unittest.main(argv=sys.argv[:1] + sys.argv[4:], verbosity=1)
