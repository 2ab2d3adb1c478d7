#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Messages imported and exported, with canmatrix as the judge: the same values from the same bytes."""
import contextlib
import io
import json
import math
import os
import pathlib
import random
import subprocess
import sys
import tempfile
import unittest
import warnings

warnings.simplefilter("ignore")
sys.dont_write_bytecode = True
DRYCRANK, DECODE, ROOT = sys.argv[1:4]
TOOL = f"{ROOT}/tools/import-messages"
sys.path[:0] = [f"{ROOT}/tools/exchange", str(pathlib.Path(__file__).parent)]

import logging  # noqa: E402
logging.disable(logging.CRITICAL)
import canmatrix.formats  # noqa: E402

import arxml_sets  # noqa: E402
import message_sets  # noqa: E402
import units  # noqa: E402

BENCHES = sorted(str(p) for p in pathlib.Path(ROOT, "profiles/benches").glob("*.yaml"))


def tool(*words):
    return subprocess.run([TOOL, *words], capture_output=True, text=True, timeout=120,
                          env={**os.environ, "DRYCRANK": DRYCRANK})


def messages(path):
    out = subprocess.run([DRYCRANK, "messages", path, "--json"], capture_output=True, text=True)
    assert out.returncode == 0, out.stderr
    return json.loads(out.stdout)


def load(path):
    with contextlib.redirect_stdout(io.StringIO()):
        return next(iter(canmatrix.formats.loadp(path).values()))


def ours(yaml, frames):
    """One {signal: value} per (message, bytes), by our own layouts."""
    lines = "".join(f"{name} {data.hex()}\n" for name, data in frames)
    out = subprocess.run([DECODE, yaml], input=lines, capture_output=True, text=True, timeout=60)
    assert out.returncode == 0, out.stderr
    found = [{}]
    for line in out.stdout.splitlines():
        if line:
            _, signal, value = line.split()
            found[-1][signal] = float(value)
        else:  # the end of one frame
            found.append({})
    return found[:-1]


def same(a, b):
    return (math.isnan(a) and math.isnan(b)) or a == b or math.isclose(a, b, rel_tol=1e-12, abs_tol=1e-12)


