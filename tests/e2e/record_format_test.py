#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""hw-notes/record-format.md against what the program writes: its two commands are run, and what the page quotes has the
columns, the keys and the headers of what came out. Numbers may move with the bench; words and layout may not."""
import csv
import io
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

DRYCRANK, PROFILES, NOTES = sys.argv[1:4]
PAGE = (pathlib.Path(NOTES) / "record-format.md").read_text()


def part(title):
    """What stands under a heading, up to the next one."""
    return re.search(rf"^### {re.escape(title)}\n(.*?)(?=^##|\Z)", PAGE, re.M | re.S).group(1)


def quoted(title):
    """The last block of quoted lines there."""
    return re.findall(r"\n((?:    .*\n)+)", part(title))[-1].replace("\n    ", "\n").lstrip(" ").rstrip("\n").split("\n")


def rows(title):
    """First cells of the table there, without the head."""
    cells = re.findall(r"^\| (.*?) \|", part(title), re.M)[2:]
    return [name.strip("`") for cell in cells for name in cell.split(", ")]


def layout(line):
    """A line without its numbers."""
    return re.sub(r"-?\d+(\.\d+)?", "0", re.sub(r"#[0-9A-F]*$", "#", line))


def keys(value):
    """Names in a JSON value, in order; a list's are those of its first item."""
    if isinstance(value, dict):
        return {name: keys(inner) for name, inner in value.items()}
    return [keys(value[0])] if isinstance(value, list) and value else None


def fields(line):
    return next(csv.reader(io.StringIO(line)))


class RecordFormat(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.tmp = tempfile.TemporaryDirectory()
        folder = pathlib.Path(cls.tmp.name)
        (folder / "profiles").symlink_to(PROFILES)
        for block in re.findall(r"<!-- tested -->\n    drycrank (.*)\n", PAGE):
            subprocess.run([DRYCRANK, *block.split(), "--quiet"], cwd=folder, capture_output=True, timeout=300)
        cls.run_folder, cls.campaign = folder / "out/example", folder / "out/campaign"

    @classmethod
    def tearDownClass(cls):
        cls.tmp.cleanup()

    def lines(self, name):
        return (self.run_folder / name).read_text().splitlines()

    def listed(self, heading):
        table = re.search(rf"^## {heading}\n(.*?)^###", PAGE, re.M | re.S).group(1)
        names = [n for cell in re.findall(r"^\| (`.*?) \|", table, re.M) for n in re.findall(r"`(.*?)/?`", cell)]
        return sorted(names)

    def test_the_folders_hold_the_files_that_are_listed(self):
        here = {path.name for path in self.run_folder.iterdir()}
        self.assertEqual(sorted(here | {"answers"}), self.listed("The folder of a run"))
        self.assertEqual(sorted(path.name for path in self.campaign.iterdir()), self.listed("The folder of a campaign"))

    def test_quoted_lines_look_like_those_of_the_files(self):
        for name in ("events.csv", "edges.csv", "outputs.csv", "stimuli.csv", "messages.csv"):
            written = {layout(line) for line in self.lines(name)}
            for line in quoted(name):
                self.assertIn(layout(line), written, name)

    def test_headers_are_quoted(self):
        for name in ("stimuli.csv", "messages.csv"):
            self.assertEqual(quoted(name)[0], self.lines(name)[0])
        self.assertEqual(rows("messages.csv"), fields(self.lines("messages.csv")[0]))

    def test_every_line_has_the_columns_of_the_table(self):
        for name in ("edges.csv", "outputs.csv"):
            self.assertEqual({len(fields(line)) for line in self.lines(name)}, {len(rows(name))}, name)
        forms = [form.split(",") for form in re.findall(r"^\| `(T,.*?)` \|", part("events.csv"), re.M)]
        columns = {form[1]: len(form) for form in forms}
        for line in self.lines("events.csv"):
            kind = fields(line)[1]
            self.assertIn(kind, columns)
            # The last column may hold commas.
            self.assertEqual(len(line.split(",", columns[kind] - 1)), columns[kind], line)

    def test_record_json_has_the_keys_of_the_page(self):
        written = json.loads((self.run_folder / "record.json").read_text())
        self.assertEqual(list(keys(written)), list(json.loads("\n".join(quoted("record.json")))))
        self.assertEqual(keys(written), keys(json.loads("\n".join(quoted("record.json")))))

    def test_campaign_json_has_the_keys_of_the_page(self):
        written = json.loads((self.campaign / "campaign.json").read_text())
        page = json.loads("\n".join(quoted("campaign.json")))
        self.assertEqual((keys(written), list(written)), (keys(page), list(page)))

    def test_faults_have_the_keys_of_the_page(self):
        written = [json.loads(line) for line in (self.campaign / "faults.jsonl").read_text().splitlines()]
        page = json.loads(quoted("faults.jsonl")[0])
        self.assertEqual(list(page), rows("faults.jsonl"))
        for fault in written:
            self.assertEqual(list(fault), list(page))
            for effect in fault["effects"]:
                self.assertEqual(list(effect), list(page["effects"][0]))
                self.assertEqual(effect["missing"], effect["deviation"] is None)

    def test_the_summary_has_the_keys_of_the_page(self):
        summary = json.loads((self.campaign / "summary.json").read_text())
        head = json.loads("\n".join(quoted("campaign.json")))
        self.assertEqual(list(summary), [*head, "kinds", "worst_unnoticed"])
        page = json.loads("\n".join(quoted("summary.json")))
        effect = [*json.loads(quoted("faults.jsonl")[0])["effects"][0], "fault", "index"]
        for kind in summary["kinds"]:
            self.assertEqual(list(kind), list(page))
            self.assertIn(kind["worst"] and list(kind["worst"]), (None, effect))
        self.assertEqual(summary["kinds"][-1]["kind"], "all")
        for worst in summary["worst_unnoticed"]:
            self.assertEqual(list(worst), effect)

    def test_two_runs_with_one_seed_are_the_same(self):
        command = re.search(r"<!-- tested -->\n    drycrank (run .*)\n", PAGE).group(1)
        again = command.replace("out/example", "out/again").split()
        subprocess.run([DRYCRANK, *again, "--quiet"], cwd=self.tmp.name, capture_output=True, timeout=300)
        for name in ("events.csv", "edges.csv", "outputs.csv", "stimuli.csv", "messages.csv", "frames.pcapng", "edges.vcd"):
            first, second = (pathlib.Path(self.tmp.name) / "out" / f / name for f in ("example", "again"))
            self.assertEqual(first.read_bytes(), second.read_bytes(), name)


unittest.main(argv=sys.argv[:1], verbosity=1)
