#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What `cmake --install` leaves: the programs run from there, the manual and the completion have every command, and when the
listed files are removed nothing is left."""
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

CMAKE, BUILD = sys.argv[1:3]


class Install(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        cls.root = pathlib.Path(cls.folder.name, "usr")
        done = subprocess.run([CMAKE, "--install", BUILD, "--prefix", str(cls.root)], capture_output=True, text=True, timeout=120)
        assert done.returncode == 0, done.stdout + done.stderr
        cls.installed = [pathlib.Path(line.split(": ", 1)[1]) for line in done.stdout.splitlines() if line.startswith("-- Installing: ")]

    def run_it(self, *words):
        return subprocess.run([str(self.root / "bin/drycrank"), *words], capture_output=True, text=True, timeout=120,
                              cwd=self.folder.name)

    def commands(self):
        listed = re.search(r"Subcommands:\n((?:  .*\n)+)", self.run_it("--help").stdout)[1]
        return re.findall(r"^  (\w+) ", listed, re.M)

    def test_a_shipped_scenario_runs_from_there(self):
        out = self.run_it("run", str(self.root / "share/drycrank/profiles/scenarios/kart/healthy.yaml"))
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)

    def test_schemas_and_notes_are_there(self):
        self.assertTrue((self.root / "share/drycrank/profiles/schema/bench.schema.json").is_file())
        self.assertTrue((self.root / "share/doc/drycrank/hw-notes/cautions.md").is_file())

    def test_the_manual_says_what_help_says(self):
        page = (self.root / "share/man/man1/drycrank.1").read_text().replace("\\-", "-").replace("\\e", "\\")
        self.assertGreater(len(self.commands()), 14)
        for command in self.commands():
            self.assertIn(f".SH DRYCRANK {command.upper()}\n", page)
            for line in self.run_it(command, "--help").stdout.splitlines():
                if "Usage:" not in line:
                    self.assertIn(line, page)
        self.assertNotIn(BUILD, page)

    def test_the_completion_knows_each_command(self):
        script = self.root / "share/bash-completion/completions/drycrank"
        asked = f'source {script}; COMP_WORDS=(drycrank ""); COMP_CWORD=1; _drycrank; echo "${{COMPREPLY[@]}}"'
        said = subprocess.run(["bash", "-c", asked], capture_output=True, text=True, timeout=20).stdout
        self.assertEqual(sorted(said.split()), sorted(self.commands()))

    def test_nothing_is_left_when_what_is_listed_is_gone(self):
        with tempfile.TemporaryDirectory() as other:
            done = subprocess.run([CMAKE, "--install", BUILD, "--prefix", other], capture_output=True, text=True, timeout=120)
            for line in done.stdout.splitlines():
                path = pathlib.Path(line.split(": ", 1)[1]) if line.startswith("-- Installing: ") else None
                if path and path.is_file():
                    path.unlink()
            self.assertEqual([path for path in pathlib.Path(other).rglob("*") if path.is_file()], [])


unittest.main(argv=sys.argv[:1], verbosity=1)