class Folder(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = folder.name

    def write(self, name, content):
        path = f"{self.tmp}/{name}"
        pathlib.Path(path).write_bytes(content if isinstance(content, bytes) else content.encode())
        return path


class Judge(Folder):
    """canmatrix writes a generated set, reads it back and decodes; so do we. 5 sets per format."""

    def judge(self, suffix, seed):
        rng = random.Random(seed)
        path, yaml = f"{self.tmp}/set{seed}.{suffix}", f"{self.tmp}/set{seed}.yaml"
        written = message_sets.matrix(rng, suffix)
        with contextlib.redirect_stdout(io.StringIO()):
            canmatrix.formats.dumpp({"": written}, path)
        out = tool(path, yaml)
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        self.assertIn("written; ", out.stdout)
        judge = load(path)
        for frame, source in zip(judge.frames, written.frames, strict=True) if suffix == "arxml" else ():
            for signal in frame.signals:  # canmatrix writes its floats of AUTOSAR 3, and reads them as whole numbers
                signal.is_float = source.signal_by_name(signal.name).is_float
        self.assertEqual(len(judge.frames), 12)
        frames = [(f.name, rng.randbytes(f.size)) for f in judge.frames for _ in range(20)]
        compared = 0
        for (name, data), found in zip(frames, ours(yaml, frames), strict=True):
            # A float that is no number is no value here.
            wanted = {k: float(v.phys_value)
                      for k, v in judge.frame_by_name(name).decode(bytearray(data)).items()
                      if not math.isnan(float(v.phys_value))}
            self.assertEqual(found.keys(), wanted.keys(), (suffix, seed, name, data.hex(), out.stdout))
            for key, value in wanted.items():
                self.assertTrue(same(found[key], value), (suffix, seed, name, key, found[key], value))
                compared += 1
        self.properties(judge, next(iter(messages(yaml).values()))["messages"])
        return compared

    def properties(self, judge, found):
        for frame in judge.frames:
            mine = found[frame.name]
            self.assertEqual(mine["id"], frame.arbitration_id.id)
            self.assertEqual(mine.get("extended", False), bool(frame.arbitration_id.extended))
            self.assertEqual(mine.get("fd", False), frame.is_fd)
            self.assertEqual(mine["length_bytes"], frame.size)
            self.assertEqual(mine.get("period_ms", 0), frame.cycle_time)
            for signal in frame.signals:
                values = {str(int(k)): v for k, v in signal.values.items()}
                self.assertEqual(mine["signals"][signal.name].get("values", {}), values)
                self.assertEqual(mine["signals"][signal.name].get("unit", ""), signal.unit)

    def test_dbc(self):
        self.assertGreater(sum(self.judge("dbc", seed) for seed in range(5)), 2000)

    def test_kcd(self):
        self.assertGreater(sum(self.judge("kcd", seed) for seed in range(5)), 2000)

    def test_sym(self):
        self.assertGreater(sum(self.judge("sym", seed) for seed in range(5)), 1500)

    def test_arxml(self):
        self.assertGreater(sum(self.judge("arxml", seed) for seed in range(5)), 2000)

    def test_the_judge_sees_a_wrong_layout(self):
        rng = random.Random(1)
        path, yaml = f"{self.tmp}/set.dbc", f"{self.tmp}/set.yaml"
        canmatrix.formats.dumpp({"": message_sets.matrix(rng, "dbc")}, path)
        tool(path, yaml)
        text = pathlib.Path(yaml).read_text()
        wrong = self.write("wrong.yaml", text.replace("scale: 0.25", "scale: 0.26"))
        self.assertNotEqual(text, pathlib.Path(wrong).read_text())
        frames = [(f.name, rng.randbytes(f.size)) for f in load(path).frames]
        self.assertNotEqual(ours(yaml, frames), ours(wrong, frames))


class Extended(Folder):
    """Extended multiplexing of DBC (SG_MUL_VAL_): canmatrix decodes what is there for each selector."""

    def imported(self, seed):
        """(the judge, our YAML, {(message, signal) lost}) of a generated set."""
        path, yaml, losses = (f"{self.tmp}/{seed}.{end}" for end in ("dbc", "yaml", "json"))
        with contextlib.redirect_stdout(io.StringIO()):
            canmatrix.formats.dumpp({"": message_sets.extended_matrix(random.Random(seed))}, path)
        out = tool(path, yaml, "--losses", losses)
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        lost = {(e["message"], e["signal"]) for e in json.loads(pathlib.Path(losses).read_text())
                if e["kind"] == "lost" and e["what"] == "signal"}
        judge = load(path)
        self.assertTrue(all(f.is_complex_multiplexed for f in judge.frames))
        return judge, yaml, lost

    def frames(self, judge, seed):
        rng = random.Random(seed)
        return [(f.name, bytes([choice]) + rng.randbytes(7))
                for f in judge.frames for choice in (*range(11), 255) for _ in range(3)]

    def wanted(self, judge, name, data, lost):
        """canmatrix's values under our names: a signal of several choices has one name for each."""
        frame = judge.frame_by_name(name)
        out = {}
        for key, value in frame.decode(bytearray(data)).items():
            count = sum(high - low + 1 for low, high in frame.signal_by_name(key).mux_val_grp)
            if (name, key) not in lost and not math.isnan(float(value.phys_value)):
                out[f"{key}_{data[0]}" if count > 1 else key] = float(value.phys_value)
        return out

    def test_every_choice_decodes_as_canmatrix_does(self):
        compared = 0
        for seed in range(5):
            judge, yaml, lost = self.imported(seed)
            frames = self.frames(judge, seed)
            for (name, data), found in zip(frames, ours(yaml, frames), strict=True):
                wanted = self.wanted(judge, name, data, lost)
                self.assertEqual(found.keys(), wanted.keys(), (seed, name, data.hex()))
                for key, value in wanted.items():
                    self.assertTrue(same(found[key], value), (seed, name, key, found[key], value))
                    compared += 1
        self.assertGreater(compared, 3000)

    def test_only_what_is_nested_is_lost_and_all_of_it_is_named(self):
        for seed in range(5):
            judge, _, lost = self.imported(seed)
            nested = {(f.name, s.name) for f in judge.frames for s in f.signals
                      if s.name.endswith("_inner") or "_deep" in s.name}
            self.assertGreater(len(nested), 4)
            self.assertEqual(lost, nested)

    def test_the_judge_sees_a_wrong_choice(self):
        judge, yaml, lost = self.imported(0)
        text = pathlib.Path(yaml).read_text()
        wrong = self.write("wrong.yaml", text.replace("multiplex_value: 4", "multiplex_value: 10"))
        self.assertNotEqual(text, pathlib.Path(wrong).read_text())
        frames = self.frames(judge, 0)
        self.assertNotEqual([f.keys() for f in ours(wrong, frames)],
                            [self.wanted(judge, *f, lost).keys() for f in frames])


class BackAndForth(Folder):
    def test_every_shipped_bench_comes_back_from_kcd_as_it_was(self):
        self.assertGreaterEqual(len(BENCHES), 4)
        for bench in BENCHES:
            kcd, yaml = f"{self.tmp}/{pathlib.Path(bench).stem}.kcd", f"{self.tmp}/back.yaml"
            self.assertEqual(tool("--to-kcd", bench, kcd).returncode, 0)
            for name, bus in messages(bench).items():
                out = tool(kcd, yaml, "--bus", name, "--overwrite")
                self.assertEqual(out.returncode, 0, out.stderr)
                self.assertNotIn(" lost: ", out.stdout)
                self.assertEqual(messages(yaml)["back"], bus)

    def test_canmatrix_decodes_our_kcd_as_we_decode_the_bench(self):
        rng = random.Random(7)
        for bench in BENCHES:
            kcd = f"{self.tmp}/{pathlib.Path(bench).stem}.kcd"
            tool("--to-kcd", bench, kcd)
            with contextlib.redirect_stdout(io.StringIO()):
                judges = canmatrix.formats.loadp(kcd).values()
            judged = [f for judge in judges for f in judge.frames]
            frames = [(f.name, rng.randbytes(f.size)) for f in judged for _ in range(10)]
            for (name, data), found in zip(frames, ours(bench, frames), strict=True):
                frame = next(f for f in judged if f.name == name)
                wanted = frame.decode(bytearray(data))
                self.assertEqual(found.keys(), wanted.keys())
                for key, value in wanted.items():
                    self.assertTrue(same(found[key], float(value.phys_value)), (bench, name, key))


DBC = '''VERSION ""
BU_: ECU DASH
BO_ 2364539904 EEC1: 8 ECU
 SG_ speed : 24|16@1+ (0.125,0) [0|8031.875] "U/min" DASH
BO_ 291 pages: 8 ECU
 SG_ page M : 0|8@1+ (1,0) [0|0] "" DASH
 SG_ a m0 : 8|8@1+ (1,0) [0|0] "furlong" DASH
 SG_ b m1 : 8|8@1+ (1,0) [0|0] "" DASH
 SG_ over m1 : 12|8@1+ (1,0) [0|0] "" DASH
BO_ 292 too_long: 20 ECU
 SG_ x : 0|8@1+ (1,0) [0|0] "" DASH
CM_ SG_ 291 a "a comment";
BA_DEF_ SG_ "GenSigStartValue" INT 0 10;
BA_ "GenSigStartValue" SG_ 291 a 3;
VAL_ 291 page 0 "first" 1 "first" 300 "never" ;
SG_MUL_VAL_ 291 a page 0-0;
SG_MUL_VAL_ 291 b page 1-3;
SG_MUL_VAL_ 291 over page 1-1;
'''


class Losses(Folder):
    def setUp(self):
        super().setUp()
        self.losses = f"{self.tmp}/losses.json"
        self.out = tool(self.write("car.dbc", DBC), f"{self.tmp}/car.yaml", "--losses", self.losses)
        self.listed = json.loads(pathlib.Path(self.losses).read_text())

    def of(self, message, signal):
        return [f"{e['kind']}: {e['what']}" for e in self.listed if (e["message"], e["signal"]) == (message, signal)]

    def test_each_loss_is_named_with_its_message_and_signal(self):
        self.assertEqual(self.out.returncode, 0, self.out.stderr)
        self.assertEqual(self.of("EEC1", "speed"), ["changed: unit 'U/min' is 'rpm'"])
        self.assertEqual(self.of("pages", "a"), ["lost: unit 'furlong'"])
        self.assertEqual(self.of("pages", "b"), ["changed: 3 signals, one per value of the selector"])
        self.assertEqual(self.of("pages", "over"), ["changed: shares bits with b_1"])
        self.assertEqual(self.of("pages", "page"), ["changed: name 'first' of raw value 1 is 'first (1)'",
                                                    "lost: name 'never' of raw value 300"])
        self.assertEqual(self.of("too_long", ""), ["lost: message"])
        self.assertIn("lost: attribute 'GenSigStartValue' (1 times)", self.of("", ""))
        for e in self.listed:
            self.assertIn(f"{e['kind']}: {e['what']}; {e['why']}", self.out.stdout)

    def test_what_is_left_loads(self):
        found = messages(f"{self.tmp}/car.yaml")["car"]["messages"]
        self.assertEqual(list(found), ["EEC1", "pages"])
        self.assertEqual(found["EEC1"]["id"], 0x0CF00400)
        self.assertEqual(found["EEC1"]["signals"]["speed"]["unit"], "rpm")
        self.assertEqual(list(found["pages"]["signals"]), ["page", "a", "b_1", "b_2", "b_3", "over"])
        self.assertEqual(found["pages"]["signals"]["over"]["instead_of"], ["b_1"])

    def test_senders_and_choice(self):
        out = tool(self.write("c.dbc", DBC), f"{self.tmp}/c.yaml", "--sender", "ECU=simulator", "--only", "EE*")
        self.assertEqual(out.returncode, 0, out.stderr)
        found = messages(f"{self.tmp}/c.yaml")["c"]["messages"]
        self.assertEqual({name: m["sender"] for name, m in found.items()}, {"EEC1": "simulator"})


class OneOddLine(Folder):
    """It costs its message, not the file."""

    def imported(self, text, *words):
        losses = f"{self.tmp}/losses.json"
        out = tool(self.write("a.dbc", text), f"{self.tmp}/out.yaml", "--losses", losses, "--overwrite", *words)
        self.assertEqual(out.returncode, 0, out.stderr)
        listed = {e["message"]: e["why"] for e in json.loads(pathlib.Path(losses).read_text())
                  if e["kind"] == "lost" and e["what"].startswith(("message", "signals of"))}
        return messages(f"{self.tmp}/out.yaml")["out"]["messages"], listed

    def test_a_signal_that_is_not_understood(self):
        found, lost = self.imported(DBC.replace('0|8@1+ (1,0) [0|0] ""', '0|8@1+ (one,0) [0|0] ""', 1))
        self.assertEqual(list(found), ["EEC1"])
        self.assertEqual(lost["pages"], 'line 6 is not understood: SG_ page M : 0|8@1+ (one,0) [0|0] "" DASH')

    def test_a_signal_of_no_message(self):
        found, lost = self.imported("SG_ x : 0|8@1+ (1,0) [0|0] \"\" DASH\n" + DBC)
        self.assertEqual(list(found), ["EEC1", "pages"])
        self.assertIn("line 1 is not understood", lost[""])

    def test_an_identifier_above_11_bits_without_the_mark_of_29(self):
        found, lost = self.imported(DBC.replace("BO_ 291 ", "BO_ 4660 "))
        self.assertEqual(list(found), ["EEC1"])
        self.assertEqual(lost["pages"], "line 5: identifier 0x1234 needs 29 bits and has no mark of it (bit 31)")

    def test_a_message_that_is_there_twice(self):
        found, lost = self.imported(DBC.replace("BO_ 292 too_long: 20", "BO_ 291 again: 8"))
        self.assertEqual(list(found), ["EEC1", "pages"])
        self.assertIn("identifier 0x123 is 'pages' already", lost["again"])

    def all_lost(self):
        return {e["what"]: e["why"] for e in json.loads(pathlib.Path(f"{self.tmp}/losses.json").read_text()) if e["kind"] == "lost"}

    def test_a_byte_order_that_is_none(self):
        found, lost = self.imported(DBC.replace("0|8@1+ (1,0) [0|0] \"\"", "0|8@2+ (1,0) [0|0] \"\"", 1))
        self.assertEqual(list(found), ["EEC1"])
        self.assertEqual(lost["pages"], "line 6: byte order 2 is neither 0 (big-endian) nor 1 (little-endian)")

    def test_an_identifier_below_zero(self):
        found, lost = self.imported(DBC.replace("BO_ 291 ", "BO_ -5 "))
        self.assertEqual(list(found), ["EEC1"])
        self.assertEqual(lost["pages"], "line 5: identifier -5 is below 0")

    def test_what_holds_signals_of_no_message_is_not_sent(self):
        found, lost = self.imported(DBC + "BO_ 3221225472 loose: 0 ECU\n SG_ nowhere : 0|8@1+ (1,0) [0|0] \"\" DASH\n")
        self.assertEqual(list(found), ["EEC1", "pages"])
        self.assertIn("never on the bus", lost["loose"])

    def test_text_that_looks_like_a_message_is_none(self):
        comment = 'CM_ BO_ 291 "it has\n SG_ none : 0|8@1+ (1,0) [0|0] \\" DASH\nBO_ 900 nor: 8 this\n SG_ x : 0|8@1+";\n'
        found, lost = self.imported(DBC + comment.replace('\\" ', ""))
        self.assertEqual(list(found), ["EEC1", "pages"])
        self.assertEqual(list(lost), ["too_long"])

    def test_a_period_of_a_part_of_a_millisecond(self):
        found, _ = self.imported(DBC + 'BA_DEF_ BO_ "GenMsgCycleTime" FLOAT 0 1000;\nBA_ "GenMsgCycleTime" BO_ 291 2.5;\n')
        self.assertEqual(found["pages"]["period_ms"], 2.5)

    def test_lines_that_are_passed_over_are_listed(self):
        first = len(DBC.splitlines()) + 1
        lines = ["VAL_ 291 a 0 none 1 some ;", "GARBAGE and more", "SIG_VALTYPE_ 291 a : 3;", "SIG_VALTYPE_ 999 a : 1;",
                 "VAL_ 999 a 0 \"off\" ;", "SG_MUL_VAL_ 291 b page 3-1;", 'VAL_ 291 b 0 "off" ;']
        self.imported(DBC + "\n".join(lines) + "\n")
        lost = self.all_lost()
        for number, (line, word) in enumerate(zip(lines, ("number and", "begins with nothing", "the type of a value", "not in the file",
                                                          "not in the file", "wrong way round", None)), first):
            listed = lost.get(f"line {number} ({line.split()[0]})", "")
            self.assertIn(word or "", listed)
            self.assertEqual(word is None, listed == "", line)

    def test_of_two_names_of_a_value_it_is_said_which_is_kept(self):
        text = ('VERSION ""\nBU_: a\nBO_ 16 m: 8 a\n SG_ s : 0|8@1+ (1,0) [0|0] "" a\n SG_ t : 8|8@1+ (1,0) [0|0] "" a\n'
                'VAL_ 16 s 0 "off" 1 "on" ;\nVAL_ 16 s 1 "runs" 2 "fast" ;\nVAL_ 16 t 3 "x" 3 "y" 4 "z" 4 "z" ;\n')
        out = tool(self.write("a.dbc", text), f"{self.tmp}/out.yaml")
        self.assertEqual(out.returncode, 0, out.stderr)
        found = messages(f"{self.tmp}/out.yaml")["out"]["messages"]["m"]["signals"]
        for signal, raw, both in (("s", 1, "'on' (line 6) and 'runs' (line 7)"), ("t", 3, "'x' (line 8) and 'y' (line 8)")):
            kept = found[signal]["values"][str(raw)]
            self.assertIn(f"m.{signal}: changed: raw value {raw} is named {both}; '{kept}' is kept", out.stdout)
        self.assertEqual(out.stdout.count(" is kept"), 2)

    def test_long_messages_are_taken_as_fd_when_told(self):
        found, lost = self.imported(DBC, "--fd")
        self.assertEqual((found["too_long"]["fd"], found["too_long"]["length_bytes"]), (True, 20))
        self.assertNotIn("too_long", lost)


class OneOddMessage(Folder):
    """Of JSON, DBF and ARXML: it costs itself, and says why in a sentence."""
    RAW = ("Traceback", "object has no attribute", "<class", "unpack", "invalid literal", "NoneType")

    def written(self, suffix, seed=3):
        """(text, the matrix it was written from)"""
        path, matrix = f"{self.tmp}/set.{suffix}", message_sets.matrix(random.Random(seed), suffix)
        with contextlib.redirect_stdout(io.StringIO()):
            canmatrix.formats.dumpp({"": matrix}, path, jsonExportAll=True)
        return pathlib.Path(path).read_text(), matrix

    def imported(self, suffix, text):
        """({message: body}, {message: why it is lost})"""
        losses = f"{self.tmp}/losses.json"
        out = tool(self.write(f"a.{suffix}", text), f"{self.tmp}/out.yaml", "--losses", losses, "--overwrite")
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        for raw in self.RAW:
            self.assertNotIn(raw, out.stdout + out.stderr)
        listed = json.loads(pathlib.Path(losses).read_text())
        return messages(f"{self.tmp}/out.yaml")["out"]["messages"], {e["message"]: e["why"] for e in listed if e["what"] == "message"}

    def only_lost(self, suffix, text, name, why):
        whole, _ = self.imported(suffix, self.written(suffix)[0])
        found, lost = self.imported(suffix, text)
        self.assertEqual(list(lost), [name])
        self.assertIn(why, lost[name])
        self.assertEqual(found, {key: body for key, body in whole.items() if key != name})

    def test_of_json(self):
        text, _ = self.written("json")
        for change, why in ((lambda m: m.pop("id"), "'id' is missing"), (lambda m: m.update(id=1 << 40), "identifier 0x10000000000 does not fit 11 bits"),
                            (lambda m: m["signals"][0].update(start_bit="seven"), "'start_bit' is \"seven\"; write a whole number"),
                            (lambda m: m["signals"][0].update(factor="one"), "'factor' is \"one\"; write a number"),
                            (lambda m: m.update(signals=None), "'signals' is missing"),
                            (lambda m: m["signals"].append(m["signals"][0]), "signals")):
            document = json.loads(text)
            change(document["messages"][2])
            if why == "signals":  # the same twice: neither is the message lost, nor anything else
                self.assertEqual(self.imported("json", json.dumps(document))[1], {})
            else:
                self.only_lost("json", json.dumps(document), "message_2", why)

    def test_of_json_what_is_no_message(self):
        document = json.loads(self.written("json")[0])
        document["messages"].insert(1, 7)
        self.only_lost("json", json.dumps(document), "", "message 2 of the list")

    def test_of_dbf(self):
        text, _ = self.written("dbf")
        begin = next(line for line in text.splitlines() if line.startswith("[START_MSG] message_2,"))
        signal = next(line for line in text.splitlines() if line.startswith("[START_SIGNALS] message_2_s_0,"))
        number = text.splitlines().index(begin) + 1
        for was, now, why in ((begin, "[START_MSG] message_2,258,8,1", "a line has 4 fields where 5 are needed"),
                              (begin, begin.replace(",258,", ",two,"), "'two' is no whole number"),
                              (signal, ",".join(signal.split(",")[:4]), "a line has 4 fields where 12 are needed"),
                              (signal, signal.replace(signal.split(",")[9], "one", 1), "one of its numbers is none")):
            self.only_lost("dbf", text.replace(was, now), "message_2", f"line {number}: it cannot be read: {why}")

    def test_of_dbf_a_line_beside_the_messages_costs_itself(self):
        text, _ = self.written("dbf")
        out = tool(self.write("a.dbf", text.replace("[START_PARAM_MSG]", "[START_PARAM_MSG]\n\"odd\",INT")), f"{self.tmp}/out.yaml")
        self.assertEqual(out.returncode, 0, out.stderr)
        number = text.splitlines().index("[START_PARAM_MSG]") + 2
        self.assertIn(f"lost: line {number}; it cannot be read: a line has 2 fields where 3 are needed", out.stdout)
        self.assertEqual(len(messages(f"{self.tmp}/out.yaml")["out"]["messages"]), 12)

    def test_of_arxml(self):
        text, _ = self.written("arxml")
        at = text.index("<SHORT-NAME>PDU_message_2</SHORT-NAME>")
        place = text.index("<START-POSITION>", at)
        odd = text[:place] + "<START-POSITION>x" + text[text.index("</START-POSITION>", place):]
        self.only_lost("arxml", odd, "FRAME_message_2", "'x' is no whole number")

    def test_of_arxml_a_message_whose_parts_are_not_there_takes_no_others(self):
        text, _ = self.written("arxml")
        gone = text.replace("<SHORT-NAME>PDU_message_2</SHORT-NAME>", "<SHORT-NAME>PDU_other</SHORT-NAME>")
        self.only_lost("arxml", gone, "FRAME_message_2", "it names /PDU/PDU_message_2, which is not there")

    def test_of_arxml_a_message_with_several_layouts(self):
        """Written and decoded by arxml_sets alone."""
        for seed in range(25):
            rng = random.Random(seed)
            layouts = arxml_sets.draw(rng)
            found, _ = self.imported("arxml", arxml_sets.text(layouts))
            frames = []
            for code in [*layouts["parts"], 0]:
                for _ in range(4):
                    data = bytearray(rng.randbytes(8))
                    for i, bit in enumerate(arxml_sets.place_bits(*layouts["selector"])):
                        data[bit // 8] = data[bit // 8] & ~(1 << bit % 8) | (code >> i & 1) << bit % 8
                    frames.append(("many", bytes(data)))
            for (_, data), values in zip(frames, ours(f"{self.tmp}/out.yaml", frames), strict=True):
                self.assertEqual(values, arxml_sets.decode(layouts, data), (seed, layouts, data.hex(), found))

    def test_of_arxml_a_second_selected_part_costs_the_message(self):
        text = arxml_sets.text(arxml_sets.draw(random.Random(1)), "<DYNAMIC-PART><DYNAMIC-PART-ALTERNATIVES/></DYNAMIC-PART>")
        out = tool(self.write("a.arxml", text), f"{self.tmp}/out.yaml")
        self.assertEqual(out.returncode, 2, out.stdout)
        self.assertIn("2 parts are selected in it; one can be read", out.stderr)

    def test_of_json_a_length_that_nobody_said_is_said_to_be_taken(self):
        document = json.loads(self.written("json")[0])
        for message in document["messages"][1:3]:
            del message["length"]
        document["messages"][2]["comment"] = "of the pump"
        document["messages"][4]["cycle"] = 100
        out = tool(self.write("a.json", json.dumps(document)), f"{self.tmp}/out.yaml")
        self.assertEqual(out.returncode, 0, out.stderr)
        for name in ("message_1", "message_2"):
            self.assertIn(f"{name}: changed: its length is 8 bytes; the list does not say how long it is", out.stdout)
        self.assertEqual(out.stdout.count("its length is 8 bytes"), 2)
        self.assertIn("lost: key 'cycle' (1 times); it is not read", out.stdout)
        text = pathlib.Path(f"{self.tmp}/out.yaml").read_text()
        self.assertIn("# The list does not say its length: 8 bytes are taken.\n  message_1:", text)
        self.assertIn("# of the pump The list does not say its length: 8 bytes are taken.\n  message_2:", text)
        self.assertEqual(text.count("does not say its length"), 2)

    def test_of_json_an_end_of_0_is_read(self):
        document = {"messages": [{"name": "m", "id": 1, "length": 8, "is_fd": False, "signals": [
            {"name": "s", "start_bit": 0, "bit_length": 8, "is_signed": True, "min": -40, "max": 0}]}]}
        found, _ = self.imported("json", json.dumps(document))
        self.assertEqual((found["m"]["signals"]["s"]["min"], found["m"]["signals"]["s"]["max"]), (-40, 0))

    def test_when_none_can_be_read_the_first_is_named(self):
        out = tool(self.write("a.json", '{"messages": [{"name": "a"}, {"name": "b"}]}'), f"{self.tmp}/out.yaml")
        self.assertEqual(out.returncode, 2)
        self.assertIn("no message of it can be read; the first, message 1 of the list: 'id' is missing", out.stderr)

    def test_identifiers_of_29_bits_and_layouts_are_read_as_they_were_written(self):
        for suffix in ("json", "dbf"):
            rng, compared = random.Random(8), 0
            for seed in range(3):
                text, matrix = self.written(suffix, seed)
                found, lost = self.imported(suffix, text)
                self.assertEqual(lost, {})
                self.assertEqual({(found[f.name]["id"], found[f.name].get("extended", False)) for f in matrix.frames},
                                 {(f.arbitration_id.id, bool(f.arbitration_id.extended)) for f in matrix.frames})
                frames = [(f.name, rng.randbytes(f.size)) for f in matrix.frames for _ in range(10)]
                for (name, data), mine in zip(frames, ours(f"{self.tmp}/out.yaml", frames), strict=True):
                    wanted = {k: float(v.phys_value) for k, v in matrix.frame_by_name(name).decode(bytearray(data)).items()}
                    wanted = {k: v for k, v in wanted.items() if not math.isnan(v)}
                    self.assertEqual(mine.keys(), wanted.keys(), (suffix, seed, name))
                    for key, value in wanted.items():
                        self.assertTrue(same(mine[key], value), (suffix, seed, name, key, mine[key], value))
                        compared += 1
            self.assertGreater(compared, 500)


# Worked by hand: coolant = raw - 40 in byte 0; speed = raw / 8, high byte first, in bytes 1 and 2;
# gear = the low half of byte 0; oil = byte 1. The keywords of version 6 are from memory, no source.
SYM6 = """FormatVersion=6.0 // Do not edit this line!
Title="demo"

{ENUMS}
enum Gear(0="N", 1="D")

{SIGNALS}
Sig=Coolant unsigned 8 /u:C /o:-40
Sig="Speed" unsigned 16 -m /u:rpm /f:0.125
Sig=GearPos unsigned 4 /e:Gear
Sig=Ready bit

{SENDRECEIVE}

[Engine]
ID=100h
Len=8
CycleTime=100
Sig=Coolant 0
Sig="Speed" 8
Sig=Ready 24

[Gearbox]
ID=0CF00400h
Type=Extended
Len=8
Sig=GearPos 0
Var=Oil unsigned 8,8 /u:C
"""


class Counted(Folder):
    """No signal vanishes without a word, in any format."""

    def test_version_6_of_sym_is_read(self):
        yaml = f"{self.tmp}/a.yaml"
        out = tool(self.write("a.sym", SYM6), yaml)
        self.assertEqual(out.returncode, 0, out.stderr)
        found = messages(yaml)["a"]["messages"]
        self.assertEqual(found["Engine"]["length_bytes"], 8)
        self.assertEqual(found["Engine"]["period_ms"], 100)
        self.assertEqual(found["Gearbox"]["id"], 0x0CF00400)
        self.assertEqual(found["Gearbox"]["signals"]["GearPos"]["values"], {"0": "N", "1": "D"})
        engine, gearbox = ours(yaml, [("Engine", bytes([0x5A, 0x12, 0x34, 1, 0, 0, 0, 0])),
                                      ("Gearbox", bytes([0xF1, 0x40, 0, 0, 0, 0, 0, 0]))])
        # 0x5A = 90; 0x1234 = 4660, an eighth of it is 582.5
        self.assertEqual(engine, {"Coolant": 50, "Speed": 582.5, "Ready": 1})
        self.assertEqual(gearbox, {"GearPos": 1, "Oil": 64})

    def lost(self, name, text):
        """({message: signals} of what is left, {message: why} of what is lost)."""
        yaml, losses = f"{self.tmp}/out.yaml", f"{self.tmp}/losses.json"
        out = tool(self.write(name, text), yaml, "--losses", losses, "--overwrite")
        self.assertEqual(out.returncode, 0, out.stderr)
        listed = {e["message"]: e["why"] for e in json.loads(pathlib.Path(losses).read_text())
                  if e["kind"] == "lost" and e["what"] == "message"}
        return {name: list(m["signals"]) for name, m in messages(yaml)["out"]["messages"].items()}, listed

    def test_a_placed_signal_that_nobody_describes_costs_its_message(self):
        found, lost = self.lost("a.sym", SYM6.replace("Sig=Coolant unsigned 8 /u:C /o:-40\n", ""))
        self.assertEqual(found, {"Gearbox": ["GearPos", "Oil"]})
        self.assertEqual(list(lost), ["Engine"])
        self.assertIn("3 signals are written in it and 2 could be read", lost["Engine"])

    def test_an_identifier_that_is_none_costs_its_message(self):
        found, lost = self.lost("a.sym", SYM6.replace("ID=100h", "ID=xyzh"))
        self.assertEqual(list(found), ["Gearbox"])
        self.assertEqual(list(lost), ["Engine"])

    KCD = ('<NetworkDefinition xmlns="http://kayak.2codeornot2code.org/1.0"><Bus name="b">\n{}\n'
           '<Message id="0x2" name="good" length="8"><Signal name="s" offset="0" length="8"/></Message>'
           "</Bus></NetworkDefinition>")
    GROUP = '<Multiplex name="{0}" offset="{1}" length="8"><MuxGroup count="1"><Signal name="s{0}" offset="32"' \
            ' length="8"/></MuxGroup></Multiplex>'

    def test_a_second_selector_of_kcd_costs_its_message(self):
        two = '<Message id="0x1" name="m" length="8">' + self.GROUP.format("a", 0) + self.GROUP.format("c", 8) + "</Message>"
        found, lost = self.lost("a.kcd", self.KCD.format(two))
        self.assertEqual(found, {"good": ["s"]})
        self.assertEqual(lost, {"m": "line 2: 2 selectors; one can be read: make it several messages"})

    def test_names_of_ranges_and_remote_frames_of_kcd_are_listed(self):
        text = ('<NetworkDefinition xmlns="http://kayak.2codeornot2code.org/1.0"><Document name="x"/><Bus name="A">'
                '<Message id="0x123" name="M" length="8"><Signal name="r" offset="48" length="4"><LabelSet><Label name="off" value="0"/>'
                '<LabelGroup name="many" from="2" to="5"/></LabelSet></Signal></Message>'
                '<Message id="0x124" name="asks" length="8" remote="true"><Signal name="s" offset="0" length="8"/></Message>'
                '</Bus></NetworkDefinition>')
        losses = f"{self.tmp}/losses.json"
        out = tool(self.write("r.kcd", text), f"{self.tmp}/r.yaml", "--losses", losses)
        self.assertEqual(out.returncode, 0, out.stderr)
        lost = {(e["message"], e["signal"], e["what"]) for e in json.loads(pathlib.Path(losses).read_text()) if e["kind"] == "lost"}
        self.assertIn(("M", "r", "name 'many' of raw values 2 to 5"), lost)
        self.assertIn(("asks", "", "message"), lost)

    def test_what_kcd_says_and_nobody_reads_is_listed_and_which_name_is_kept(self):
        text = """<?xml version="1.0"?>
<NetworkDefinition xmlns="http://kayak.2codeornot2code.org/1.0">
 <Document/>
 <Node id="1" name="pump">
  <Var name="pressure"><Value type="unsigned" unit="bar"/></Var>
 </Node>
 <Bus name="b">
  <Message id="0x10" name="m" length="8">
   <Signal name="s" offset="0" length="8"><LabelSet><Label name="off" value="0"/><Label name="stopped" value="0"/></LabelSet></Signal>
   <Extra name="x"><Inner/></Extra>
  </Message>
 </Bus>
</NetworkDefinition>"""
        out = tool(self.write("a.kcd", text), f"{self.tmp}/out.yaml")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertIn("lost: line 5: Var 'pressure'; it is not read\n", out.stdout)
        self.assertIn("m: lost: line 10: Extra 'x'; it is not read\n", out.stdout)
        self.assertNotIn("Inner", out.stdout)
        self.assertIn("m.s: changed: raw value 0 is named 'off' and 'stopped'; 'stopped' is kept", out.stdout)
        self.assertEqual(messages(f"{self.tmp}/out.yaml")["out"]["messages"]["m"]["signals"]["s"]["values"], {"0": "stopped"})

    def test_a_message_of_kcd_that_cannot_be_read_is_the_only_one_lost(self):
        odd = '<Message id="0x1" name="m" length="8"><Signal name="a" offset="seven" length="8"/></Message>'
        found, lost = self.lost("a.kcd", self.KCD.format(odd))
        self.assertEqual(found, {"good": ["s"]})
        self.assertIn("line 2: signal 'a' of line 2: offset 'seven' is no whole number", lost["m"])


class Driven(Folder):
    """--drive: a bench that loads, whose messages can be driven. Limits by hand: raw · scale + offset."""

    DBC = DBC.replace("SG_ over m1 : 12|8@1+ (1,0) [0|0] \"\" DASH\n", "") + """
BO_ 512 body: 8 ECU
 SG_ speed : 0|16@1+ (0.1,0) [0|300] "km/h" DASH
 SG_ lamp : 16|2@1+ (1,0) [0|0] "" DASH
 SG_ temp : 24|8@1- (1,20) [0|0] "degC" DASH
 SG_ low : 32|8@1+ (1,0) [0|0] "" DASH
 SG_ wide : 32|16@1+ (1,0) [0|0] "" DASH
VAL_ 512 lamp 1 "off" 2 "on" ;
"""

    def setUp(self):
        super().setUp()
        self.yaml = f"{self.tmp}/driven.yaml"
        self.out = tool(self.write("car.dbc", self.DBC), self.yaml, "--drive")
        self.assertEqual(self.out.returncode, 0, self.out.stderr)

    def stimuli(self):
        import yaml
        return yaml.safe_load(pathlib.Path(self.yaml).read_text())["stimuli"]

    def test_limits_units_and_where_it_begins(self):
        found = self.stimuli()
        pick = lambda name: [found[name][key] for key in ("unit", "min", "max", "initial")]
        self.assertEqual(pick("body_speed"), ["km/h", 0, 300, 0])
        self.assertEqual(pick("speed"), ["rpm", 0, 8031.875, 0])
        self.assertEqual(pick("lamp"), ["count", 0, 3, 1])           # the lowest that has a name
        self.assertEqual(pick("temp"), ["degC", -108, 147, 0])       # -128 + 20 to 127 + 20
        self.assertNotIn("wide", found)                              # stands there instead of `low`
        self.assertIn("# 1: off, 2: on", pathlib.Path(self.yaml).read_text())

    def test_the_bench_is_in_order_and_says_of_both_what_they_are(self):
        proof = subprocess.run([DRYCRANK, "proofread", self.yaml], capture_output=True, text=True)
        self.assertEqual(proof.returncode, 0, proof.stdout + proof.stderr)
        body = messages(self.yaml)["vehicle"]["messages"]["body"]
        self.assertEqual(body["sender"], "simulator")
        self.assertEqual(body["signals"]["wide"]["instead_of"], ["low"])

    def test_what_is_driven_comes_out(self):
        scenario = self.write("drive.yaml", "kind: scenario\nformat: 1\nname: drive\nbench: driven.yaml\nsteps:\n"
                              "  - {name: go, for_s: 0.5 s, drive: {temp: -30, body_speed: 120, lamp: 2}}\n")
        out = subprocess.run([DRYCRANK, "run", scenario, "--recording", f"{self.tmp}/r.log"], capture_output=True, text=True)
        self.assertIn(out.returncode, (0, 4), out.stdout + out.stderr)
        frames = [line.split()[-1].split("#")[1] for line in pathlib.Path(f"{self.tmp}/r.log").read_text().splitlines()
                  if " 200#" in line]
        self.assertTrue(frames)
        data = bytes.fromhex(frames[-1])
        self.assertEqual(int.from_bytes(data[:2], "little"), 1200)            # 120 / 0.1
        self.assertEqual((data[2] & 3, int.from_bytes(data[3:4], "little", signed=True)), (2, -50))  # -30 - 20

    def test_a_node_that_is_named_keeps_its_sender(self):
        out = tool(self.write("car.dbc", self.DBC), self.yaml, "--drive", "--sender", "ECU=controller", "--overwrite")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertNotIn("stimuli:", pathlib.Path(self.yaml).read_text())


class Hostile(Folder):
    def refused(self, name, content, *parts, words=()):
        before = set(os.listdir(self.tmp)) | {name}
        out = tool(self.write(name, content), f"{self.tmp}/out.yaml", *words)
        self.assertEqual(out.returncode, 2, out.stdout)
        for part in parts:
            self.assertIn(part, out.stderr)
        self.assertNotIn("Traceback", out.stderr)
        self.assertEqual(set(os.listdir(self.tmp)), before)  # nothing was written, nothing left lying

    def test_not_utf8(self):
        bad = DBC.replace("furlong", "°C").encode("cp1252")
        self.refused("a.dbc", bad, "a.dbc:7: byte 0xB0 is not utf-8", "--encoding cp1252")
        out = tool(self.write("b.dbc", bad), f"{self.tmp}/out.yaml", "--encoding", "cp1252")
        self.assertEqual(out.returncode, 0, out.stderr)
        self.assertEqual(messages(f"{self.tmp}/out.yaml")["out"]["messages"]["pages"]["signals"]["a"]["unit"], "degC")

    def test_a_pipe_is_refused_and_not_waited_for(self):
        os.mkfifo(f"{self.tmp}/a.dbc")
        out = tool(f"{self.tmp}/a.dbc", f"{self.tmp}/out.yaml")
        self.assertEqual(out.returncode, 2)
        self.assertIn("a.dbc: it is no regular file", out.stderr)

    def test_empty_binary_and_unknown(self):
        self.refused("a.dbc", b"", "no message in it")
        self.refused("b.dbc", b"BO_ 1 a: 8 x\0", "a zero byte")
        self.refused("c.xyz", b"", "'.xyz' is not read")
        self.refused("d.kcd", b"<NetworkDefinition", "cannot be read as kcd")
        self.refused("e.sym", "{SEND}\n[a]\nID=xyzh\n", "e.sym")

    def test_entities_are_refused(self):
        self.refused("a.kcd", '<!DOCTYPE x [<!ENTITY a SYSTEM "/etc/passwd">]><NetworkDefinition/>', "entities")

    def test_giants(self):
        self.refused("a.dbc", b" " * ((16 << 20) + 1), "at most 16777216")
        many = DBC + "".join(f"BO_ {0x80000000 + i} m{i}: 8 ECU\n" for i in range(1500))
        self.refused("b.dbc", many, "a bench has 1000 at most: choose with --only")

    def test_several_buses_need_a_choice(self):
        bus = '<Bus name="{0}"><Message id="0x1" name="m{0}" length="8"/></Bus>'
        kcd = ('<NetworkDefinition xmlns="http://kayak.2codeornot2code.org/1.0">'
               + bus.format("a") + bus.format("b") + "</NetworkDefinition>")
        self.refused("a.kcd", kcd, "its buses are a, b; choose one with --bus")

    def test_a_target_that_is_there_is_kept(self):
        kept = self.write("kept.yaml", "mine")
        out = tool(self.write("a.dbc", DBC), kept)
        self.assertEqual((out.returncode, pathlib.Path(kept).read_text()), (2, "mine"))
        self.assertIn("--overwrite", out.stderr)


class Units(unittest.TestCase):
    def test_units_are_those_of_a_bench(self):
        source = pathlib.Path(ROOT, "sim/types/unit.cc").read_text().split("kSpellings")[0]
        known = [line.split('"')[1] for line in source.splitlines() if line.startswith('    {"')]
        self.assertEqual(sorted(known), sorted(units.BENCH_UNITS))

    def test_case_decides_where_it_must(self):
        self.assertEqual([units.bench_unit(t) for t in ("RPM", "ms", "mA", "°C", "-", "Mohm", "parsec")],
                         ["rpm", "ms", "mA", "degC", "", "Mohm", None])


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], warnings="ignore")
