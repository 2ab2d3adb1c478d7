#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What a message file says wrongly or not at all costs its message and is named; no library is the judge.

The files are written here, and what they say of some bytes is worked out by hand beside them.
"""
import json
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
        group = f'<Multiplex name="m" offset="32" length="32"><Value type="single"/><MuxGroup count="1">{SIGNAL}</MuxGroup></Multiplex>'
        self.assertEqual(self.odd(signal=group), "line 6: signal 'm' of line 7: a selector has whole numbers, and 'single' is written")

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


DBC = """VERSION ""
BU_: ECU
BO_ 16 plain: 8 ECU
 SG_ s : 0|8@1+ (1,0) [0|0] "" ECU
 SG_ f : 32|32@1- (1,0) [0|0] "" ECU
BO_ 17 pages: 8 ECU
 SG_ inner m1M : 8|8@1+ (1,0) [0|0] "" ECU
 SG_ a m1 : 16|8@1+ (1,0) [0|0] "" ECU
 SG_ chooses M : 0|8@1+ (1,0) [0|0] "" ECU
BO_ 2147483664 wide: 8 ECU
 SG_ w : 0|8@1+ (1,0) [0|0] "" ECU
SIG_VALTYPE_ 16 f : 1;
"""


class Dbc(Odd):
    DATA = [1, 2, 3, 4, 0, 0, 0x20, 0x41]  # 0x41200000 is 10 as a float of 32 bits (IEEE 754)

    def text(self, was="", now=""):
        self.assertIn(was, DBC)
        return DBC.replace(was, now, 1) if was else DBC

    def test_a_selector_that_is_selected_is_never_the_first(self):
        """`chooses` has 1: a is byte 2. With 2 in it a is not there."""
        self.assertEqual(self.lost("a.dbc", DBC), {"pages.inner": "a message has one selector, and this is a second"})
        self.assertEqual(self.bench("pages", self.DATA), {"chooses": 1, "a": 3})
        self.assertEqual(self.bench("pages", [2, 1, 3, 0, 0, 0, 0, 0]), {"chooses": 2})

    def test_without_one_that_is_always_there_nothing_is_selected(self):
        none = "it is multiplexed and nothing selects it"
        lost = self.lost("a.dbc", self.text("chooses M", "chooses"))
        self.assertEqual(lost, {"pages.inner": none, "pages.a": none})
        self.assertEqual(self.bench("pages", self.DATA), {"chooses": 1})

    def test_an_identifier_with_its_mark_and_too_many_bits(self):
        self.assertEqual(self.lost("a.dbc", self.text("BO_ 17 ", "BO_ 4294967295 "))["pages"],
                         "line 6: identifier 0xFFFFFFFF has more than 29 bits below their mark (bit 31); it is 0x1FFFFFFF at most")

    def test_a_float_of_another_length_is_left_out(self):
        self.lost("a.dbc", DBC)
        self.assertEqual(self.bench("plain", self.DATA), {"s": 1, "f": 10})
        self.assertEqual(self.lost("a.dbc", self.text(" f : 1;", " f : 2;"))["plain.f"], "line 12: it is a float of 64 bits, and has 32")

    def test_a_sign_that_is_none_costs_the_message(self):
        self.assertEqual(self.lost("a.dbc", self.text("s : 0|8@1+", "s : 0|8@1|"))["plain"],
                         "line 4: the sign behind its byte order is '|', neither + (unsigned) nor - (signed)")

    def test_of_equal_numbers_of_11_and_29_bits_each_has_its_own_period(self):
        self.said("a.dbc", DBC + 'BA_DEF_ BO_ "GenMsgCycleTime" FLOAT 0 1000;\nBA_ "GenMsgCycleTime" BO_ 16 2.5;\n')
        self.assertEqual(pathlib.Path(self.yaml).read_text().count("period_ms"), 1)

    def test_what_is_said_of_a_signal_that_is_not_there_is_listed(self):
        for line in ('VAL_ 16 x 1 "on" ;', "SIG_VALTYPE_ 16 x : 1;", 'CM_ SG_ 16 x "why";', "SG_MUL_VAL_ 16 x s 1-1;"):
            self.assertIn(f"lost: line 13 ({line.split()[0]}); its message has no signal 'x'", self.said("a.dbc", DBC + line + "\n"))


SYM = """FormatVersion=5.0 // Do not edit this line!
{ENUMS}
enum Gear(0="N", 1="a//b")
{SENDRECEIVE}
[one]
ID=100h // "why"
Type=Extended
DLC=8 // bytes
CycleTime=20
Var=s  unsigned 0,8  /u:"a//b  c" /f:2 /e:Gear
[odd]
ID=101h
DLC=8
Var=x unsigned 8,8
"""


class Sym(Odd):
    """Beside the odd message `one` is as sound as alone: byte 0 times 2."""

    def odd(self, was, now):
        self.assertIn(was, SYM)
        lost = self.lost("a.sym", now.join(SYM.rsplit(was, 1)))
        self.assertEqual(self.bench("one", [1, 2, 3, 0, 0, 0, 0, 0]), {"s": 2})
        return lost

    def test_blanks_and_slashes_in_quotes_and_comments_are_what_they_are(self):
        self.assertEqual(self.odd("101h", "101h"), {})
        self.assertEqual(self.names("one", "s"), {"0": "N", "1": "a//b"})
        self.assertIn("extended: true\n    length_bytes: 8\n    sender: controller\n    period_ms: 20\n",
                      pathlib.Path(self.yaml).read_text())

    def test_what_a_message_does_not_say_or_says_in_other_words_costs_it(self):
        for was, now, why in (("ID=101h\n", "", "line 11: it has no ID: write ID=HEXADECIMALh"),
                              ("ID=101h", "ID=291", "line 11: its ID '291' is no hexadecimal number that ends in h"),
                              ("DLC=8\n", "", "line 11: it does not say its length: write DLC=BYTES"),
                              ("DLC=8", "DLC=8\nType=extended", "line 11: type 'extended' is none of Standard, Extended, FDStandard, FDExtended"),
                              ("DLC=8", "DLC=8\nCycleTime=2.5", "line 11: its CycleTime '2.5' is no whole number"),
                              ("Var=x unsigned 8,8", "Var=x", "line 11: line 14 is not understood: Var=x; write Var=NAME TYPE START,LENGTH"),
                              ("unsigned 8,8", "double 0,32", "line 11: line 14 is not understood: Var=x double 0,32; a double has 64 "
                                                              "bits, and 32 are written"),
                              ("Var=x", "Mux=a 0,8 1\nMux=b 8,8 2\nVar=x", "line 11: its selector lies in 2 places (lines 14, 15): one can be "
                               "read; make it several messages")):
            self.assertEqual(self.odd(was, now), {"odd": why})

    def test_can_fd_is_read_as_the_file_says_it(self):
        self.assertEqual(self.odd("DLC=8\nVar=x unsigned 8,8", "Type=FDExtended\nDLC=64\nVar=x unsigned 504,8"), {})
        self.assertEqual(self.bench("odd", [0] * 63 + [7]), {"x": 7})
        self.assertIn("id: 0x101\n    extended: true\n    fd: true\n    length_bytes: 64", pathlib.Path(self.yaml).read_text())

    def test_a_text_is_said_to_be_a_number(self):
        self.assertIn("odd.x: changed: text is a plain number; a bench has no texts", self.said("a.sym", SYM.replace("unsigned 8,8", "string 8,16")))

    def test_what_is_not_read_is_listed(self):
        said = self.said("a.sym", SYM.replace("8,8", "8,8 /q:7 junk /e:Nobody\nTimeout=100"))
        for line in ("odd.x: lost: option '/q:7' of line 14; it is not read", "odd.x: lost: option 'junk' of line 14; it is not read",
                     "odd.x: lost: names of its values, line 14; there is no enum 'Nobody'", "odd: lost: line 15 (Timeout); it is not read"):
            self.assertIn(line, said)
        self.assertEqual(self.bench("odd", [1, 2, 0, 0, 0, 0, 0, 0]), {"x": 2})

    def test_a_selector_has_the_byte_order_that_is_written_behind_its_value(self):
        """Bits 4 to 7 from the top of byte 0 are its low half; a program that writes -m for another signal is named."""
        pages = "Mux=a 4,4 1 -m\nVar=x unsigned 8,8"
        self.assertEqual(self.odd("Var=x unsigned 8,8", pages), {})
        self.assertEqual(self.bench("odd", [0x21, 7, 0, 0, 0, 0, 0, 0]), {"odd_MUX": 1, "x": 7})
        said = self.said("a.sym", SYM.replace("Var=x unsigned 8,8", pages).replace("{ENUMS}", 'Title="canmatrix-Export"\n{ENUMS}'))
        self.assertIn("odd.odd_MUX: changed: it is read as little-endian; canmatrix writes -m of a selector for the signal behind it: "
                      "look it up", said)
        self.assertEqual(self.bench("odd", [0x12, 7, 0, 0, 0, 0, 0, 0]), {"odd_MUX": 1, "x": 7})  # its high half

    def test_names_of_values_are_whole_and_one_that_is_odd_costs_itself(self):
        said = self.said("a.sym", SYM.replace('1="a//b"', '1="a, b=c", two="x", -1="d)"'))
        self.assertEqual(self.names("one", "s"), {"0": "N", "1": "a, b=c"})
        self.assertIn('lost: line 3 of an enum: two="x"; write NUMBER="name"', said)
        self.assertEqual(self.bench("one", [1, 2, 3, 0, 0, 0, 0, 0]), {"s": 2})


class Json(Odd):
    """Beside the odd message `one` is as sound as alone: byte 1 times 2."""
    ONE = {"id": 16, "name": "one", "length": 8, "signals": [{"name": "s", "start_bit": 8, "bit_length": 8, "factor": 2}]}

    def odd(self, more=(), of_signal=(), signals=None):
        signal = {"name": "x", "start_bit": 0, "bit_length": 8, **dict(of_signal)}
        message = {"id": 17, "name": "odd", "length": 8, "signals": [signal] if signals is None else signals, **dict(more)}
        lost = self.lost("a.json", json.dumps({"messages": [self.ONE, message]}))
        self.assertEqual(self.bench("one", [1, 2, 3, 0, 0, 0, 0, 0]), {"s": 4})
        self.assertLessEqual(set(lost), {"odd"})
        return lost.get("odd")

    def test_what_a_key_cannot_say_costs_the_message(self):
        for key, value, why in (("start_bit", 0.5, "0.5; write a whole number"), ("bit_length", True, "true; write a whole number"),
                                ("is_signed", "no", '"no"; write true or false'), ("is_big_endian", "big", '"big"; write true or false'),
                                ("factor", False, "false; write a number"), ("offset", "x", '"x"; write a number'),
                                ("unit", 5, "5; write a text"), ("values", [1], "[1]; write an object of raw value and name")):
            self.assertEqual(self.odd(of_signal={key: value}), f"message 2 of the list: signal 1 ('x'): '{key}' is {why}")
        for key, value, why in (("id", "0x11", '"0x11"; write a whole number, decimal'), ("length", 7.5, "7.5; write a whole number of bytes"),
                                ("is_fd", "yes", '"yes"; write true or false'), ("signals", {}, "{}; write a list")):
            self.assertEqual(self.odd({key: value}), f"message 2 of the list: '{key}' is {why}")

    def test_what_is_no_signal_is_named(self):
        self.assertEqual(self.odd(signals=[5]), "message 2 of the list: signal 1: it is 5; write an object")
        self.assertEqual(self.odd(signals=[{"name": "b"}]), "message 2 of the list: signal 1 ('b'): 'start_bit' is missing")
        self.assertEqual(self.odd(of_signal={"multiplex": 1, "mux_value": 2}),
                         "message 2 of the list: signal 1 ('x'): 'multiplex' is 1 and 'mux_value' 2; write the one that is right")

    def test_whole_numbers_in_other_words_are_read(self):
        """Bits 16 to 23, signed: 0xFE is -2."""
        self.assertEqual(self.odd({"length": "8"}, {"start_bit": 16.0, "bit_length": "8", "is_signed": 1, "unit": None}), None)
        self.assertEqual(self.bench("odd", [0, 0, 0xFE, 0, 0, 0, 0, 0]), {"x": -2})

    def test_a_selector_is_known_by_each_of_its_keys(self):
        signals = [{"name": "m", "start_bit": 0, "bit_length": 8, "is_multiplexer": True, "mux_value": None},
                   {"name": "a", "start_bit": 8, "bit_length": 8, "is_multiplexer": False, "mux_value": 1}]
        self.assertEqual(self.odd(signals=signals), None)
        self.assertEqual(self.bench("odd", [1, 7, 0, 0, 0, 0, 0, 0]), {"m": 1, "a": 7})
        self.assertEqual(self.bench("odd", [2, 7, 0, 0, 0, 0, 0, 0]), {"m": 2})

    def test_a_key_beside_the_messages_is_listed(self):
        self.assertIn("lost: key 'mesages' (1 times); it is not read", self.said("a.json", json.dumps({"messages": [self.ONE], "mesages": [{}]})))


DBF = """[DATABASE_VERSION] 1.3
[START_MSG] one,16,8,1,1,S,ECU
[START_SIGNALS] s,8,2,0,U,0,0,1,0,2,,,DASH
[START_SIGNALS] b,1,1,7,B,0,0,1,0,1,,,DASH
[END_MSG]
[START_MSG] odd,17,8,1,1,S,ECU
[START_SIGNALS] x,8,1,0,U,0,0,1,0,1,,,DASH
[VALUE_DESCRIPTION] "on",1
[END_MSG]
"""


class Dbf(Odd):
    """Beside the odd message `one` is as sound as alone: byte 1 times 2, and bit 7 of byte 0, which is never -1."""

    def odd(self, now):
        self.assertIn("x,8,1,0,U,0,0,1,0,1,,,", DBF)
        lost = self.lost("a.dbf", DBF.replace("x,8,1,0,U,0,0,1,0,1,,,", now))
        self.assertEqual(self.bench("one", [0x81, 2, 3, 0, 0, 0, 0, 0]), {"s": 4, "b": 1})
        return lost

    def test_a_letter_or_number_that_the_format_does_not_have_costs_the_message(self):
        self.assertEqual(self.odd("x,8,1,0,U,0,0,1,0,1,,,"), {})
        for now, why in (("x,8,1,0,X,0,0,1,0,1,,,", "type 'X' is none of U, I, F, D, B"),
                         ("x,8,1,0,F,0,0,1,0,1,,,", "a type F has 32 bits, and 8 are written"),
                         ("x,8,1,0,U,0,0,2,0,1,,,", "byte order '2' is neither 0 (big-endian) nor 1 (little-endian)"),
                         ("x,8,1,0,U,0,0,1,0,1,,x5,", "'x5' is neither M nor m and a number")):
            self.assertEqual(self.odd(now), {"odd": f"line 6: line 7: signal 'x': {why}"})

    def test_a_name_that_is_not_understood_is_listed(self):
        said = self.said("a.dbf", DBF.replace('"on",1', "on,1"))
        self.assertIn('lost: line 8 (VALUE_DESCRIPTION); it is not understood: "name",number', said)


class Encodings(Odd):
    """°C is degC, in whatever it is written."""

    def read(self, name, text, encoding, *words):
        self.said(name, text, encoding, words)
        self.assertIn("unit: degC", pathlib.Path(self.yaml).read_text(encoding="utf-8"))

    def test_what_begins_with_a_mark_needs_no_word(self):
        dbc, sym = DBC.replace('""', '"°C"'), SYM.replace("unsigned 8,8", "unsigned 8,8 /u:°C")
        listed = json.dumps({"messages": [{**Json.ONE, "signals": [{**Json.ONE["signals"][0], "unit": "°C"}]}]}, ensure_ascii=False)
        for encoding in ("utf-8", "utf-8-sig", "utf-16"):
            for name, text in (("a.dbc", dbc), ("a.sym", sym), ("a.json", listed)):
                self.read(name, text, encoding)
        for encoding in ("cp1252", "utf-16-le"):
            for name, text in (("a.dbc", dbc), ("a.sym", sym), ("a.json", listed)):
                self.read(name, text, encoding, "--encoding", encoding)

    def test_xml_is_what_its_first_line_says(self):
        text = KCD.format(id="0x12", more="", signal=SIGNAL.replace("/>", '><Value unit="°C"/></Signal>'))
        for encoding in ("utf-8", "windows-1252", "utf-16", "ISO-8859-15"):
            self.read("a.kcd", f'<?xml version="1.0" encoding="{encoding}"?>\n{text}', encoding)

    def test_what_is_no_encoding_or_not_that_of_the_file_is_refused(self):
        out = self.tool("a.dbc", DBC, words=("--encoding", "nonsense"))
        self.assertEqual((out.returncode, out.stderr.count("\n")), (2, 1), out.stderr)
        self.assertIn("no encoding is called 'nonsense'; often it is cp1252", out.stderr)
        out = self.tool("a.kcd", '<?xml version="1.0" encoding="utf-8"?>\n<a>°</a>', "cp1252")
        self.assertIn("a.kcd:2: byte 0xB0 is not utf-8; its first line says so", out.stderr)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], warnings="ignore")
