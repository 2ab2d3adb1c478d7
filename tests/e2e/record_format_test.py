#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""hw-notes/record-format.md against what the program writes: its two commands are run, and what the page quotes has the
columns, the keys and the headers of what came out. Numbers may move with the bench; words and layout may not."""
import csv
import io
import json
import pathlib
import re
import struct
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


def crc32c(data):
    """RFC 3720 12.1, bit by bit: polynomial 0x1EDC6F41, reflected."""
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0x82F63B78 if crc & 1 else 0)
    return crc ^ 0xFFFFFFFF


def edges_by_the_page(data):
    """(T, channel, level) of edges.bin, as hw-notes/record-format.md has it."""
    channels, at = None, 0
    while at < len(data):
        size, checksum = struct.unpack_from("<II", data, at + 4)
        content = data[at + 12: at + 12 + size]
        assert (data[at: at + 4], checksum) == (b"EDGE", crc32c(content)), at
        at += 12 + size
        if content[:1] == b"h":
            channels = json.loads(content[1:])["channels"]
        elif content[:1] == b"e":
            yield from edges_of_block(content, channels)


def edges_of_block(content, channels):
    earliest, latest, base, count = struct.unpack_from("<qqqI", content, 1)
    level = list(content[29: 29 + len(channels)])
    last, before = [base] * len(channels), [[0, 0] for _ in channels]
    rest = iter(content[29 + len(channels):])

    def number():
        value = shift = 0
        for byte in rest:
            value |= (byte & 127) << shift
            shift += 7
            if byte < 128:
                return value

    channel = 0
    for _ in range(count):
        first = number()
        if first & 1:
            second = number()
            channel, level[second >> 1] = second >> 1, second & 1
        else:
            level[channel] = 1 - level[channel]
        folded = first >> 1
        interval = (-(folded >> 1) - 1 if folded & 1 else folded >> 1) + before[channel][1]
        last[channel] += interval
        before[channel] = [interval, before[channel][0]]
        assert earliest <= last[channel] <= latest
        yield last[channel], channels[channel], level[channel]
    assert next(rest, None) is None


class RecordFormat(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.tmp = tempfile.TemporaryDirectory()
        folder = pathlib.Path(cls.tmp.name)
        (folder / "profiles").symlink_to(PROFILES)
        for block in re.findall(r"<!-- tested -->\n    drycrank (.*)\n", PAGE):
            quiet = [] if block.startswith("signals") else ["--quiet"]
            subprocess.run([DRYCRANK, *block.split(), *quiet], cwd=folder, capture_output=True, timeout=300)
        cls.run_folder, cls.campaign = folder / "out/example", folder / "out/campaign"
        cls.signals = folder / "out/signals"

    @classmethod
    def tearDownClass(cls):
        cls.tmp.cleanup()

    def lines(self, name):
        folder = self.signals if name in ("edges.csv", "outputs.csv") else self.run_folder
        return (folder / name).read_text().splitlines()

    def listed(self, heading):
        table = re.search(rf"^## {heading}\n(.*?)^###", PAGE, re.M | re.S).group(1)
        names = [n for cell in re.findall(r"^\| (`.*?) \|", table, re.M) for n in re.findall(r"`(.*?)/?`", cell)]
        return sorted(names)

    def test_the_folders_hold_the_files_that_are_listed(self):
        here = {path.name for path in self.run_folder.iterdir()}
        self.assertEqual(sorted(here | {"answers", "measurements"}), self.listed("The folder of a run"))
        self.assertEqual(sorted(path.name for path in self.signals.iterdir()), self.listed("Edges as text"))
        self.assertEqual(sorted(path.name for path in self.campaign.iterdir()), self.listed("The folder of a campaign"))

    def test_quoted_lines_look_like_those_of_the_files(self):
        for name in ("events.csv", "edges.csv", "outputs.csv", "motion.csv", "stimuli.csv", "messages.csv"):
            written = {layout(line) for line in self.lines(name)}
            for line in quoted(name):
                self.assertIn(layout(line), written, name)

    def test_headers_are_quoted(self):
        for name in ("motion.csv", "stimuli.csv", "messages.csv"):
            self.assertEqual(quoted(name)[0], self.lines(name)[0])
        for name in ("motion.csv", "messages.csv"):
            self.assertEqual(rows(name), fields(self.lines(name)[0]))

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

    def test_edges_read_by_the_page_are_those_written_as_text(self):
        read = list(edges_by_the_page((self.run_folder / "edges.bin").read_bytes()))
        triggers = [f"{t},{c['name']},{level}" for t, c, level in read if c["kind"] == "trigger"]
        outputs = [f"{t},{c['kind']},{c['cylinder']},{('off', 'on')[level]}" for t, c, level in read if c["kind"] != "trigger"]
        self.assertGreater(min(len(triggers), len(outputs)), 100)
        self.assertEqual(triggers, self.lines("edges.csv"))
        self.assertEqual(outputs, self.lines("outputs.csv"))

    def test_record_json_has_the_keys_of_the_page(self):
        written = json.loads((self.run_folder / "record.json").read_text())
        self.assertEqual(list(keys(written)), list(json.loads("\n".join(quoted("record.json")))))
        self.assertEqual(keys(written), keys(json.loads("\n".join(quoted("record.json")))))

    def test_the_versions_are_those_of_the_packages(self):
        """As pkg-config and the headers have them, and as ldd(1) and the links in /usr/lib name the files."""
        record = json.loads((self.run_folder / "record.json").read_text())

        def packaged(name):
            return subprocess.run(["pkg-config", "--modversion", name], capture_output=True, text=True, check=True).stdout.strip()
        for part, name in (("Eigen", "eigen3"), ("fmt", "fmt"), ("libsndfile", "sndfile"), ("nlohmann_json", "nlohmann_json"),
                           ("OpenSSL", "libcrypto"), ("yaml-cpp", "yaml-cpp")):
            self.assertEqual(record["made_with"][part], packaged(name), part)
        boost = re.search(r'BOOST_LIB_VERSION "(\d+)_(\d+)', pathlib.Path("/usr/include/boost/version.hpp").read_text())
        self.assertEqual(record["made_with"]["Boost"].split(".")[:2], list(boost.groups()))
        for version in record["made_with"].values():
            self.assertRegex(version, r"\d+\.\d+")
        linked = re.findall(r"(/\S+) \(0x", subprocess.run(["ldd", DRYCRANK], capture_output=True, text=True, check=True).stdout)
        self.assertEqual(record["loaded"], sorted(pathlib.Path(path).resolve().name for path in linked))

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
        self.assertEqual(list(summary), [*head, "made", "predictions_trusted", "kinds", "worst_unnoticed"])
        page = json.loads("\n".join(quoted("summary.json")))
        effect = [*json.loads(quoted("faults.jsonl")[0])["effects"][0], "fault", "index"]
        for kind in summary["kinds"]:
            self.assertEqual(list(kind), list(page))
            self.assertIn(kind["worst"] and list(kind["worst"]), (None, effect))
        self.assertEqual(summary["kinds"][-1]["kind"], "all")
        row = next(row for row in PAGE.splitlines() if row.startswith("| `made` |"))
        self.assertEqual(list(summary["made"]), re.findall("`([^`]+)`", row)[1:])
        self.assertEqual(sum(summary["made"].values()), summary["faults"])
        for worst in summary["worst_unnoticed"]:
            self.assertEqual(list(worst), effect)

    def test_two_runs_with_one_seed_are_the_same(self):
        command = re.search(r"<!-- tested -->\n    drycrank (run .*)\n", PAGE).group(1)
        again = command.replace("out/example", "out/again").split()
        subprocess.run([DRYCRANK, *again, "--quiet"], cwd=self.tmp.name, capture_output=True, timeout=300)
        for name in ("events.csv", "edges.bin", "stimuli.csv", "messages.csv", "frames.pcapng"):
            first, second = (pathlib.Path(self.tmp.name) / "out" / f / name for f in ("example", "again"))
            self.assertEqual(first.read_bytes(), second.read_bytes(), name)


unittest.main(argv=sys.argv[:1], verbosity=1)
