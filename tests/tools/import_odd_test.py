#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What a message file says wrongly or not at all costs its message and is named; no library is the judge.

The files are written here, and what they say of some bytes is worked out by hand beside them.
"""
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).parent))
from import_twice_test import Folder  # noqa: E402


class Odd(Folder):
    def lost(self, name, text, encoding="utf-8", words=()):
        """{"message" or "message.signal": why it is lost}, of these alone."""
        found = {}
        for line in self.said(name, text, encoding, words):
            at, kind, rest = (line.split(": ", 2) + ["", ""])[:3]
            if kind == "lost" and rest.startswith(("message;", "signal;")):
                found[at] = rest.split("; ", 1)[1]
        return found


KCD = """<NetworkDefinition xmlns="http://kayak.2codeornot2code.org/1.0"><Node id="1" name="ECU"/>
<Bus name="b"><Message id="0x10" name="one" length="8"><Producer><NodeRef id="1"/></Producer>
<Signal name="s" offset="8" length="8"><Value slope="2"/></Signal></Message>
<Message id="0x11" name="two" length="8"><Producer><NodeRef id="1"/></Producer>
<Signal name="t" offset="16" length="8"/></Message>
<Message id="{id}" name="odd" length="8"{more}><Producer><NodeRef id="1"/></Producer>
{signal}</Message></Bus></NetworkDefinition>
"""
SIGNAL = '<Signal name="x" offset="0" length="8"/>'


class Kcd(Odd):
    """Beside the odd message the two others are as sound as alone: byte 1 times 2, byte 2."""

    def odd(self, identifier="0x12", signal=SIGNAL, more=""):
        lost = self.lost("a.kcd", KCD.format(id=identifier, signal=signal, more=more))
        self.assertEqual(self.bench("one", [1, 2, 3, 0, 0, 0, 0, 0]), {"s": 4})
        self.assertEqual(self.bench("two", [1, 2, 3, 0, 0, 0, 0, 0]), {"t": 3})
        self.assertIn('sender: simulator', self.by_node())
        self.assertLessEqual(set(lost), {"odd"})
        return lost.get("odd")

    def by_node(self):
        """The part, with the node that the producers name as the simulator."""
        self.said("a.kcd", pathlib.Path(self.tmp, "a.kcd").read_text(), words=("--sender", "ECU=simulator"))
        return pathlib.Path(self.yaml).read_text()

    def test_one_odd_message_costs_no_other_that_names_its_producer(self):
        self.assertEqual(self.odd(), None)
        self.assertEqual(self.odd(signal=SIGNAL.replace('"0"', '"abc"')),
                         "line 6: signal 'x' of line 7: offset 'abc' is no whole number from 0 on")

    def test_what_would_be_taken_for_something_else_is_left_out(self):
        for signal, why in ((SIGNAL.replace('offset="0" ', ""), "its offset is missing: write which bit it begins at"),
                            (SIGNAL.replace("/>", ' endianess="Big"/>'), "endianess 'Big' is neither little nor big"),
                            (SIGNAL.replace("/>", '><Value type="float"/></Signal>'), "type 'float' is none of unsigned, signed, single, double"),
                            (SIGNAL.replace("/>", '><Value type="single"/></Signal>'), "a single has 32 bits, and 8 are written"),
                            (SIGNAL.replace('"8"', '"0"'), "length '0' is no whole number from 1 on")):
            self.assertEqual(self.odd(signal=signal), f"line 6: signal 'x' of line 7: {why}")
        group = f'<Multiplex name="m" offset="8" length="8"><MuxGroup>{SIGNAL}</MuxGroup></Multiplex>'
        self.assertIn("the count of its MuxGroup is no whole number", self.odd(signal=group))

    def test_an_identifier_that_may_be_either_number_is_left_out(self):
        self.assertEqual(self.odd("291"), "line 6: its id '291' does not begin with 0x, as KCD writes one; write 0x123 if that is "
                                          "decimal, 0x291 if it is not")
        self.assertEqual(self.odd("0x7FF0"), 'line 6: identifier 0x7FF0 does not fit 11 bits: write format="extended"')
        self.assertEqual(self.odd("0x12", more=' format="Extended"'), "line 6: format 'Extended' is neither standard nor extended")

    def test_what_the_reader_stumbles_over_without_need_costs_nothing(self):
        """A period without `triggered`, of which it is no whole number; a node that is not there; an empty note."""
        self.assertEqual(self.odd(more=' triggered="true" interval="2.5"', signal="<Notes/>" + SIGNAL), None)
        self.assertIn("period_ms: 2.5", pathlib.Path(self.yaml).read_text())
        self.assertEqual(self.bench("odd", [9, 0, 0, 0, 0, 0, 0, 0]), {"x": 9})
        said = self.said("a.kcd", KCD.format(id="0x12", more="", signal=SIGNAL.replace("/>", '><Consumer><NodeRef id="7"/></Consumer></Signal>')))
        self.assertIn("odd.x: lost: line 7: NodeRef '7'; no Node has this id", said)
        self.assertEqual(self.bench("odd", [9, 0, 0, 0, 0, 0, 0, 0]), {"x": 9})

    def test_a_length_that_is_not_written_is_that_of_the_signals_and_said(self):
        text = KCD.format(id="0x12", more="", signal=SIGNAL.replace('"0"', '"20"'))
        for length in ("", ' length="auto"'):
            said = self.said("a.kcd", text.replace(' name="odd" length="8"', ' name="odd"' + length))
            self.assertIn("odd: changed: its length is 4 bytes; the file does not say it: its signals end there", said)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], warnings="ignore")
