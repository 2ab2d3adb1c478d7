#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Walks with questions: typed, scripted, captured, killed and taken up again."""
import csv
import json
import os
import pathlib
import pty
import random
import re
import signal
import subprocess
import sys
import tempfile
import unittest

DRYCRANK, PROFILES = (os.path.abspath(path) for path in sys.argv[1:3])
BOAT = f"{PROFILES}/benches/boat_v8.yaml"
KART = f"{PROFILES}/benches/kart.yaml"
PROMPT = "q(uit)] "


def walk(*words, typed="", **kwargs):
    return subprocess.run([DRYCRANK, "walk", *words], input=typed, capture_output=True, text=True, timeout=120, **kwargs)


def circuits(folder):
    report = json.loads(pathlib.Path(folder, "report.json").read_text())
    return {c["name"]: c["reason"] if c["state"] == "not_shown" else c["state"] for c in report["circuits"]}


def many_outputs(folder, count):
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


class Asked:
    """One walk as a person at a terminal has it, up to its end or its violent death."""

    def __init__(self, words, by_pty=False):
        self.master = None
        if by_pty:
            self.master, slave = pty.openpty()
            self.process = subprocess.Popen([DRYCRANK, "walk", *words], stdin=slave, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
            os.close(slave)
        else:
            self.process = subprocess.Popen([DRYCRANK, "walk", *words], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        self.text = ""

    def read_until(self, *wanted):
        """What was said up to one of these, or to the end of the process."""
        begin = len(self.text)
        while not any(self.text.endswith(end, begin) for end in wanted):
            piece = os.read(self.process.stdout.fileno(), 1)
            if not piece:
                break
            self.text += piece.decode("latin-1")
        return self.text[begin:]

    def type(self, line):
        if self.master is None:
            self.process.stdin.write(line.encode() + b"\n")
            self.process.stdin.flush()
        else:
            os.write(self.master, line.encode() + b"\n")

    def kill(self):
        self.process.send_signal(signal.SIGKILL)
        self.close()

    def close(self):
        if self.process.stdin:
            try:
                self.process.stdin.close()
            except OSError:
                pass
        code = self.process.wait(timeout=60)
        self.process.stdout.close()
        if self.master is not None:
            os.close(self.master)
        return code


def next_question(asked):
    """The output that is asked for next; None: no more."""
    said = asked.read_until(PROMPT)
    found = re.findall(r"\d+ of \d+: [^\n]*, (\w+) at ", said)
    return found[-1] if said.endswith(PROMPT) else None


class Walk(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = folder.name
        self.out = folder.name + "/walk"

    def book(self, folder=None):
        lines = pathlib.Path(folder or self.out, "answers").read_text().splitlines()
        return [(line["about"], line["answer"]) for line in map(json.loads, lines[1:])]

    def test_nobody_is_asked_unasked(self):
        out = walk(BOAT, "--out", self.out)
        self.assertEqual(out.returncode, 4, out.stderr)
        self.assertNotIn(PROMPT, out.stdout)
        self.assertIn("28 of 36 circuits proven, 0 failed, 8 not shown (8 not asked).", out.stdout)
        self.assertEqual(circuits(self.out)["bilge_pump_switched"], "not_asked")

    def test_typed_answers_and_their_caution(self):
        out = walk(BOAT, "--ask", "--out", self.out, typed="what?\ny\nN\n")
        self.assertEqual(out.returncode, 1, out.stderr)
        self.assertIn("CAUTION: Bilge pump: it starts without warning.", out.stdout)
        self.assertLess(out.stdout.index("CAUTION: Bilge pump"), out.stdout.index("Does the bilge pump run?"))
        self.assertEqual(out.stdout.count("Does the bilge pump run? [y/n/s(kip)"), 2)  # "what?" is no answer
        self.assertEqual(self.book(), [("bilge_pump", "yes"), ("fuel_relay", "no")])
        state = circuits(self.out)
        self.assertEqual((state["bilge_pump_supply"], state["fuel_relay_supply"]), ("proven", "failed"))
        self.assertIn("look at fuel_relay_switched: FR.2 to EC.25, violet/black", out.stdout)

    def test_what_was_skipped_is_offered_again_at_the_end(self):
        out = walk(BOAT, "--ask", "--out", self.out, typed="s\ny\ny\n")
        self.assertEqual(out.returncode, 4, out.stderr)
        self.assertLess(out.stdout.index("relay"), out.stdout.index("1 was skipped. Once more"))
        self.assertIn("skipped 1 of 1: Bilge pump, bilge_pump at EC.24", out.stdout)
        self.assertEqual(out.stdout.count("CAUTION: Bilge pump"), 2)
        self.assertEqual(self.book(), [("bilge_pump", "skip"), ("fuel_relay", "yes"), ("bilge_pump", "yes")])
        self.assertEqual(circuits(self.out)["bilge_pump_supply"], "proven")
        out = walk(BOAT, "--ask", "--out", self.out, "--resume")   # what was said last holds
        self.assertNotIn(PROMPT, out.stdout)
        self.assertEqual(circuits(self.out)["bilge_pump_supply"], "proven")

    def test_what_is_skipped_again_stays_so_and_can_be_taken_up_later(self):
        for typed in ("s\ny\ns\n", "s\ny\nq\n", "s\ny\n"):     # skipped, left, nobody there
            out = walk(BOAT, "--ask", "--out", self.out, "--overwrite", typed=typed)
            self.assertEqual(out.returncode, 4, out.stderr)
            self.assertEqual(self.book(), [("bilge_pump", "skip"), ("fuel_relay", "yes")])
            self.assertEqual(circuits(self.out)["bilge_pump_supply"], "not_asked")
        out = walk(BOAT, "--ask", "--out", self.out, "--resume", typed="n\n")
        self.assertEqual(out.returncode, 1, out.stderr)
        self.assertEqual(self.book()[-1], ("bilge_pump", "no"))
        self.assertEqual(circuits(self.out)["bilge_pump_supply"], "failed")

    def test_an_ignition_coil_has_the_caution_that_it_kills(self):
        out = walk(KART, "--ask", typed="s\n")
        self.assertEqual(out.returncode, 4, out.stderr)
        self.assertLess(out.stdout.index("its voltage can kill"), out.stdout.index("Does the spark tester spark?"))
        self.assertIn("2 on paper only", out.stdout)

    def test_scripted_answers(self):
        script = pathlib.Path(self.tmp, "answers.yaml")
        script.write_text("bilge_pump: yes\nfuel_relay: not_fitted\ninjector_1_supply: yes\n")
        out = walk(BOAT, "--answers", str(script), "--out", self.out)
        self.assertEqual(out.returncode, 4, out.stderr)
        self.assertIn("31 of 36 circuits proven, 0 failed, 3 not shown (3 not asked), 2 on paper only.", out.stdout)
        state = circuits(self.out)
        self.assertEqual((state["fuel_relay_switched"], state["injector_1_supply"], state["injector_1_switched"]),
                         ("not_fitted", "proven", "not_asked"))
        script.write_text("bilge_bump: yes\n")
        out = walk(BOAT, "--answers", str(script), "--out", self.tmp + "/other")
        self.assertEqual(out.returncode, 2)
        self.assertIn("answers.yaml:1:1: there is no output or circuit 'bilge_bump'; did you mean 'bilge_pump'?", out.stderr)
        self.assertFalse(os.path.exists(self.tmp + "/other"))

    def test_a_capture_of_the_stand_ins_own_injectors(self):
        """What the record says the stand-in did at its outputs, as a logic analyser would export it."""
        walk(BOAT, "--out", self.out)
        level = {1: 1, 8: 1}
        rows = ["time_s,injector_1,injector_8", "0,1,1"]
        subprocess.run([DRYCRANK, "signals", self.out, "--out", self.tmp + "/signals"], check=True, capture_output=True)
        events = pathlib.Path(self.tmp, "signals/outputs.csv").read_text().splitlines()
        for t_ns, kind, cylinder, on in csv.reader(events):
            if kind != "injector" or int(cylinder) not in level:
                continue
            level[int(cylinder)] = 0 if on == "on" else 1
            rows.append(f"{int(t_ns) / 1e9},{level[1]},{level[8]}")
        self.assertGreater(len(rows), 50)
        capture = pathlib.Path(self.tmp, "capture.csv")
        capture.write_text("\n".join(rows) + "\n")
        out = walk(BOAT, "--capture", str(capture))
        self.assertEqual(out.returncode, 4, out.stdout)
        self.assertIn("32 of 36 circuits proven", out.stdout)
        capture.write_text("time_s,injector_1,injector_8\n0,1,1\n" + "\n".join(f"{t},{t % 2},1" for t in range(1, 9)))
        out = walk(BOAT, "--capture", str(capture))
        self.assertEqual(out.returncode, 1)
        self.assertRegex(out.stdout, r"output_injector_8: the capture shows 0 pulses")

    def test_end_of_input_keeps_what_was_said_and_tells_how_to_go_on(self):
        out = walk(BOAT, "--ask", "--out", self.out, typed="y\n")
        self.assertEqual(out.returncode, 4)
        command = re.search(r"1 answer kept\. Go on with: (drycrank walk .*)", out.stderr).group(1).split()
        self.assertIn("--resume", command)
        out = subprocess.run([DRYCRANK, *command[1:]], input="y\n", capture_output=True, text=True, timeout=120)
        self.assertEqual(out.returncode, 4, out.stderr)
        self.assertNotIn("bilge pump run?", out.stdout)
        self.assertIn("Taken up again: 1 answer kept.", out.stdout)
        self.assertEqual(self.book(), [("bilge_pump", "yes"), ("fuel_relay", "yes")])

    def test_another_bench_is_not_taken_up(self):
        bench = pathlib.Path(many_outputs(self.tmp, 2))
        walk(str(bench), "--out", self.out)
        out = walk(BOAT, "--out", self.out, "--resume")
        self.assertEqual(out.returncode, 2)
        self.assertIn("is of bench kart, not boat_v8", out.stderr)
        bench.write_text(bench.read_text().replace("length_m: 0.4", "length_m: 0.5", 1))
        out = walk(str(bench), "--out", self.out, "--resume")
        self.assertEqual(out.returncode, 2)
        self.assertIn("bench kart has changed since this walk began", out.stderr)
        out = walk(str(bench), "--out", self.out, "--overwrite")
        self.assertEqual(out.returncode, 4, out.stderr)
        out = walk(str(bench), "--out", self.out, "--resume", "--seed", "9")
        self.assertEqual(out.returncode, 2)
        self.assertIn("go on with the same options", out.stderr)

    def test_folders_of_others_are_left_alone(self):
        subprocess.run([DRYCRANK, "run", f"{PROFILES}/scenarios/kart/healthy.yaml", "--out", self.out], capture_output=True, timeout=120)
        before = pathlib.Path(self.out, "events.csv").read_bytes()
        for words in ([], ["--resume"]):
            out = walk(KART, "--out", self.out, *words)
            self.assertEqual(out.returncode, 2)
            self.assertIn("holds a record and no walk", out.stderr)
        self.assertEqual(pathlib.Path(self.out, "events.csv").read_bytes(), before)
        out = walk(KART, "--out", self.tmp + "/w")
        out = walk(KART, "--out", self.tmp + "/w")
        self.assertEqual(out.returncode, 2)
        self.assertIn("--resume goes on with it", out.stderr)
        self.assertEqual(walk(KART, "--resume").returncode, 2)

    def test_a_record_that_was_cut_short_is_played_again(self):
        walk(BOAT, "--ask", "--out", self.out, typed="y\nq\n")
        events = pathlib.Path(self.out, "events.csv")
        whole = events.read_bytes()
        events.write_bytes(whole[:len(whole) // 2])
        out = walk(BOAT, "--ask", "--out", self.out, "--resume", typed="y\n")
        self.assertEqual(out.returncode, 4, out.stderr)
        self.assertEqual(events.read_bytes(), whole)
        self.assertNotIn("bilge pump run?", out.stdout)

    def test_killed_twenty_times_nothing_is_lost_and_nothing_asked_twice(self):
        """SIGKILL after a random number of answers, at a random point of the next one: before it is
        typed, as soon as it is typed, or in the middle of what is said next."""
        count = 6
        bench = many_outputs(self.tmp, count)
        names = [f"lamp{n}" for n in range(count)] + ["coil"]
        for seed in range(20):
            chance = random.Random(seed)
            out = f"{self.tmp}/walk{seed}"
            said = {}                       # what was answered and acknowledged, over both lives
            unsure = {}                     # typed, but killed before a word came back
            asked = Asked([bench, "--out", out, "--ask"], by_pty=chance.random() < 0.5)
            for _ in range(chance.randrange(len(names))):
                name = next_question(asked)
                self.assertNotIn(name, said)
                answer = chance.choice(["yes", "no", "skip", "not_fitted"])
                asked.type(answer)
                asked.read_until(f"kept: {name}: {answer}\n")
                said[name] = answer
            moment = chance.choice(["during the walk", "at the question", "typed", "kept"])
            if moment != "during the walk" or said:
                name = next_question(asked)
                if moment in ("typed", "kept"):
                    answer = chance.choice(["yes", "no"])
                    asked.type(answer)
                    unsure[name] = answer
                if moment == "kept":        # half-way through the acknowledgement, which is written after it is on the disk
                    asked.read_until(" kept:")
                    said[name] = unsure.pop(name)
            asked.kill()

            book = self.book(out) if os.path.exists(out + "/answers") and os.path.getsize(out + "/answers") else []
            self.assertEqual(dict(book) | said, dict(book), f"seed {seed}: an answer was lost")
            for name in set(dict(book)) - set(said):
                self.assertEqual(dict(book)[name], unsure.pop(name))
                said[name] = dict(book)[name]

            asked = Asked([bench, "--out", out, "--ask", "--resume"])
            again = []
            while (name := next_question(asked)) is not None:
                if said.get(name) == "skip":     # offered once more, after all others
                    self.assertEqual(set(said), set(names))
                    again.append(name)
                    asked.type("s")
                    continue
                self.assertNotIn(name, said, f"seed {seed}: asked twice")
                self.assertEqual(again, [], f"seed {seed}")
                asked.type("y")
                said[name] = "yes"
            self.assertEqual(again, [name for name in names if said[name] == "skip"], f"seed {seed}")
            self.assertIn(asked.close(), (1, 4), asked.text)
            book = self.book(out)
            self.assertEqual([name for name, _ in book], names, f"seed {seed}")
            self.assertEqual(dict(book), said)

    def test_an_answer_cut_in_the_middle_is_asked_again(self):
        walk(BOAT, "--ask", "--out", self.out, typed="y\nn\n")
        book = pathlib.Path(self.out, "answers")
        whole = book.read_bytes()
        last = whole[:-1].rfind(b"\n") + 1
        for cut in (last + 1, last + 9, len(whole) - 1):
            book.write_bytes(whole[:cut])
            out = walk(BOAT, "--ask", "--out", self.out, "--resume", typed="n\n")
            self.assertEqual(out.returncode, 1, out.stderr)
            self.assertNotIn("bilge pump run?", out.stdout)
            self.assertEqual(book.read_bytes(), whole)

    def test_with_a_real_controller_it_drives_before_it_asks(self):
        """In real time, on a bench with nothing but a lamp; what is sent is a message with the drive."""
        bench = pathlib.Path(self.tmp, "lamp.yaml")
        bench.write_text("""
kind: bench
name: lamp
engine: {firing_order: [1]}
stimuli: {oil_temperature: {unit: degC, initial: 20, min: 0, max: 150}}
supplies: {battery: {plus: B.1, minus: B.2}}
connectors: {B: {pins: 2}, E: {pins: 3}, L: {pins: 2}}
splices: [P]
loads: {lamp: {plus: L.1, minus: L.2, ohm: 60}}
wires:
  - {circuit: supply, from: B.1, to: P}
  - {circuit: supply, from: P, to: E.1}
  - {circuit: ground, from: B.2, to: E.2}
  - {circuit: lamp_supply, from: P, to: L.1}
  - {circuit: lamp_switched, from: L.2, to: E.3}
buses:
  car: {messages: {oil: {id: 0x10, sender: simulator, period_ms: 50, signals: {t: {start_bit: 0, length_bits: 8, unit: degC, carries: oil_temperature}}}}}
controller:
  supply: E.1
  ground: E.2
  outputs: {lamp: {terminal: E.3, kind: low_side, load: lamp, driven_by: {oil_temperature: 140}, asks: "Does the lamp light?"}}
""")
        out = walk(str(bench), "--real-time", "--real", "controller", "--ask", "--out", self.out, typed="\ny\n")
        self.assertIn("Enter sends oil_temperature 140 °C for 4 s", out.stdout)
        self.assertLess(out.stdout.index("CAUTION"), out.stdout.index("Enter sends"))
        self.assertLess(out.stdout.index("Enter sends"), out.stdout.index("Does the lamp light? [y/n/s(kip)/f (not fitted)/r(epeat)/q(uit)]"))
        self.assertEqual(self.book(), [("lamp", "yes")])
        self.assertEqual(circuits(self.out)["lamp_switched"], "proven")
        self.assertEqual(circuits(self.out)["ground"], "not_driven")
        out = walk(str(bench), "--real-time", "--real", "controller", "--ask", "--out", self.tmp + "/skipped", typed="s\n")
        self.assertEqual(self.book(self.tmp + "/skipped"), [("lamp", "skip")])

    def test_a_circuit_that_is_not_shown_is_signed_over_and_taken_back(self):
        again = ["walk", BOAT, "--out", self.out]
        self.assertEqual(walk(*again[1:]).returncode, 4)
        name = "injector_1_supply"

        def sign(*words):
            return subprocess.run([DRYCRANK, "sign", self.out, *words], capture_output=True, text=True, timeout=60)

        out = sign("--circuit", name, "--by", "A. Fitter", "--why", "rung out, 0.2 ohm")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertIn("--resume", out.stdout)
        out = walk(*again[1:], "--resume")
        self.assertEqual(out.returncode, 4, out.stderr)   # seven more are not shown
        self.assertIn("7 not shown (7 not asked), 1 signed over.", out.stdout)
        self.assertIn("signed over by A. Fitter: rung out, 0.2 ohm", out.stdout)
        page = pathlib.Path(self.out, "report.html").read_text()
        self.assertIn("signed over by A. Fitter", page[page.index("Sheet to sign"):])
        self.assertEqual(circuits(self.out)[name], "signed")
        self.assertEqual(sign("--circuit", name, "--by", "B. Checker", "--revoke").returncode, 0)
        walk(*again[1:], "--resume")
        self.assertEqual(circuits(self.out)[name], "not_asked")
        for words, said in ((["--circuit", "supply", "--by", "x", "--why", "y"], "supply is proven"),
                            (["--circuit", "suply", "--by", "x", "--why", "y"], "there is no circuit 'suply'"),
                            (["--circuit", name, "--by", "x"], "--why is missing"),
                            (["--circuit", name, "--by", "x", "--why", " "], "--why is missing"),
                            (["--circuit", name, "--by", " ", "--why", "y"], "--by is blank"),
                            (["--circuit", name, "--by", "x", "--revoke"], "there is nothing to take back")):
            out = sign(*words)
            self.assertEqual(out.returncode, 2)
            self.assertIn(said, out.stderr)
        self.assertEqual(len(pathlib.Path(self.out, "signatures").read_text().splitlines()), 3)

    def test_every_circuit_proven_or_on_paper_is_0(self):
        out = walk(f"{PROFILES}/benches/hill_climb.yaml", "--serial", "HC-7", "--revision", "C", "--out", self.out)
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertIn("The bench as drawn works", out.stdout)
        page = pathlib.Path(self.out, "report.html").read_text()
        sheet = page[page.index("Sheet to sign"):]
        for words in ("HC-7", ">C<", "The file only: no harness was judged"):
            self.assertIn(words, sheet)
        said = subprocess.run(["sha256sum", self.out + "/events.csv"], capture_output=True, text=True).stdout
        self.assertIn(said.split()[0], sheet)

    def test_at_a_terminal_the_sheet_is_asked_for_before_a_real_controller_is_driven(self):
        bench = f"{PROFILES}/benches/hill_climb.yaml"
        asked = Asked([bench, "--out", self.out, "--real", "controller", "--revision", "D"], by_pty=True)
        for what, typed in (("Serial number of the harness", "HC-9"), ("Firmware of the controller", "4.2")):
            self.assertIn(what, asked.read_until("leave it blank): "))
            asked.type(typed)
        self.assertIn("termination_vehicle", asked.read_until(PROMPT))
        asked.type("y")
        asked.close()
        sheet = pathlib.Path(self.out, "report.html").read_text().split("Sheet to sign")[1]
        for words in ("HC-9", ">D<", "real; firmware 4.2"):
            self.assertIn(words, sheet)
        self.assertNotIn("Firmware of the display", asked.text)

    def test_two_at_a_time_is_refused(self):
        first = Asked([BOAT, "--out", self.out, "--ask"])
        self.assertEqual(next_question(first), "bilge_pump")
        out = walk(BOAT, "--out", self.out, "--resume")
        self.assertEqual(out.returncode, 2)
        self.assertIn("is in use by process", out.stderr)
        first.type("q")
        first.read_until("\0")
        self.assertEqual(first.close(), 4)


unittest.main(argv=sys.argv[:1], verbosity=1)
