#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Fault campaigns as a person types them: whole, in parts, interrupted, spread by GNU parallel."""
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

DRYCRANK, PROFILES = (os.path.abspath(path) for path in sys.argv[1:3])
KART = f"{PROFILES}/benches/kart.yaml"
NOTES = pathlib.Path(PROFILES).parent / "hw-notes" / "fault-campaign.md"
FILES = ("campaign.json", "faults.jsonl", "summary.json", "table.txt", "report.html")


def campaign(*words, **kwargs):
    return subprocess.run([DRYCRANK, "campaign", *words], capture_output=True, text=True, timeout=200, **kwargs)


def contents(folder):
    return {name: pathlib.Path(folder, name).read_bytes() for name in FILES}


class Campaign(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        cls.whole = cls.folder.name + "/whole"
        out = campaign(KART, "--out", cls.whole, "--jobs", "2")
        assert out.returncode == 0, out.stderr
        cls.table = out.stdout
        for part in (1, 2, 3):
            out = campaign(KART, "--shard", f"{part}/3", "--out", f"{cls.folder.name}/part{part}", "--jobs", "2")
            assert out.returncode == 0, out.stderr

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = folder.name

    def parts(self, *numbers):
        return [f"{self.folder.name}/part{n}" for n in numbers]

    def test_table_counts_what_the_lines_say(self):
        lines = [json.loads(line) for line in pathlib.Path(self.whole, "faults.jsonl").read_text().splitlines()]
        summary = json.loads(pathlib.Path(self.whole, "summary.json").read_text())
        self.assertEqual([line["index"] for line in lines], list(range(summary["faults"])))
        for row in summary["kinds"]:
            mine = [line for line in lines if row["kind"] in (line["kind"], "all")]
            self.assertEqual(row["faults"], len(mine))
            for who in ("controller", "display", "checker", "nobody"):
                self.assertEqual(row[who], sum(line["noticed_by"] == who for line in mine), row["kind"])
            silent = [line for line in mine if line["noticed_by"] == "nobody" and line["effects"]]
            self.assertEqual(row["nobody_with_effect"], len(silent))
            self.assertRegex(self.table, rf"(?m)^{re.escape(row['kind'])} +{len(mine)} +{row['controller']} ")
        self.assertEqual({line["noticed_by"] for line in lines}, {"controller", "display", "checker", "nobody"})

    def test_who_noticed_agrees_with_what_is_said(self):
        for line in map(json.loads, pathlib.Path(self.whole, "faults.jsonl").read_text().splitlines()):
            first = next((who for who in ("controller", "display", "checker") if line[who]), "nobody")
            self.assertEqual(line["noticed_by"], first, line["fault"])

    def test_parts_merged_are_the_whole_byte_for_byte(self):
        out = campaign("--merge", *self.parts(2, 1, 3), "--out", self.tmp + "/merged")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertEqual(contents(self.tmp + "/merged"), contents(self.whole))
        self.assertNotEqual(contents(self.parts(1)[0]), contents(self.whole))

    def test_predicted_is_what_is_played_byte_for_byte_but_for_the_mark(self):
        played = self.tmp + "/played"
        out = campaign(KART, "--play-all", "--out", played, "--jobs", "2")
        self.assertEqual(out.returncode, 0, out.stderr)
        lines = [pathlib.Path(folder, "faults.jsonl").read_text() for folder in (self.whole, played)]
        self.assertNotEqual(*lines)
        self.assertEqual(set(re.findall(r'"made":"([^"]+)"', lines[1])), {"played"})
        self.assertEqual(*(re.sub(r'"made":"[^"]+",', "", text) for text in lines))
        tables = [pathlib.Path(folder, "table.txt").read_text().splitlines() for folder in (self.whole, played)]
        self.assertRegex(tables[0][2], r"^Predicted: \d+, of which \d+ were played as well and say the same\. Played: \d+\.$")
        self.assertEqual(tables[1][2], "Every fault was played.")
        for table in tables:
            del table[2]
        self.assertEqual(*tables)

    def test_most_are_predicted_and_a_tenth_of_them_is_played(self):
        made = json.loads(pathlib.Path(self.whole, "summary.json").read_text())["made"]
        predicted = made["predicted"] + made["predicted and played"]
        self.assertGreater(predicted, 500)
        self.assertTrue(0.05 < made["predicted and played"] / predicted < 0.16, made)  # 4 standard deviations
        self.assertEqual(made["played, not as predicted"], 0)

    def test_a_prediction_that_does_not_hold_is_said_and_all_are_played(self):
        """Of a campaign that was interrupted after it had found one."""
        folder = pathlib.Path(self.tmp, "distrusted")
        folder.mkdir()
        shutil.copy(pathlib.Path(self.whole, "campaign.json"), folder)
        lines = [json.loads(line) for line in pathlib.Path(self.whole, "faults.jsonl").read_text().splitlines()]
        wrong = next(line for line in lines if line["made"] == "predicted and played")
        wrong["made"] = "played, not as predicted"
        kept = [json.dumps(line, ensure_ascii=False, separators=(",", ":")) + "\n" for line in lines[:300]]
        self.assertLess(wrong["index"], 300)
        (folder / "faults.jsonl").write_text("".join(kept))
        out = campaign(KART, "--out", str(folder), "--jobs", "2")
        self.assertEqual(out.returncode, 3)
        self.assertIn("a fault played otherwise than predicted; now every fault is played", out.stderr)
        said = "Predictions are not to be trusted here: 1 played otherwise than predicted"
        for name in ("table.txt", "report.html"):
            self.assertIn(said, (folder / name).read_text())
        self.assertIn(said, out.stdout)
        summary = json.loads((folder / "summary.json").read_text())
        self.assertFalse(summary["predictions_trusted"])
        self.assertEqual((summary["made"]["predicted"], sum(summary["made"].values())), (0, summary["faults"]))

    def test_what_is_predicted_and_what_is_played_are_two_campaigns(self):
        out = campaign(KART, "--play-all", "--out", self.whole)
        self.assertEqual(out.returncode, 2)
        self.assertIn("holds another campaign (faults predicted, not all played)", out.stderr)

    def test_what_does_not_fit_is_refused_and_said(self):
        def refused(folders, *patterns):
            out = campaign("--merge", *folders, "--out", self.tmp + "/merged")
            self.assertEqual(out.returncode, 2)
            self.assertFalse(os.path.exists(self.tmp + "/merged"))
            for pattern in patterns:
                self.assertRegex(out.stderr, pattern)

        refused(self.parts(1, 3), "missing: shard 2/3")
        refused(self.parts(1, 2, 2, 3), "shard 2/3 is there more than once")
        refused([self.tmp + "/nothing"], "there is no campaign in it")
        refused(self.parts(1, 2) + [self.whole], "cut into 1 shards, not 3", "missing: shard 3/3")
        for key, value, said in (("version", "9.9.9", "version 9.9.9, not "), ("seed", 7, "seed 7, not 1"),
                                 ("bench", {"name": "kart", "title": "", "hash": "0"}, "other contents of bench kart"),
                                 ("bench", {"name": "cart", "title": "", "hash": "0"}, "bench cart, not kart"),
                                 ("scenario", {"name": "healthy", "hash": "1"}, "scenario healthy, not walk")):
            other = f"{self.tmp}/other"
            shutil.copytree(self.parts(3)[0], other, dirs_exist_ok=True)
            head = json.loads(pathlib.Path(other, "campaign.json").read_text())
            head[key] = value
            pathlib.Path(other, "campaign.json").write_text(json.dumps(head))
            refused(self.parts(1, 2) + [other], said)
        cut = f"{self.tmp}/cut"
        shutil.copytree(self.parts(3)[0], cut)
        lines = pathlib.Path(cut, "faults.jsonl")
        lines.write_bytes(lines.read_bytes()[:-20])
        refused(self.parts(1, 2) + [cut], r"not finished, \d+ of \d+ faults")

    def test_killed_and_taken_up_again_is_the_same(self):
        folder = self.tmp + "/killed"
        lines = pathlib.Path(folder, "faults.jsonl")
        process = subprocess.Popen([DRYCRANK, "campaign", KART, "--out", folder, "--jobs", "1"],
                                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        while process.poll() is None and not (lines.exists() and lines.read_bytes().count(b"\n") >= 5):
            pass
        process.kill()
        self.assertEqual(process.wait(), -9)
        kept = lines.read_bytes()
        done = kept.count(b"\n")
        self.assertLess(done, 400)
        kept = kept[:kept.rfind(b"\n") + 1]
        lines.write_bytes(kept + b'{"index":400,"kind":"wire o')  # cut in the middle of a line
        out = campaign(KART, "--out", folder, "--jobs", "2")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertIn(f"Taken up again: {done} faults were done", out.stderr)
        self.assertEqual(contents(folder), contents(self.whole))

    def test_another_campaign_is_not_taken_up(self):
        out = campaign(KART, "--seed", "2", "--out", self.whole)
        self.assertEqual(out.returncode, 2)
        self.assertIn("holds another campaign (seed 1, not 2)", out.stderr)
        pathlib.Path(self.tmp, "note.txt").write_text("mine")
        out = campaign(KART, "--out", self.tmp)
        self.assertEqual(out.returncode, 2)
        self.assertIn("holds note.txt, which is of no campaign", out.stderr)

    def test_a_scenario_must_be_healthy_and_of_the_bench(self):
        bad = (f"{PROFILES}/scenarios/kart/leads_swapped.yaml", f"{PROFILES}/scenarios/generator/healthy.yaml")
        for scenario, said in zip(bad, ("has faults of its own", "of another bench")):
            out = campaign(KART, "--scenario", scenario, "--out", self.tmp + "/x")
            self.assertEqual(out.returncode, 2)
            self.assertIn(said, out.stderr)
        out = campaign(KART, "--scenario", f"{PROFILES}/scenarios/kart/healthy.yaml", "--shard", "1/40", "--out", self.tmp + "/y")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertIn("healthy, seed 1", out.stdout)

    def test_bad_words(self):
        for words in (["--out", "x"], [KART], [KART, "--out", "x", "--shard", "9/8"], [KART, "--out", "x", "--shard", "1"],
                      [KART, "--out", "x", "--shard", "-1/8"], [KART, "--out", "x", "--jobs", "0"],
                      [KART, "--merge", "x", "--out", "y"]):
            out = campaign(*words, cwd=self.tmp)
            self.assertEqual(out.returncode, 2, words)
            self.assertEqual(os.listdir(self.tmp), [])

    @unittest.skipUnless(shutil.which("parallel"), "GNU parallel is not installed (tools/setup test)")
    def test_worked_example_with_gnu_parallel(self):
        """The block of hw-notes/fault-campaign.md, as it stands there."""
        block = re.search(r"<!-- tested -->\n((?:\n|    .*\n)+)", NOTES.read_text()).group(1)
        os.symlink(PROFILES, self.tmp + "/profiles")
        bin_folder = os.path.dirname(DRYCRANK)
        out = subprocess.run(["bash", "-euc", block], cwd=self.tmp, capture_output=True, text=True, timeout=200,
                             env=os.environ | {"PATH": f"{bin_folder}:{os.environ['PATH']}", "HOME": self.tmp})
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertEqual(contents(self.tmp + "/out/kart"), contents(self.whole))


unittest.main(argv=sys.argv[:1], verbosity=1)
