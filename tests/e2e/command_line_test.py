#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The programs as a person types them: exit codes, files left behind, clean ends."""
import array
import filecmp
import json
import os
import pathlib
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import unittest
import xml.etree.ElementTree

DRYCRANK, DRYCRANKD, PROFILES = sys.argv[1:4]
HEALTHY = f"{PROFILES}/scenarios/hill_climb/healthy.yaml"
SWAPPED = f"{PROFILES}/scenarios/hill_climb/cam_leads_swapped.yaml"
BENCH = f"{PROFILES}/benches/hill_climb.yaml"


def drycrank(*words, **kwargs):
    return subprocess.run([DRYCRANK, *words], capture_output=True, text=True, timeout=120, **kwargs)


def files_below(folder):
    root = pathlib.Path(folder)
    return sorted(str(p.relative_to(root)) for p in root.rglob("*") if p.is_file())


class Run(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.tmp = self.folder.name

    def test_healthy_is_0_and_a_fault_is_1(self):
        self.assertEqual(drycrank("run", HEALTHY).returncode, 0)
        self.assertEqual(drycrank("run", SWAPPED).returncode, 1)

    def test_bad_input_is_2_and_drives_nothing(self):
        bad = pathlib.Path(self.tmp) / "bad.yaml"
        bad.write_text("kind: scenario\nstepz: []\n")
        out = drycrank("run", str(bad), "--out", self.tmp + "/out")
        self.assertEqual(out.returncode, 2)
        self.assertIn("bad.yaml:2:1:", out.stderr)
        self.assertFalse(os.path.exists(self.tmp + "/out"))
        for words in (["run", "/nowhere.yaml"], ["run", HEALTHY, "--bus", "nosuch=inproc"],
                      ["run", HEALTHY, "--bus", "vehicle=string:can0"], ["walk-on-water"], []):
            self.assertEqual(drycrank(*words).returncode, 2, words)

    def test_an_unknown_command_is_answered_with_the_nearest(self):
        for words, said in ((["rnu"], "there is no command 'rnu'; did you mean 'run'?"),
                            (["diagnos", "x"], "did you mean 'diagnose'?"),
                            (["schedule", "chekc"], "drycrank schedule: there is no command 'chekc'; did you mean 'check'?"),
                            (["gremlin"], "known: run, judge, proofread, ")):
            out = drycrank(*words)
            self.assertEqual(out.returncode, 2, words)
            self.assertIn(said, out.stderr)
            self.assertEqual(len(out.stderr.splitlines()), 1, out.stderr)
        self.assertEqual(drycrank("run", "--help").returncode, 0)
        self.assertEqual(drycrank("schedule", "--help").returncode, 0)

    def test_help_is_a_word_too_and_nothing_at_all_gets_it(self):
        for words in ((), ("run",), ("display", "sweep")):
            asked = drycrank("help", *words)
            self.assertEqual((asked.returncode, asked.stderr), (0, ""), words)
            self.assertEqual(asked.stdout, drycrank(*words, "--help").stdout)
        bare = drycrank()
        self.assertEqual((bare.returncode, bare.stdout), (2, ""))
        self.assertEqual(bare.stderr, drycrank("--help").stdout)
        self.assertIn("there is no command 'rnu'", drycrank("help", "rnu").stderr)

    def test_a_command_that_was_renamed_is_answered_with_its_new_name(self):
        for old, new in (("lint", "proofread"), ("check", "judge"), ("render", "signals")):
            out = drycrank(old, HEALTHY)
            self.assertEqual((out.returncode, out.stdout), (2, ""))
            self.assertEqual(out.stderr, f"drycrank: {old} is now called {new}\n")
            self.assertEqual(drycrank(new, "--help").returncode, 0)

    def test_who_arms_it_is_kept_where_there_is_a_record(self):
        self.assertIn("Who says so; is kept in the record", drycrank("run", "--help").stdout)
        alone = drycrank("standin", "--help").stdout
        self.assertIn("Who says so; a stand-in leaves no record", alone)
        self.assertNotIn("is kept in the record", alone)

    def test_help_and_error_say_all_kinds_of_fault(self):
        kinds = set(json.loads((pathlib.Path(PROFILES) / "schema/scenario.schema.json").read_text())
                    ["$defs"]["fault"]["properties"]["kind"]["enum"])
        self.assertGreater(len(kinds), 24)
        shown = drycrank("walk", "--help").stdout
        refused = drycrank("walk", BENCH, "--fault", "{kind: gremlin, at: CLT.1}")
        self.assertEqual(refused.returncode, 2)
        for text in (shown, refused.stderr):
            self.assertFalse(kinds - set(re.findall(r"\w+", text)))

    def different_files(self, scenario, *words):
        """Of two runs of a scenario, the second with `words` beside; checks that both left the same names."""
        for name, more in (("a", ()), ("b", words)):
            os.makedirs(f"{self.tmp}/{name}", exist_ok=True)
            out = drycrank("run", scenario, "--out", "record", "--overwrite", *more, cwd=f"{self.tmp}/{name}")
            self.assertIn(out.returncode, (0, 1), out.stderr)
        files = files_below(self.tmp + "/a")
        self.assertEqual(files, files_below(self.tmp + "/b"))
        self.assertIn("record/events.csv", files)
        _, different, wrong = filecmp.cmpfiles(self.tmp + "/a", self.tmp + "/b", files, shallow=False)
        self.assertEqual(wrong, [])
        return different

    def test_two_runs_with_one_seed_are_the_same_byte_for_byte(self):
        # Leads swapped; OBD; J1939 with DM1; faults on the bus; a recording played.
        for name in ("hill_climb/cam_leads_swapped", "hill_climb/obd_air_not_fitted", "generator/dm1_codes",
                     "hill_climb/controller_bus_off", "hill_climb/babbling_node", "hill_climb/replayed"):
            self.assertEqual(self.different_files(f"{PROFILES}/scenarios/{name}.yaml"), [], name)

    def test_another_seed_gives_other_edges(self):
        self.assertIn("record/edges.bin", self.different_files(HEALTHY, "--seed", "2"))

    def test_a_record_is_judged_as_the_run_was(self):
        for scenario in (HEALTHY, SWAPPED):
            name = f"{self.tmp}/{os.path.basename(scenario)}"
            run = drycrank("run", scenario, "--out", name)
            judged = drycrank("judge", scenario, "--record", name, "--json", self.tmp + "/judged.json")
            self.assertEqual(run.returncode, judged.returncode)
            first = json.load(open(name + "/report.json"))
            second = json.load(open(self.tmp + "/judged.json"))
            for key in ("expectations", "circuits", "steps"):
                self.assertEqual(first[key], second[key], key)

    def test_a_cut_record_is_judged_so_far_and_said_to_be_cut(self):
        drycrank("run", HEALTHY, "--out", self.tmp + "/r")
        events = pathlib.Path(self.tmp + "/r/events.csv")
        events.write_bytes(events.read_bytes()[: events.stat().st_size // 2])
        judged = drycrank("judge", HEALTHY, "--record", self.tmp + "/r")
        self.assertEqual(judged.returncode, 2)
        self.assertIn("events.csv:", judged.stderr)

    def test_a_record_is_not_overwritten_unasked(self):
        drycrank("run", HEALTHY, "--out", self.tmp + "/r")
        before = pathlib.Path(self.tmp + "/r/events.csv").read_bytes()
        again = drycrank("run", SWAPPED, "--out", self.tmp + "/r")
        self.assertEqual(again.returncode, 2)
        self.assertIn("--overwrite", again.stderr)
        self.assertEqual(before, pathlib.Path(self.tmp + "/r/events.csv").read_bytes())
        self.assertEqual(drycrank("run", SWAPPED, "--out", self.tmp + "/r", "--overwrite").returncode, 1)

    def test_reports_are_what_they_say(self):
        drycrank("run", SWAPPED, "--out", self.tmp + "/r")
        suite = xml.etree.ElementTree.parse(self.tmp + "/r/junit.xml").getroot()
        self.assertTrue(suite.iter("failure").__next__() is not None)
        page = open(self.tmp + "/r/report.html").read()
        self.assertIn("<svg", page)
        self.assertNotIn("<script src", page)

    def test_a_run_that_is_stopped_claims_nothing(self):
        run = subprocess.Popen([DRYCRANK, "run", HEALTHY, "--real-time", "--out", self.tmp + "/st"],
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        time.sleep(1.5)
        run.send_signal(signal.SIGINT)
        out, _ = run.communicate(timeout=60)
        self.assertEqual(run.returncode, 4, out)
        self.assertIn("STOPPED at ", out)
        report = json.loads(open(self.tmp + "/st/report.json").read())
        self.assertEqual((report["standing"], report["stopped"], report["all_met"]), ("stopped", True, False))
        suite = xml.etree.ElementTree.parse(self.tmp + "/st/junit.xml").getroot()
        self.assertIn("end", [case.get("name") for case in suite.iter("testcase")])
        self.assertNotIn("READY<", open(self.tmp + "/st/report.html").read())
        judged = drycrank("judge", HEALTHY, "--record", self.tmp + "/st")
        self.assertEqual(judged.returncode, 4, judged.stdout)
        self.assertIn("STOPPED at ", judged.stdout)

    def test_nothing_expected_is_nothing_shown(self):
        scenario = pathlib.Path(self.tmp) / "quiet.yaml"
        scenario.write_text(f"kind: scenario\nbench: {BENCH}\nname: quiet\nsteps: [{{name: wait, for_s: 1}}]\n")
        out = drycrank("run", str(scenario))
        self.assertEqual(out.returncode, 4, out.stderr)
        self.assertIn("NOTHING SHOWN", out.stdout)

    def test_no_room_on_the_disk_is_told(self):
        out = drycrank("run", HEALTHY, "--json", "/dev/full")
        self.assertEqual(out.returncode, 3)
        self.assertIn("No space left", out.stderr)

    def test_a_real_interface_that_is_missing_is_3_with_a_remedy(self):
        out = drycrank("run", HEALTHY, "--real-time", "--bus", "vehicle=socketcan:can0")
        self.assertEqual(out.returncode, 3)
        self.assertRegex(out.stderr, "can0|CAN")


class Signals(unittest.TestCase):
    def test_files_open_elsewhere(self):
        with tempfile.TemporaryDirectory() as tmp:
            self.assertEqual(drycrank("signals", HEALTHY, "--out", tmp).returncode, 0)
            head = open(tmp + "/edges.vcd").read(200)
            self.assertIn("$timescale 1 ns $end", head)
            raw = open(tmp + "/waveforms.wav", "rb").read(4)
            self.assertEqual(raw, b"RIFF")
            rows = open(tmp + "/signals.csv").read().splitlines()
            self.assertTrue(rows[0].startswith("t_s,engine_speed (rpm)"))
            self.assertEqual(len(rows[0].split(",")), len(rows[-1].split(",")))


    def test_the_scale_is_chosen_so_that_nothing_clips_and_is_said(self):
        """A variable-reluctance pickup gives more than the 20 V of the old scale here. Samples are read
        as the format says: 32-bit float, little-endian, after the 'data' chunk's length."""
        def samples(folder):
            raw = pathlib.Path(folder, "waveforms.wav").read_bytes()
            at = raw.index(b"data")
            count = int.from_bytes(raw[at + 4:at + 8], "little") // 4
            return array.array("f", raw[at + 8:at + 8 + 4 * count])
        with tempfile.TemporaryDirectory() as tmp:
            chosen = drycrank("signals", HEALTHY, "--out", tmp + "/chosen")
            self.assertNotIn("clipped", chosen.stdout)
            scale = float(re.search(r"waveforms.wav: \d+ samples per channel, 1.0 is ([0-9.]+) V", chosen.stdout).group(1))
            loud = samples(tmp + "/chosen")
            peak = max(map(abs, loud))
            self.assertLessEqual(peak, 1)
            self.assertGreater(peak, 0.4)     # 1, 2, 5: the next smaller scale would have clipped
            given = drycrank("signals", HEALTHY, "--out", tmp + "/given", "--full-scale", str(2 * scale))
            self.assertIn(f"1.0 is {2 * scale:g} V", given.stdout)
            quiet = samples(tmp + "/given")
            self.assertEqual(len(quiet), len(loud))
            self.assertLess(max(abs(a - 2 * b) for a, b in zip(loud[::97], quiet[::97])), 1e-6)
            clipped = drycrank("signals", HEALTHY, "--out", tmp + "/clipped", "--full-scale", str(scale * peak / 2))
            self.assertRegex(clipped.stdout, r"\d+ samples were louder than .* and clipped; leave --full-scale out")


class Proofread(unittest.TestCase):
    def test_shipped_files_are_in_order(self):
        files = sorted(str(p) for p in pathlib.Path(PROFILES).glob("benches/*.yaml"))
        files += sorted(str(p) for p in pathlib.Path(PROFILES).glob("scenarios/*/*.yaml"))
        out = drycrank("proofread", *files)
        self.assertEqual(out.returncode, 0, out.stderr)

    def test_a_gauge_that_would_go_stale_is_found_on_paper(self):
        good = pathlib.Path(PROFILES, "benches/kart.yaml").read_text()
        self.assertIn("stale_ms: 300", good)
        with tempfile.TemporaryDirectory() as tmp:
            shutil.copytree(PROFILES, tmp + "/profiles")
            bench = pathlib.Path(tmp, "profiles/benches/kart.yaml")
            # Every 10 ms and up to 0.328 ms late: 10.3 ms may pass between two.
            bench.write_text(re.sub("stale_ms: 300", "stale_ms: 10.3", good, count=1))
            out = drycrank("proofread", str(bench))
        self.assertEqual(out.returncode, 2)
        self.assertIn("bus dash, 500 kbit/s", out.stdout)
        self.assertRegex(out.stderr, r"kart.yaml:\d+:\d+: gauge '\w+' would go stale: it waits 10.3 ms")


    def test_what_was_told_wrong_is_named_with_both_sides(self):
        good = pathlib.Path(BENCH).read_text()
        told = "value_at_volts: [[0.5, 20], [4.5, 400]]"
        self.assertEqual(good.count(told), 1)
        line = good[:good.index(told)].count("\n") + 1
        built = good[:good.index("\n  manifold:")].count("\n") + 2
        with tempfile.TemporaryDirectory() as tmp:
            shutil.copytree(PROFILES, tmp + "/profiles")
            bench = pathlib.Path(tmp, "profiles/benches/hill_climb.yaml")
            bench.write_text(good.replace(told, "value_at_volts: [[0.5, 20], [4.5, 300]]"))
            out = drycrank("proofread", str(bench))
        self.assertEqual(out.returncode, 2)
        self.assertRegex(out.stderr, rf"hill_climb.yaml:{line}:\d+: the table of 'manifold_pressure' says (299\.[6-9]|300)")
        self.assertRegex(out.stderr, rf"sensor 'manifold' gives that at 400 kPa \(.*hill_climb.yaml:{built}:\d+\)")
        self.assertIn("1 problem found", out.stderr)

    def test_what_a_bench_does_not_say_is_not_taken_for_agreement(self):
        good = pathlib.Path(BENCH).read_text()
        with tempfile.TemporaryDirectory() as tmp:
            shutil.copytree(PROFILES, tmp + "/profiles")
            bench = pathlib.Path(tmp, "profiles/benches/hill_climb.yaml")
            bench.write_text(good.replace("  advance_deg: 12  ", "  # ", 1))
            out = drycrank("proofread", str(bench))
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertRegex(out.stdout, r"not compared: .*hill_climb.yaml:\d+:\d+: the ignition advance")
        self.assertNotIn("not compared", drycrank("proofread", BENCH).stdout)


class Settings(unittest.TestCase):
    def test_for_people_and_for_programs(self):
        text = drycrank("settings", BENCH)
        self.assertEqual((text.returncode, text.stderr), (0, ""))
        self.assertIn("firing order         1-3-4-2", text.stdout)
        data = json.loads(drycrank("settings", BENCH, "--json").stdout)
        self.assertEqual((data["format"], data["format_version"]), ("drycrank settings", 1))
        self.assertEqual(data["engine"]["firing_order"], [1, 3, 4, 2])

    def test_each_shipped_bench_has_some(self):
        for bench in sorted(pathlib.Path(PROFILES).glob("benches/*.yaml")):
            out = drycrank("settings", str(bench))
            self.assertEqual((out.returncode, out.stderr), (0, ""), bench)
            self.assertIn("Trigger ", out.stdout)

    def test_a_bench_that_does_not_load_has_none(self):
        with tempfile.TemporaryDirectory() as tmp:
            bench = pathlib.Path(tmp, "b.yaml")
            bench.write_text("kind: bench\nname: b\nengine: {firing_order: [1]}\n")
            out = drycrank("settings", str(bench))
        self.assertEqual((out.returncode, out.stdout), (2, ""))
        self.assertIn("the bench has no controller", out.stderr)


class Messages(unittest.TestCase):
    def test_of_a_bench_and_of_a_part_are_the_same(self):
        bench = json.loads(drycrank("messages", BENCH, "--json").stdout)["vehicle"]
        part = json.loads(drycrank("messages", f"{PROFILES}/parts/buses/hill_climb_vehicle.yaml", "--json").stdout)
        self.assertEqual(part, {"hill_climb_vehicle": bench})
        self.assertEqual(bench["messages"]["engine_temps"]["signals"]["air"]["offset"], -40)
        self.assertIn("0x120", drycrank("messages", BENCH).stdout)

    def test_bad_input_is_2(self):
        with tempfile.NamedTemporaryFile("w", suffix=".yaml") as part:
            part.write("messages: {a: {id: 0x900}}\n")
            part.flush()
            out = drycrank("messages", part.name)
        self.assertEqual((out.returncode, out.stdout), (2, ""))
        self.assertIn(":1:20: id 0x900 has more than 11 bits", out.stderr)
        self.assertEqual(drycrank("messages", "/nowhere.yaml").returncode, 2)


class WalkAndDiagnose(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.out = folder.name + "/walk"

    def test_every_circuit_of_the_shipped_benches_is_proven_that_needs_nobody(self):
        # Of outputs that no message shows, and of the lamp that is on paper only: two circuits each.
        for bench, waiting in (("hill_climb", 0), ("boat_v8", 4), ("kart", 3), ("generator", 0)):
            out = drycrank("walk", f"{PROFILES}/benches/{bench}.yaml")
            self.assertEqual(out.returncode, 4 if waiting else 0, out.stdout)
            proven, circuits = map(int, re.search(r"(\d+) of (\d+) circuits proven", out.stdout).groups())
            self.assertEqual(circuits - proven, 2 * waiting, bench)

    def test_a_healthy_walk_needs_no_explanation(self):
        self.assertEqual(drycrank("walk", BENCH, "--out", self.out).returncode, 0)
        out = drycrank("diagnose", self.out)
        self.assertEqual((out.returncode, out.stderr), (0, ""))
        self.assertIn("Nothing to explain", out.stdout)

    def test_an_open_contact_is_named_with_what_looks_the_same_and_the_next_test(self):
        out = drycrank("walk", BENCH, "--fault", "{kind: open, at: CLT.1}", "--out", self.out)
        self.assertEqual(out.returncode, 1)
        self.assertIn("drycrank diagnose " + self.out, out.stdout)
        page = pathlib.Path(self.out + "/which-wire.html")
        out = drycrank("diagnose", self.out, "--json", self.out + "/diagnosis.json", "--html", str(page))
        self.assertEqual(out.returncode, 1, out.stderr)
        markup = xml.etree.ElementTree.fromstring(page.read_text().replace("<!DOCTYPE html>", ""))
        sections = [part.get("id") for part in markup.iter("section")]
        self.assertEqual(sections, ["faults", "tests", "drawing", "curves", "clues", "cautions"])
        found = json.loads(pathlib.Path(self.out + "/diagnosis.json").read_text())
        self.assertEqual(found["verdict"], "explained")
        places = {at for member in found["groups"][0]["members"] for at in member["at"]}
        self.assertLessEqual({"CLT.1", "CLT.2", "ECU.20", "coolant_signal", "coolant_ground"}, places)
        self.assertRegex(out.stdout, r"Next test: volts at (CLT\.[12]|ECU\.20), wire side")

    def test_the_record_says_how_to_walk_so_again(self):
        drycrank("walk", BENCH, "--fault", "{kind: open, at: CLT.1}", "--seed", "5", "--out", self.out)
        again = json.loads(pathlib.Path(self.out + "/report.json").read_text())
        self.assertIn('--seed 5 --fault "{kind: open, at: CLT.1}"', json.dumps(again).replace('\\"', '"'))

    def walk_kart(self):
        """The kart with the cylinder head sensor's signal contact open."""
        drycrank("walk", f"{PROFILES}/benches/kart.yaml", "--fault", "{kind: open, at: HT.1}", "--out", self.out)

    def kept(self):
        path = pathlib.Path(self.out + "/measurements")
        return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []

    def test_a_reading_is_kept_with_name_weighed_and_taken_back(self):
        self.walk_kart()
        # 5 V at the signal's pin, 0 at the ground's: nothing flows, and neither wire is broken.
        out = drycrank("diagnose", self.out, "--measured", "HT.1=4,97 V", "--measured", "HT.2=2 mV", "--by", "A. Fitter")
        self.assertEqual((out.returncode, out.stderr), (1, ""))
        self.assertIn("1. HT.1=4,97 V", out.stdout)
        self.assertIn("A. Fitter", out.stdout)
        self.assertNotIn("wire head_ground open", out.stdout[out.stdout.index("Readings taken"):])
        self.assertEqual([line.get("by") for line in self.kept()], [None, "A. Fitter", "A. Fitter"])
        # Kept: the same again adds nothing; without options the readings still count.
        again = drycrank("diagnose", self.out)
        self.assertIn("2. HT.2=2 mV", again.stdout)
        drycrank("diagnose", self.out, "--measured", "HT.2=2 mV")
        self.assertEqual(len(self.kept()), 3)
        back = drycrank("diagnose", self.out, "--take-back", "2", "--by", "B. Fitter")
        self.assertNotIn("HT.2=2 mV", back.stdout)
        self.assertEqual(self.kept()[-1]["take_back"], 2)
        out = drycrank("diagnose", self.out, "--take-back", "2")
        self.assertEqual(out.returncode, 2)
        self.assertIn("there is no reading 2 to take back; kept are: 1 (HT.1=4,97 V)", out.stderr)

    def with_readings(self, *readings):
        """Text and JSON of a diagnosis with them."""
        path = pathlib.Path(self.out + "/diagnosis.json")
        words = [word for reading in readings for word in ("--measured", reading)]
        text = drycrank("diagnose", self.out, *words, "--json", str(path), "--html", self.out + "/which.html").stdout
        return text, json.loads(path.read_text())

    def test_page_terminal_and_json_have_the_shares_that_readings_leave(self):
        self.walk_kart()
        text, found = self.with_readings("HT.1=-6 V")
        head, foot = text[:text.index("Readings taken")], text[text.index("Left, by repair"):]
        unknown = f"{100 * found['unknown_share']:.0f} %  something that is not on "
        self.assertIn(unknown, head)
        self.assertIn(unknown, foot)
        self.assertGreater(found["unknown_share"], 0.1)
        self.assertIn(f" 1.  {100 * found['groups'][0]['share']:.0f} %", head)
        self.assertAlmostEqual(found["before_readings"]["unknown_share"], 0.04, 2)
        self.assertAlmostEqual(found["groups"][0]["share_before"], 0.96, 2)
        self.assertNotIn("explains every reading", head)
        self.assertIn("against  reading 1: HT.1=-6 V, at the bench: this fault does not give that", head)
        page = pathlib.Path(self.out + "/which.html").read_text()
        self.assertIn(f'{100 * found["unknown_share"]:.0f} %</td><td class="num">4 %</td>', page)
        row = page[page.index("readings it does not explain"):]
        self.assertIn("<td>1\N{NO-BREAK SPACE}reading</td>", row[:row.index("</tr><tr>", row.index("<td"))])

    def test_a_wire_that_the_meter_cleared_is_in_no_group_of_the_json(self):
        self.walk_kart()
        _, found = self.with_readings()
        named = lambda json_: {at for group in json_["groups"] for member in group["members"] for at in member["at"]}
        self.assertLessEqual({"head_signal", "head_ground"}, named(found))
        self.assertNotIn("before_readings", found)
        text, found = self.with_readings("HT.1=4.97 V", "HT.2=2 mV")
        self.assertFalse({"head_signal", "head_ground"} & named(found))
        self.assertLessEqual({"head_signal", "head_ground"}, {at for fault in found["cleared"] for at in fault["at"]})
        self.assertNotIn("head_ground open", text)
        self.assertEqual(found["verdict"], "explained")

    def test_an_impossible_reading_and_two_that_differ_are_said_so(self):
        self.walk_kart()
        out = drycrank("diagnose", self.out, "--measured", "HT.1=-6 V")
        self.assertIn("no suspect gives this reading: check the probe, or the fault is not on my list",
                      " ".join(out.stdout.split()))
        drycrank("diagnose", self.out, "--take-back", "1")
        out = drycrank("diagnose", self.out, "--measured", "HT.1=4.97 V", "--measured", "HT.1=0.02 V")
        self.assertIn("are of the same test and differ: 4.97 V and 0.02 V", " ".join(out.stdout.split()))

    def test_readings_that_cannot_be_read_are_all_said_and_none_is_kept(self):
        self.walk_kart()
        part = pathlib.Path(self.out + ".txt")
        part.write_text("# by hand\nHT.1=4.97 V\nHT.1=4.97\n  \nHT.1-HT.2=12 ohm @ at_rest  # no\n")
        out = drycrank("diagnose", self.out, "--measured", "HX.1=1 V", "--measurements", str(part))
        self.assertEqual(out.returncode, 2)
        self.assertIn('--measured "HX.1=1 V": there is no terminal or splice HX.1 on this bench; did you mean ', out.stderr)
        self.assertIn(f"{part}:3:6: 4.97 has no unit; write 4.97 V, ", out.stderr)
        self.assertIn(f"{part}:5:18: ohms are measured with the key off, in no step", out.stderr)
        self.assertEqual(self.kept(), [])
        self.assertEqual(drycrank("diagnose", self.out, "--measurements", "/nowhere.txt").returncode, 2)

    def test_a_record_without_its_profile_takes_no_reading(self):
        self.walk_kart()
        record = pathlib.Path(self.out + "/record.json")
        record.write_text(json.dumps({**json.loads(record.read_text()), "profiles": []}))
        out = drycrank("diagnose", self.out, "--measured", "HT.1=1 V")
        self.assertEqual(out.returncode, 2)
        self.assertIn("names no profile", out.stderr)
        self.assertEqual(self.kept(), [])

    def test_a_bench_that_was_changed_after_its_walk_is_said_with_what_to_do(self):
        bench = pathlib.Path(self.out + ".yaml")
        kart = pathlib.Path(f"{PROFILES}/benches/kart.yaml").read_text().replace("../parts/", f"{PROFILES}/parts/")
        bench.write_text(kart)
        self.addCleanup(bench.unlink)
        self.assertEqual(drycrank("walk", str(bench), "--fault", "{kind: open, at: HT.1}", "--out", self.out).returncode, 1)
        self.assertNotIn("Note:", drycrank("diagnose", self.out).stdout)
        bench.write_text(kart + "# another remark\n")
        line = kart.count("\n") + 1
        path = pathlib.Path(self.out + "/d.json")
        told = " ".join(drycrank("diagnose", self.out, "--json", str(path)).stdout.split())
        self.assertIn(f"{bench.name} is not as it was at that run, from line {line} on", told)
        self.assertIn("Walk again, or put the file back as it was", told)
        self.assertIn("is not as it was", json.loads(path.read_text())["notes"][0])

    def test_a_walk_anew_forgets_the_readings_of_the_record_before(self):
        self.walk_kart()
        drycrank("diagnose", self.out, "--measured", "HT.1=4.97 V")
        drycrank("walk", f"{PROFILES}/benches/kart.yaml", "--fault", "{kind: open, at: HT.2}", "--out", self.out, "--overwrite")
        self.assertNotIn("HT.1=4.97 V", drycrank("diagnose", self.out).stdout)

    def test_the_conversation_ends_with_one_repair_or_says_that_it_did_not(self):
        self.walk_kart()
        out = drycrank("diagnose", self.out, "--ask", input="what?\n?\n4.97 volts and a bit\nq\n")
        self.assertEqual(out.returncode, 4)
        self.assertIn("stopped before one repair was named", out.stderr)
        self.assertIn("'what?' is no ", " ".join(out.stdout.split()))
        self.assertEqual(self.kept(), [])
        out = drycrank("diagnose", self.out, "--ask", input="HT.1=4.97 V\nHT.2=0 V\ndevice HT.1-HT.2=12.4 kohm\n")
        self.assertEqual((out.returncode, out.stderr), (1, ""), out.stdout)
        self.assertIn("REPAIR: contacts of plug HT", out.stdout)
        self.assertEqual(len(self.kept()), 4)

    def test_what_nobody_can_reach_is_not_asked_again(self):
        self.walk_kart()
        out = drycrank("diagnose", self.out, "--ask", input="cannot HT\ncannot CU\nq\n")
        last = out.stdout[out.stdout.rindex("kept as 2"):]
        self.assertNotRegex(last, r"Next test: [^\n]*(HT|CU)\.")

    def test_bad_input_is_2(self):
        for words in (["walk", "/nowhere.yaml"], ["walk", BENCH, "--fault", "{kind: opn, at: X}"],
                      ["walk", BENCH, "--bus", "vehicle=multicast"], ["diagnose", "/nowhere"]):
            out = drycrank(*words)
            self.assertEqual(out.returncode, 2, words)
            self.assertTrue(out.stderr, words)


class Doctor(unittest.TestCase):
    def test_what_is_missing_is_3_with_a_command_and_a_page(self):
        with tempfile.TemporaryDirectory() as tmp:
            out = drycrank("doctor", BENCH, "--bus", "vehicle=socketcan:nosuch0", "--json", tmp + "/d.json")
            self.assertEqual(out.returncode, 3, out.stderr)
            found = json.loads(pathlib.Path(tmp + "/d.json").read_text())
        self.assertFalse(found["well"])
        troubles = [f for f in found["findings"] if f["trouble"]]
        self.assertIn(troubles[0]["cause"], ("no-can-in-kernel", "no-interface"))
        self.assertIn(troubles[0]["command"], out.stdout)
        root = pathlib.Path(PROFILES).parent
        for finding in found["findings"]:
            self.assertTrue((root / finding["page"]).is_file(), finding)

    def test_bad_input_is_2(self):
        for words in (["/nowhere.yaml"], [BENCH, "--bus", "nosuch=socketcan:can0"], ["--bus", "string:can0"],
                      ["--arm"]):
            self.assertEqual(drycrank("doctor", *words).returncode, 2, words)


class Compare(unittest.TestCase):
    def test_two_records_are_compared_in_sentences(self):
        with tempfile.TemporaryDirectory() as tmp:
            for name, scenario in (("may", "healthy"), ("now", "healthy"), ("late", "cam_one_tooth_late")):
                drycrank("run", f"{PROFILES}/scenarios/hill_climb/{scenario}.yaml", "--quiet", "--out", f"{tmp}/{name}")
            same = drycrank("compare", f"{tmp}/may", f"{tmp}/now")
            self.assertEqual(same.returncode, 0, same.stderr)
            self.assertRegex(same.stdout, r"^nothing changed: \d+ expectations and 34 circuits as before\n$")
            late = drycrank("compare", f"{tmp}/may", f"{tmp}/late/report.json", "--junit", f"{tmp}/c.xml")
            self.assertEqual(late.returncode, 1, late.stderr)
            self.assertRegex(late.stdout, r"(?m)^cam_is_where_it_belongs: now failed, was met: ")
            self.assertRegex(late.stdout, r"(?m)^note: the list of faults put in is .*18° of crank late, was none$")
            self.assertIn("<failure", pathlib.Path(f"{tmp}/c.xml").read_text())
            (pathlib.Path(tmp) / "shown.csv").write_text("x")
            for other in (tmp, BENCH, f"{tmp}/none", f"{tmp}/none.json"):
                out = drycrank("compare", f"{tmp}/may", other)
                self.assertEqual(out.returncode, 2, out.stdout)
                self.assertIn("record", out.stderr)


class Help(unittest.TestCase):
    def test_every_command_shows_an_example(self):
        for command in ("run", "judge", "doctor", "proofread", "settings", "sign", "convert", "decode", "signals", "match", "limits", "calibrate", "standin", "tell", "messages", "walk",
                        "diagnose", "campaign", "explain", "compare", "display", "display sweep", "display setting", "display draw", "schedule", "schedule import", "schedule check", "schedule draw", "schedule cut", "schedule diff"):
            self.shows_an_example([DRYCRANK, *command.split()], f"drycrank {command}")
        self.shows_an_example([DRYCRANKD], "drycrankd")

    def test_no_command_is_left_out_above(self):
        listed = re.search(r"Subcommands:\n((?:  .*\n)+)", drycrank("--help").stdout)[1]
        names = re.findall(r"^  (\w+) ", listed, re.M)
        self.assertIn("run", names)
        text = pathlib.Path(__file__).read_text()
        for name in names:
            self.assertIn(f'"{name}"', text[text.index("class Help"):])

    def shows_an_example(self, words, name):
        """Below "Example" a line that begins with the command itself."""
        out = subprocess.run([*words, "--help"], capture_output=True, text=True, timeout=120)
        self.assertEqual(out.returncode, 0)
        self.assertRegex(out.stdout, rf"Examples?:\n(  .*\n)*?  {name}[ \n]", name)


class Daemon(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.socket = self.folder.name + "/control"
        self.process = subprocess.Popen([DRYCRANKD, BENCH, "--socket", self.socket], stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, text=True)
        self.assertIn("is live", self.process.stdout.readline())
        self.addCleanup(self.end)

    def end(self):
        if self.process.poll() is None:
            self.process.kill()
        self.process.communicate()

    def tell(self, *words):
        out = drycrank("tell", "--socket", self.socket, *words)
        return out.returncode, json.loads(out.stdout)

    def wait_for(self, holds):
        for _ in range(100):
            status = self.tell("status")[1]
            if holds(status):
                return status
            time.sleep(0.05)
        self.fail(f"did not come true: {status}")

    def test_takes_values_and_faults_and_ends_on_sigterm(self):
        self.assertEqual(self.tell("set", "coolant_temperature", "90", "°C", "--leave")[0], 0)
        self.wait_for(lambda s: s["display"]["coolant"]["shown"] == 90)
        self.assertEqual(self.tell("ramp engine_speed 900 rpm in 200 ms", "--leave")[0], 0)
        self.wait_for(lambda s: s["controller"]["state"] == "synchronised")
        self.assertEqual(self.tell("fault {name: gone, kind: not_fitted, at: cam_intake}")[0], 0)
        self.wait_for(lambda s: s["controller"]["state"] != "synchronised")
        self.assertEqual(self.tell("clear", "gone")[0], 0)
        self.wait_for(lambda s: s["controller"]["state"] == "synchronised")
        self.process.send_signal(signal.SIGTERM)
        self.assertEqual(self.process.wait(timeout=10), 0)
        self.assertFalse(os.path.exists(self.socket))

    def test_bad_requests_are_answered_and_change_nothing(self):
        for words in ("set warp 9", "set coolant_temperature 90 psi", "set coolant_temperature 9000",
                      "fault {kind: gremlin, at: CLT.1}", "fault {", "clear nothing", "dance", ""):
            code, reply = self.tell(words)
            self.assertEqual(code, 2, words)
            self.assertTrue(reply["problem"])
        self.assertEqual(self.tell("status")[1]["faults"], [])

    def test_hostile_clients_do_not_stop_it(self):
        for data in (b"\xff\x00\n" * 100, b"x" * 100_000, b"status"):
            client = socket.socket(socket.AF_UNIX)
            client.connect(self.socket)
            try:
                client.sendall(data)
            except OSError:
                pass
            client.close()
        self.assertEqual(self.tell("status")[0], 0)

    def test_a_second_daemon_leaves_the_first_alone(self):
        second = subprocess.run([DRYCRANKD, BENCH, "--socket", self.socket], capture_output=True, text=True, timeout=30)
        self.assertEqual(second.returncode, 2)
        self.assertIn("another drycrankd", second.stderr)
        self.assertEqual(self.tell("stop")[0], 0)
        self.assertEqual(self.process.wait(timeout=10), 0)


unittest.main(argv=sys.argv[:1], verbosity=1)
