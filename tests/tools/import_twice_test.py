#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What a message file says twice, or in pieces, is refused or named; no library is the judge.

The files are written here, and what they say of some bytes is worked out here. A COMPU-METHOD is
read as AUTOSAR's template of software components describes it (from memory): within the limits of
a scale physical = (V0 + V1·raw) / D0.
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

    def tool(self, name, text, encoding="utf-8", words=()):
        path = pathlib.Path(self.tmp, name)
        path.write_text(text, encoding=encoding)
        return subprocess.run([f"{ROOT}/tools/import-messages", str(path), self.yaml, "--overwrite", *words], capture_output=True,
                              text=True, timeout=120, env={**os.environ, "DRYCRANK": DRYCRANK})

    def said(self, name, text, encoding="utf-8", words=()):
        """Its lines without the file's name, of a file that is read."""
        out = self.tool(name, text, encoding, words)
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


def line(low, high, numerator, denominator=(1,)):
    """A scale as (text, its law within its limits)."""
    values = lambda numbers: "".join(f"<V>{n}</V>" for n in numbers)
    text = (f"<COMPU-SCALE><LOWER-LIMIT>{low}</LOWER-LIMIT><UPPER-LIMIT>{high}</UPPER-LIMIT><COMPU-RATIONAL-COEFFS>"
            f"<COMPU-NUMERATOR>{values(numerator)}</COMPU-NUMERATOR><COMPU-DENOMINATOR>{values(denominator)}"
            "</COMPU-DENOMINATOR></COMPU-RATIONAL-COEFFS></COMPU-SCALE>\n")
    power = lambda numbers, raw: sum(n * raw**i for i, n in enumerate(numbers))
    return text, (low, high, lambda raw: power(numerator, raw) / power(denominator, raw))


def constant(low, high, content):
    return (f"<COMPU-SCALE><LOWER-LIMIT>{low}</LOWER-LIMIT><UPPER-LIMIT>{high}</UPPER-LIMIT>"
            f"<COMPU-CONST>{content}</COMPU-CONST></COMPU-SCALE>\n")


def method(*scales):
    return f"<COMPU-INTERNAL-TO-PHYS><COMPU-SCALES>\n{''.join(scales)}</COMPU-SCALES></COMPU-INTERNAL-TO-PHYS>"


def by_the_file(laws, raw):
    return next(law(raw) for low, high, law in laws if low <= raw <= high)


