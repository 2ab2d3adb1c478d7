#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The README and hw-notes/commands.md as a reader types them: what is quoted is what is printed."""
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import unittest

DRYCRANK, ROOT = sys.argv[1], pathlib.Path(sys.argv[2])


def blocks(text):
    """The indented blocks of a page, each a list of lines without the indent."""
    found, inside = [], False
    for line in text.splitlines():
        if line.startswith("    "):
            if not inside:
                found.append([])
            found[-1].append(line[4:])
            inside = True
        elif line.strip():
            inside = False
        elif inside:
            found[-1].append("")
    return found


class Quotes(unittest.TestCase):
    def assertQuoted(self, quoted, printed, command):
        """Each quoted line is printed, in this order; "..." stands for any number of lines."""
        lines = [line.rstrip() for line in printed.splitlines()]
        at = 0
        for line in quoted:
            if line.strip() in ("", "..."):
                continue
            self.assertIn(line.rstrip(), lines[at:], command)
            at += lines[at:].index(line.rstrip()) + 1

    def test_the_three_uses_print_what_the_readme_quotes(self):
        text = (ROOT / "README.md").read_text(encoding="utf-8")
        uses = text[text.index("## Three uses"):text.index("## Cautions")]
        seen = 0
        with tempfile.TemporaryDirectory() as folder:
            os.symlink(ROOT / "profiles", folder + "/profiles")
            for command, *quoted in blocks(uses):
                if not command.startswith("drycrank "):
                    continue
                words = shlex.split(command)
                out = subprocess.run([DRYCRANK, *words[1:]], cwd=folder, capture_output=True, text=True,
                                     timeout=120, env={**os.environ, "COLUMNS": "100"})
                self.assertEqual(out.returncode, 1, out.stderr)  # each shows a failure that is caught
                self.assertGreater(len([line for line in quoted if line.strip() not in ("", "...")]), 3)
                self.assertQuoted(quoted, out.stdout, command)
                seen += 1
        self.assertEqual(seen, 3)

    def test_the_demo_prints_what_the_readme_quotes(self):
        text = (ROOT / "README.md").read_text(encoding="utf-8")
        quoted = [block for block in blocks(text) if re.match(r"[1-3]\. ", block[0])]
        self.assertEqual(len(quoted), 1)  # blank lines join the acts
        script = (ROOT / "tools" / "demo").read_text(encoding="utf-8")
        acts = script[script.index("rm -rf demo-out"):].replace("$drycrank", DRYCRANK)
        with tempfile.TemporaryDirectory() as folder:
            shutil.copytree(ROOT / "profiles", folder + "/profiles")
            out = subprocess.run(["bash", "-euo", "pipefail", "-c", acts], cwd=folder, capture_output=True, text=True,
                                 timeout=120, env={**os.environ, "COLUMNS": "100"})
            self.assertEqual(out.returncode, 0, out.stderr)
            self.assertQuoted(quoted[0], out.stdout, "tools/demo")
            for page in re.findall(r"^  (demo-out/.*html)$", out.stdout, re.M):
                self.assertTrue(pathlib.Path(folder, page).exists(), page)

    def test_a_line_that_is_not_printed_is_found(self):
        with self.assertRaises(AssertionError):
            self.assertQuoted(["1 of 2 circuits proven"], "2 of 2 circuits proven\n", "the twin")
        with self.assertRaises(AssertionError):
            self.assertQuoted(["b", "...", "a"], "a\nb\n", "the twin")

    def test_pictures_and_pages_are_there(self):
        for page in ("README.md", "hw-notes/commands.md", "hw-notes/README.md"):
            text = (ROOT / page).read_text(encoding="utf-8")
            for link in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", text):
                self.assertTrue((ROOT / page).parent.joinpath(link).exists(), f"{page}: {link}")

    def test_every_command_is_on_the_page_of_commands(self):
        shown = subprocess.run([DRYCRANK, "--help"], capture_output=True, text=True, timeout=60).stdout
        commands = re.findall(r"^  ([a-z]+)  ", shown[shown.index("Subcommands:"):], re.M)
        self.assertGreater(len(commands), 10)
        page = (ROOT / "hw-notes" / "commands.md").read_text(encoding="utf-8")
        for command in commands:
            self.assertIn(f"`drycrank {command} ", page.replace(f"`drycrank {command}`", f"`drycrank {command} `"))


unittest.main(argv=sys.argv[:1], verbosity=1)
