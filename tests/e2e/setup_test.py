#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""tools/setup: what is heavy is installed only where it is needed, and each script asks for its own part.

    setup_test.py ROOT
"""
import pathlib
import re
import subprocess
import sys
import unittest

ROOT = pathlib.Path(sys.argv[1])
HEAVY = {"qemu-system-x86", "clang", "tshark", "ngspice", "valgrind", "can-utils", "parallel", "tesseract-ocr"}


def wanted(part):
    listed = subprocess.run([ROOT / "tools/setup", part, "--list"], capture_output=True, text=True, timeout=60)
    assert listed.returncode == 0, listed.stderr
    return set(listed.stdout.split())


class Setup(unittest.TestCase):
    def test_the_demo_needs_nothing_heavy(self):
        self.assertEqual(wanted("demo") & (HEAVY | {"libgtest-dev", "python3-can", "busybox-static"}), set())
        self.assertLess(len(wanted("demo")), 16)

    def test_heavy_parts_are_where_they_are_needed_and_all_has_them(self):
        self.assertEqual(wanted("test") & HEAVY, HEAVY - {"clang"})
        self.assertEqual(wanted("fuzz") & HEAVY, {"clang"})
        self.assertEqual(wanted("package") & HEAVY, set())
        parts = [wanted(part) for part in ("demo", "pictures", "test", "fuzz", "package")]
        self.assertTrue(all(wanted("demo") <= part for part in parts))
        self.assertEqual(wanted("all"), set().union(*parts))

    def test_pictures_are_in_what_is_tested_and_given_away_and_not_in_the_demo(self):
        more = wanted("pictures") - wanted("demo")
        self.assertEqual(more, {"libcairo2-dev", "libleptonica-dev", "libtesseract-dev", "tesseract-ocr-eng"})
        self.assertTrue(more <= wanted("test") and more <= wanted("package"))

    def test_each_script_asks_for_its_own_part(self):
        for script in ("demo", "test", "package"):
            text = (ROOT / "tools" / script).read_text()
            self.assertEqual(re.findall(r"^tools/setup (\w+)$", text, re.M), [script])

    def test_the_libraries_for_other_projects_are_those_of_the_build(self):
        """The package of the libraries wants what they are made with; the command line's own is CLI11."""
        depends = re.search(r'LIBRARIES_PACKAGE_DEPENDS\s+"([^"]*)"', (ROOT / "packaging/CMakeLists.txt").read_text())[1].split(", ")
        made_with = {package for package in wanted("pictures") if package.endswith("-dev")} - {"libcli11-dev"}
        self.assertEqual({package for package in depends if package.endswith("-dev")}, made_with)

    def test_what_is_no_part_is_refused(self):
        for words in ([], ["build"], ["demo", "--lst"]):
            out = subprocess.run([ROOT / "tools/setup", *words], capture_output=True, text=True, timeout=60)
            self.assertEqual(out.returncode, 2)
            self.assertIn("tools/setup all", out.stdout)


unittest.main(argv=sys.argv[:1], verbosity=1)