def arxml(methods):
    """One message F; each signal of {signal: inside of its COMPU-METHOD} has 16 bits, in turn."""
    ref = lambda kind, tag, path: f'<{tag} DEST="{kind}">/P/{path}</{tag}>'
    maps = "".join(f"<I-SIGNAL-TO-I-PDU-MAPPING><SHORT-NAME>m_{n}</SHORT-NAME>{ref('I-SIGNAL', 'I-SIGNAL-REF', n)}"
                   "<PACKING-BYTE-ORDER>MOST-SIGNIFICANT-BYTE-LAST</PACKING-BYTE-ORDER>"
                   f"<START-POSITION>{16 * i}</START-POSITION></I-SIGNAL-TO-I-PDU-MAPPING>" for i, n in enumerate(methods))
    signals = "".join(f"<I-SIGNAL><SHORT-NAME>{n}</SHORT-NAME><LENGTH>16</LENGTH>{ref('SYSTEM-SIGNAL', 'SYSTEM-SIGNAL-REF', 's_' + n)}"
                      f"</I-SIGNAL><SYSTEM-SIGNAL><SHORT-NAME>s_{n}</SHORT-NAME><PHYSICAL-PROPS><SW-DATA-DEF-PROPS-VARIANTS>"
                      f"<SW-DATA-DEF-PROPS-CONDITIONAL>{ref('COMPU-METHOD', 'COMPU-METHOD-REF', 'c_' + n)}"
                      "</SW-DATA-DEF-PROPS-CONDITIONAL></SW-DATA-DEF-PROPS-VARIANTS></PHYSICAL-PROPS></SYSTEM-SIGNAL>\n"
                      f"<COMPU-METHOD><SHORT-NAME>c_{n}</SHORT-NAME>{inside}</COMPU-METHOD>\n" for n, inside in methods.items())
    return ('<?xml version="1.0" encoding="UTF-8"?><AUTOSAR xmlns="http://autosar.org/schema/r4.0"><AR-PACKAGES><AR-PACKAGE>'
            "<SHORT-NAME>P</SHORT-NAME><ELEMENTS><CAN-CLUSTER><SHORT-NAME>C</SHORT-NAME><CAN-CLUSTER-VARIANTS>"
            "<CAN-CLUSTER-CONDITIONAL><PHYSICAL-CHANNELS><CAN-PHYSICAL-CHANNEL><SHORT-NAME>ch</SHORT-NAME><FRAME-TRIGGERINGS>"
            f"<CAN-FRAME-TRIGGERING><SHORT-NAME>T</SHORT-NAME>{ref('CAN-FRAME', 'FRAME-REF', 'F')}<CAN-ADDRESSING-MODE>STANDARD"
            "</CAN-ADDRESSING-MODE><IDENTIFIER>291</IDENTIFIER></CAN-FRAME-TRIGGERING></FRAME-TRIGGERINGS></CAN-PHYSICAL-CHANNEL>"
            "</PHYSICAL-CHANNELS></CAN-CLUSTER-CONDITIONAL></CAN-CLUSTER-VARIANTS></CAN-CLUSTER><CAN-FRAME><SHORT-NAME>F</SHORT-NAME>"
            "<FRAME-LENGTH>8</FRAME-LENGTH><PDU-TO-FRAME-MAPPINGS><PDU-TO-FRAME-MAPPING><SHORT-NAME>m</SHORT-NAME>"
            f"<PACKING-BYTE-ORDER>MOST-SIGNIFICANT-BYTE-LAST</PACKING-BYTE-ORDER>{ref('I-SIGNAL-I-PDU', 'PDU-REF', 'U')}"
            "<START-POSITION>0</START-POSITION></PDU-TO-FRAME-MAPPING></PDU-TO-FRAME-MAPPINGS></CAN-FRAME><I-SIGNAL-I-PDU>"
            f"<SHORT-NAME>U</SHORT-NAME><LENGTH>8</LENGTH><I-SIGNAL-TO-PDU-MAPPINGS>{maps}</I-SIGNAL-TO-PDU-MAPPINGS></I-SIGNAL-I-PDU>\n"
            f"{signals}</ELEMENTS></AR-PACKAGE></AR-PACKAGES></AUTOSAR>")


