#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Types, byte orders and the order of signals of ARXML; written here, and worked out by hand beside them.

Elements and encodings of AUTOSAR 3 and 4 are from memory, no source.
"""
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from import_odd_test import Odd  # noqa: E402
from import_twice_test import arxml, line, method  # noqa: E402


def arxml3(signals):
    """AUTOSAR 3, as far as it is needed; `signals`: {name: (start bit, bits, its type)}."""
    ref = lambda tag, path: f"<{tag}>/P/{path}</{tag}>"
    named = lambda tag, name, inside: f"<{tag}><SHORT-NAME>{name}</SHORT-NAME>{inside}</{tag}>\n"
    maps = "".join(named("I-SIGNAL-TO-I-PDU-MAPPING", n, "<PACKING-BYTE-ORDER>MOST-SIGNIFICANT-BYTE-LAST</PACKING-BYTE-ORDER>"
                         + ref("SIGNAL-REF", f"i_{n}") + f"<START-POSITION>{at}</START-POSITION>") for n, (at, _, _) in signals.items())
    elements = [named("CAN-CLUSTER", "C", "<PHYSICAL-CHANNELS>" + named("PHYSICAL-CHANNEL", "ch", "<FRAME-TRIGGERINGSS>" + named(
        "CAN-FRAME-TRIGGERING", "T", ref("FRAME-REF", "F") + "<CAN-ADDRESSING-MODE>STANDARD</CAN-ADDRESSING-MODE>"
        "<IDENTIFIER>291</IDENTIFIER>") + "</FRAME-TRIGGERINGSS>") + "</PHYSICAL-CHANNELS>"),
                named("FRAME", "F", "<FRAME-LENGTH>8</FRAME-LENGTH><PDU-TO-FRAME-MAPPINGS>" + named(
                    "PDU-TO-FRAME-MAPPING", "m", ref("PDU-REF", "U") + "<START-POSITION>0</START-POSITION>") + "</PDU-TO-FRAME-MAPPINGS>"),
                named("SIGNAL-I-PDU", "U", f"<LENGTH>64</LENGTH><SIGNAL-TO-PDU-MAPPINGS>{maps}</SIGNAL-TO-PDU-MAPPINGS>")]
    for name, (_, bits, kind) in signals.items():
        tag, inside = kind
        elements += [named("I-SIGNAL", f"i_{name}", ref("SYSTEM-SIGNAL-REF", f"s_{name}")),
                     named("SYSTEM-SIGNAL", f"s_{name}", ref("DATA-TYPE-REF", f"t_{name}") + f"<LENGTH>{bits}</LENGTH>"),
                     named(tag, f"t_{name}", "<SW-DATA-DEF-PROPS>" + ref("COMPU-METHOD-REF", f"c_{name}") + "</SW-DATA-DEF-PROPS>" + inside),
                     named("COMPU-METHOD", f"c_{name}", "")]
    return ("<?xml version='1.0'?>\n<AUTOSAR xmlns=\"http://autosar.org/3.2.3\"><TOP-LEVEL-PACKAGES>"
            + named("AR-PACKAGE", "P", f"<ELEMENTS>{''.join(elements)}</ELEMENTS>") + "</TOP-LEVEL-PACKAGES></AUTOSAR>")


class Arxml(Odd):
    def test_floats_and_signs_of_version_3(self):
        """0x41200000 is 10 as a float of 32 bits (IEEE 754); 0xFFFE is 65534, or -2 in two's complement."""
        real = ("REAL-TYPE", "<ENCODING>SINGLE</ENCODING>")
        limits = ("INTEGER-TYPE", "<LOWER-LIMIT>-100</LOWER-LIMIT><UPPER-LIMIT>100</UPPER-LIMIT>")
        text = arxml3({"f": (0, 32, real), "s": (32, 16, limits), "u": (48, 16, ("INTEGER-TYPE", ""))})
        self.assertIn("changed: 1 signal(s) of no encoding are unsigned; the file does not say it: look them up", self.said("a.arxml", text))
        self.assertEqual(self.bench("F", [0, 0, 0x20, 0x41, 0xFE, 0xFF, 0xFE, 0xFF]), {"i_f": 10, "i_s": -2, "i_u": 65534})

    def test_doubles_of_version_3_and_a_float_of_another_length(self):
        double = ("REAL-TYPE", "<ENCODING>DOUBLE</ENCODING>")
        self.said("a.arxml", arxml3({"d": (0, 64, double)}))
        self.assertEqual(self.bench("F", [0, 0, 0, 0, 0, 0, 0x24, 0x40]), {"i_d": 10})  # 0x4024... of 64 bits is 10
        self.assertEqual(self.lost("a.arxml", arxml3({"d": (0, 32, double), "e": (32, 32, double)}))["F.i_d"],
                         "it is a float of 64 bits, and has 32")

    def typed(self, types):
        """AUTOSAR 4: 16 bits for each of {signal: (name of its base type, encoding)}, the type named by the system signal."""
        text = arxml({name: method(line(0, 65535, (0, 1))[0]) for name in types})
        for name, (base, encoding) in types.items():
            at = f"c_{name}</COMPU-METHOD-REF>"
            text = text.replace(at, f'{at}<BASE-TYPE-REF DEST="SW-BASE-TYPE">/P/{base}</BASE-TYPE-REF>')
            inside = f"<BASE-TYPE-ENCODING>{encoding}</BASE-TYPE-ENCODING>" if encoding else ""
            text = text.replace("</ELEMENTS>", f"<SW-BASE-TYPE><SHORT-NAME>{base}</SHORT-NAME>{inside}</SW-BASE-TYPE></ELEMENTS>")
        return text

    def test_a_base_type_is_what_it_says_and_is_not_guessed(self):
        types = {"a": ("u_of_old", "2C"), "b": ("Signed_of_old", "NONE"), "c": ("boolean", None), "d": ("sint16", None)}
        lost = self.lost("a.arxml", self.typed(types))
        self.assertEqual(lost, {})
        self.assertEqual(self.bench("F", [0xFE, 0xFF] * 4), {"a": -2, "b": 65534, "c": 65534, "d": -2})
        lost = self.lost("a.arxml", self.typed({"a": ("uint16", None), "b": ("Speed", None), "c": ("text", "ISO-8859-1")}))
        self.assertEqual(lost, {"F.b": "its base type 'Speed' has no BASE-TYPE-ENCODING: write NONE (unsigned), 2C (signed) or IEEE754",
                                "F.c": "its encoding 'ISO-8859-1' is none of NONE, BOOLEAN, 2C, IEEE754, SINGLE, DOUBLE"})

    def test_a_byte_order_that_is_not_there_is_none(self):
        text = arxml({"a": method(line(0, 65535, (0, 1))[0])})
        order = "<PACKING-BYTE-ORDER>MOST-SIGNIFICANT-BYTE-LAST</PACKING-BYTE-ORDER><START-POSITION>"
        self.assertIn(order, text)
        out = self.tool("a.arxml", text.replace(order, "<START-POSITION>"))
        self.assertEqual(out.returncode, 2)
        self.assertIn("line 1: its signal of line 1 has PACKING-BYTE-ORDER '', none of MOST-SIGNIFICANT-BYTE-FIRST", out.stderr)

    def test_the_same_file_gives_the_same_bench(self):
        text = self.typed({name: ("uint16", "NONE") for name in "dbca"})
        for _ in range(4):
            self.said("a.arxml", text)
            found = pathlib.Path(self.yaml).read_text()
            self.assertEqual([name for name in ("d", "b", "c", "a") if f"      {name}: " in found],
                             [row.strip()[0] for row in found.splitlines() if row.startswith("      ")])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], warnings="ignore")
