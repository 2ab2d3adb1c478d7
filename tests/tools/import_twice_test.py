#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What a message file says twice is refused or named; no library is the judge.

The files are written here, and what they say of some bytes is worked out here.
"""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

sys.dont_write_bytecode = True
DRYCRANK, DECODE, ROOT = sys.argv[1:4]


class Folder(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = folder.name
        self.yaml = f"{self.tmp}/out.yaml"

    def tool(self, name, text):
        path = pathlib.Path(self.tmp, name)
        path.write_text(text, encoding="utf-8")
        return subprocess.run([f"{ROOT}/tools/import-messages", str(path), self.yaml, "--overwrite"], capture_output=True,
                              text=True, timeout=120, env={**os.environ, "DRYCRANK": DRYCRANK})

    def said(self, name, text):
        """Its lines without the file's name, of a file that is read."""
        out = self.tool(name, text)
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        return [line.removeprefix(f"{self.tmp}/{name}: ") for line in out.stdout.splitlines()]

    def bench(self, message, data):
        """{signal: value} as the bench that was written decodes it."""
        out = subprocess.run([DECODE, self.yaml], input=f"{message} {bytes(data).hex()}\n", capture_output=True, text=True,
                             timeout=60)
        self.assertEqual(out.returncode, 0, out.stderr)
        return {words[1]: float(words[2]) for words in map(str.split, out.stdout.splitlines()) if words}

    def names(self, message, signal):
        out = subprocess.run([DRYCRANK, "messages", self.yaml, "--json"], capture_output=True, text=True, timeout=60)
        return json.loads(out.stdout)["out"]["messages"][message]["signals"][signal].get("values", {})

    def refused(self, name, text, place, *parts):
        out = self.tool(name, text)
        self.assertEqual(out.returncode, 2, out.stdout)
        for part in (f"{name}:{place}: ", *parts):
            self.assertIn(part, out.stderr)
        self.assertFalse(os.path.exists(self.yaml))


JSON = """{"messages": [
 {"id": 291, "name": "m", "length": 8, "signals": [
  {"name": "s", "start_bit": 0, "bit_length": 8, "factor": 2, "offset": 0,
   "values": {"1": "x\\"} {", "2": "y"}},
  {"name": "t", "start_bit": 8, "bit_length": 8, "factor": 3, "offset": 0, "values": {"1": "x"}}]}
]}
"""


class JsonKeys(Folder):
    def test_a_key_in_several_objects_is_not_there_twice(self):
        self.said("a.json", JSON)
        self.assertEqual(self.bench("m", [5, 5, 0, 0, 0, 0, 0, 0]), {"s": 10, "t": 15})  # 5 * 2, 5 * 3

    def test_a_key_twice_in_one_is_refused_at_its_place(self):
        for was, now, place, key, first in (
                ('"factor": 2,', '"factor": 2, "factor": 7,', "3:63", "factor", 3),
                ('"id": 291,', '"id": 291,\n  "\\u0069d": 303,', "3:3", "id", 2),
                ('"2": "y"', '"1": "y"', "4:30", "1", 4),
                ('"2": "y"', '"0x1": "y"', "4:30", "0x1", 4),
                ('"values": {"1": "x"}}]', '"values": {"1": "x"}}],\n"signals": []', "6:1", "signals", 2),
                ("]}\n", '],\n "messages": []}\n', "7:2", "messages", 1)):
            text = JSON[::-1].replace(was[::-1], now[::-1], 1)[::-1] if was == "]}\n" else JSON.replace(was, now, 1)
            self.assertNotEqual(text, JSON)
            self.refused("a.json", text, place, f"key '{key}' is there already in this object, in line {first}")


SYM = """FormatVersion=6.0 // Do not edit this line!
{ENUMS}
enum Gear(0="N", 1="one", // "1" = no entry
 2="two, 1=b")
{SIGNALS}
Sig=Speed unsigned 8 /f:2
{SENDRECEIVE}
[Plain]
ID=100h
DLC=8
Sig=Speed 0
Var=Place unsigned 8,8 /u:m /f:2 /ln:"a /f:9" /e:Gear
"""


class Sym(Folder):
    DATA = [10, 10, 0, 0, 0, 0, 0, 0]

    def kept(self, was, now):
        text = SYM.replace(was, now, 1)
        self.assertNotEqual(text, SYM)
        return [s for s in self.said("a.sym", text) if " is kept" in s]

    def test_of_what_is_there_once_nothing_is_said(self):
        self.assertEqual([s for s in self.said("a.sym", SYM) if " is kept" in s], [])
        self.assertEqual(self.bench("Plain", self.DATA), {"Speed": 20, "Place": 20})

    def test_two_names_of_a_value(self):
        self.assertEqual(self.kept('\n 2="two', '\n 01="uno", 2="two'), ["changed: enum Gear: raw value 1 is named 'one' (line 3) and "
                                                                         "'uno' (line 4); 'uno' is kept: a value has one name"])
        self.assertEqual(self.names("Plain", "Place")["1"], "uno")

    def test_a_list_of_names_twice(self):
        said = self.kept("{SIGNALS}", 'enum Gear(0="P")\n{SIGNALS}')
        self.assertEqual(len(said), 1)
        self.assertIn("""(line 5); '0="P"' is kept: a list of names is there once""", said[0])
        self.assertEqual(self.names("Plain", "Place"), {"0": "P"})

    def test_an_option_twice(self):
        self.assertEqual(self.kept("/u:m /f:2", "/u:m /f:2 /f:3"),
                         ["Plain.Place: changed: /f is '2' (line 12) and '3' (line 12); '3' is kept: an option is there once"])
        self.assertEqual(self.bench("Plain", self.DATA)["Place"], 30)

    def test_a_signal_described_twice(self):
        self.assertEqual(self.kept("{SENDR", "Sig=Speed unsigned 8 /f:5\n{SENDR"),
                         ["changed: signal Speed is 'unsigned 8 /f:2' (line 6) and 'unsigned 8 /f:5' (line 7); "
                          "'unsigned 8 /f:5' is kept: a signal is described once"])
        self.assertEqual(self.bench("Plain", self.DATA)["Speed"], 50)

    def test_a_key_of_a_message_twice(self):
        self.assertEqual(self.kept("DLC=8", "DLC=8\nID=101h"),
                         ["Plain: changed: ID is '100h' (line 9) and '101h' (line 11); '101h' is kept: a message has it once"])
        self.assertIn("id: 0x101", pathlib.Path(self.yaml).read_text())


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], warnings="ignore")