class Scales(Folder):
    """Each signal that is left has the file's value for every raw value that the file speaks of."""

    def judged(self, scales):
        """(lines, signals that are left) of {signal: [(text, law)]}."""
        said = self.said("a.arxml", arxml({name: method(*(text for text, _ in parts)) for name, parts in scales.items()}))
        left = set()
        for raw in (0, 1, 1000, 2000, 2001, 3000):
            found = self.bench("F", raw.to_bytes(2, "little") * 4)
            left = set(found)
            for name, value in found.items():
                self.assertAlmostEqual(value, by_the_file([law for _, law in scales[name]], raw), 9, (name, raw))
        return said, left

    def test_of_two_scales_none_is_taken_for_all(self):
        said, left = self.judged({"plain": [line(0, 3000, (-40, 0.5))], "two": [line(0, 2000, (-40, 0.5)), line(2001, 3000, (7, 3), (2,))],
                                  "same": [line(0, 2000, (-40, 0.5)), line(2001, 3000, (-80, 1), (2,))]})
        self.assertEqual(left, {"plain", "same"})
        self.assertEqual([s for s in said if "F.two" in s or "F.same" in s],
                         ["F.same: changed: raw values above 3000; no scale speaks of them; min and max keep to those that one does",
                          "F.two: lost: signal; line 7: 2 scales (lines 8, 9), each for a range of raw values; a signal has one for all"])

    def limits(self, **ranges):
        """{signal: (min, max)} of the bench, and what was said; each signal has 16 bits and -40 + raw / 2."""
        said = self.said("a.arxml", arxml({name: method(*(line(low, high, (-40, 0.5))[0] for low, high in of)) for name, of in ranges.items()}))
        out = subprocess.run([DRYCRANK, "messages", self.yaml, "--json"], capture_output=True, text=True, timeout=60)
        signals = json.loads(out.stdout)["out"]["messages"]["F"]["signals"]
        return {name: (signals[name].get("min"), signals[name].get("max")) for name in ranges}, said

    def test_a_scale_that_ends_before_the_bits_do_gives_the_range(self):
        """By hand: -40 + 2000 / 2 is 960, -40 + 100 / 2 is 10; 16 bits end at 65535."""
        limits, said = self.limits(part=[(0, 2000)], upper=[(100, 65535)], hole=[(0, 1000), (1500, 2000)], whole=[(0, 65535)])
        self.assertEqual(limits, {"part": (-40, 960), "upper": (10, 32727.5), "hole": (-40, 960), "whole": (None, None)})
        why = "no scale speaks of them; min and max keep to those that one does"
        self.assertEqual({s for s in said if "raw values" in s}, {
            f"F.part: changed: raw values above 2000; {why}", f"F.upper: changed: raw values below 100; {why}",
            f"F.hole: changed: raw values 1001 to 1499, above 2000; {why}"})

    def test_an_open_end_is_none_of_its_values_and_an_infinite_one_is_no_end(self):
        text = line(0, 2000, (-40, 0.5))[0]
        said = self.said("a.arxml", arxml({
            "open": method(text.replace("<UPPER-LIMIT>", '<UPPER-LIMIT INTERVAL-TYPE="OPEN">')),
            "endless": method(text.replace("<UPPER-LIMIT>", '<UPPER-LIMIT INTERVAL-TYPE="INFINITE">'))}))
        self.assertEqual([s.split(";")[0] for s in said if "raw values" in s], ["F.open: changed: raw values above 1999"])

    def test_what_is_no_straight_line_is_left_out(self):
        flat = constant(0, 2000, "<V>5</V>"), (0, 2000, lambda raw: 5)
        said, left = self.judged({"plain": [line(0, 3000, (1, 2), (4,))], "square": [line(0, 3000, (0, 1, 2))],
                                  "ratio": [line(0, 3000, (0, 1), (1, 1))], "flat": [flat, line(2001, 3000, (0, 1))]})
        self.assertEqual(left, {"plain"})
        for name, why in (("square", "is no straight line"), ("ratio", "is no straight line"), ("flat", "one value stands for")):
            self.assertEqual(sum(s.startswith(f"F.{name}: lost: signal; line ") and why in s for s in said), 1, said)

    def test_a_scale_the_other_way_round_is_left_out(self):
        back = method(line(0, 3000, (0, 2))[0]).replace("INTERNAL-TO-PHYS", "PHYS-TO-INTERNAL")
        said = self.said("a.arxml", arxml({"plain": method(line(0, 3000, (0, 2))[0]), "back": back}))
        self.assertEqual(self.bench("F", [10, 0, 10, 0, 0, 0, 0, 0]), {"plain": 20})
        self.assertEqual(sum(s.startswith("F.back: lost: signal; ") and "from physical to raw" in s for s in said), 1, said)

    def test_names_are_their_text_and_of_two_it_is_said_which_is_kept(self):
        text = arxml({"s": method(line(0, 3000, (0, 2))[0], *(constant(*c) for c in (
            (4095, 4095, "<VT>err</VT>"), (4095, 4095, "<VT>bad</VT>"), (4094, 4094, "<VT>off</VT>"), (4000, 4009, "<VT>odd</VT>"))))})
        said = self.said("a.arxml", text)
        first = text[:text.index("err")].count("\n") + 1
        self.assertIn(f"F.s: changed: raw value 4095 is named 'err' (line {first}) and 'bad' (line {first + 1}); 'bad' is kept: "
                      "a value has one name", said)
        self.assertIn("F.s: lost: name 'odd' of raw values 4000 to 4009; names of ranges are not read", said)
        self.assertEqual(self.names("F", "s"), {"4094": "off", "4095": "bad"})
        self.assertEqual(self.bench("F", [7, 0, 0, 0, 0, 0, 0, 0]), {"s": 14})


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
