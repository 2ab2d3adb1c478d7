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

    def test_the_unit_is_watched_and_starts_what_is_installed(self):
        unit = (self.root / "lib/systemd/user/drycrankd@.service").read_text().splitlines()
        self.assertIn("Type=notify", unit)
        self.assertTrue([line for line in unit if re.fullmatch(r"WatchdogSec=[1-9]\d*", line)])
        start = next(line for line in unit if line.startswith("ExecStart="))
        self.assertTrue((self.root / "bin" / pathlib.Path(start.split("=")[1].split()[0]).name).is_file())
        for option in re.findall(r"--[a-z-]+", start):
            self.assertIn(option, subprocess.run([str(self.root / "bin/drycrankd"), "--help"], capture_output=True, text=True).stdout)

    def test_each_library_in_it_has_its_licence_said(self):
        """What the programs ask the loader for (objdump), and whose headers they have in them (tools/setup)."""
        said = (self.root / "share/doc/drycrank/copyright").read_text()
        linked, compiled_in = said.split("Linked at run time")[1], said.split("Linked at run time")[0]
        names = {"libasound": "ALSA", "libfmt": "fmt", "libyaml-cpp": "yaml-cpp", "libsndfile": "libsndfile", "libcrypto": "OpenSSL", "libklu": "KLU", "libzip": "libzip", "libcairo": "Cairo", "libtesseract": "Tesseract", "liblept": "Leptonica",
                 "libstdc++": "C++", "libgcc_s": "GNU", "libc": "C\n libraries", "libm": "C\n libraries",
                 "ld-linux-x86-64": "GNU", "libasan": "GNU", "libubsan": "GNU", "libtsan": "GNU"}
        for program in ("bin/drycrank", "bin/drycrankd", "libexec/drycrank/drycrank-guard"):
            headers = subprocess.run(["objdump", "-p", str(self.root / program)], capture_output=True, text=True, check=True)
            needed = re.findall(r"NEEDED +(\S+)\.so", headers.stdout)
            self.assertIn("libfmt", needed)
            for name in needed:
                self.assertIn(names[name], linked, name)
        for name in ("Boost", "CLI11", "Eigen", "fmt", "JSON for Modern C++"):
            self.assertIn(f"{name} (", compiled_in)
        licences = self.root / "share/doc/drycrank/licences"
        for package, words in (("libcli11-dev", "BSD-3-clause"), ("libeigen3-dev", "Mozilla Public License"), ("libfmt-dev", "Permission is hereby granted"),
                               ("nlohmann-json3-dev", "Permission is hereby granted")):
            self.assertTrue(words.lower() in (licences / package).read_text().lower(), package)

    def test_the_hints_for_udev_are_rules_and_in_force_nowhere(self):
        """Line by line as udev(7) of systemd 252 has it, and each attribute is one of a network interface."""
        path = self.root / "share/doc/drycrank/examples/70-drycrank-can.rules"
        self.assertEqual([p for p in self.installed if p.suffix == ".rules"], [path])
        rules = [line for line in path.read_text().splitlines() if line and not line.startswith("#")]
        self.assertGreater(len(rules), 1)
        for rule in rules:
            parts = [re.fullmatch(r'([A-Z]+)(?:\{(\w+)\})?(==|!=|=|\+=|:=)"[^"]*"', part) for part in rule.split(", ")]
            self.assertTrue(all(parts), rule)
            for key, inner, operator in (part.groups() for part in parts):
                self.assertIn(key, ("SUBSYSTEM", "ACTION", "ATTR", "ENV", "NAME"), rule)
                self.assertEqual(operator in ("==", "!="), (key, inner) not in (("NAME", None), ("ATTR", "tx_queue_len")), rule)
                if key == "ATTR":
                    self.assertTrue(pathlib.Path("/sys/class/net/lo", inner).is_file(), inner)

    def build_consumer(self, folder, *more):
        source = pathlib.Path(__file__).parent / "consumer"
        return subprocess.run([CMAKE, "-S", str(source), "-B", folder, f"-DCMAKE_PREFIX_PATH={self.root}", *more],
                              capture_output=True, text=True, timeout=300)

    def test_another_project_finds_the_libraries(self):
        with tempfile.TemporaryDirectory() as folder:
            made = self.build_consumer(folder)
            self.assertEqual(made.returncode, 0, made.stdout + made.stderr)
            made = subprocess.run([CMAKE, "--build", folder], capture_output=True, text=True, timeout=600)
            self.assertEqual(made.returncode, 0, made.stdout + made.stderr)
            said = subprocess.run([f"{folder}/consumer"], capture_output=True, text=True, timeout=20).stdout
            self.assertEqual(said, "1.5625 V 123#1A06\n")

    def test_a_library_that_is_not_there_is_said(self):
        source = "cmake_minimum_required(VERSION 3.25)\nproject(x LANGUAGES CXX)\nfind_package(drycrank REQUIRED COMPONENTS {})\n"
        with tempfile.TemporaryDirectory() as folder:
            for component, code in (("bus", 0), ("gearbox", 1)):
                pathlib.Path(folder, "CMakeLists.txt").write_text(source.format(component))
                made = subprocess.run([CMAKE, "-S", folder, "-B", f"{folder}/{component}", f"-DCMAKE_PREFIX_PATH={self.root}"],
                                      capture_output=True, text=True, timeout=300)
                self.assertEqual(made.returncode, code, made.stderr)
            self.assertIn("gearbox", made.stderr)

    def test_nothing_installed_speaks_of_the_build(self):
        """Of the folders of this machine: neither source nor build, whose names differ from one to the next."""
        places = [str(pathlib.Path(BUILD).resolve()).encode(), str(pathlib.Path(__file__).resolve().parents[2]).encode()]
        for path in self.installed:
            if path.is_file():
                content = path.read_bytes()
                self.assertEqual([place for place in places if place in content], [], path)

    def test_nothing_is_left_when_what_is_listed_is_gone(self):
        with tempfile.TemporaryDirectory() as other:
            done = subprocess.run([CMAKE, "--install", BUILD, "--prefix", other], capture_output=True, text=True, timeout=120)
            for line in done.stdout.splitlines():
                path = pathlib.Path(line.split(": ", 1)[1]) if line.startswith("-- Installing: ") else None
                if path and path.is_file():
                    path.unlink()
            self.assertEqual([path for path in pathlib.Path(other).rglob("*") if path.is_file()], [])


unittest.main(argv=sys.argv[:1], verbosity=1)
