#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Recordings and the tools of others: tshark, python-can, can-utils read ours, and we theirs.

Frames are laid out by hand: identifiers and data after SAE J1939-71 (engine speed, PGN 61444), SAE
J1979 (service 01 PID 0C: r/min = (256 A + B) / 4; service 09 PID 02: VIN) and ISO 15765-2.
"""
import json
import os
import pathlib
import re
import signal
import subprocess
import sys
import tempfile
import time
import unittest

import can

DRYCRANK, DRYCRANKD, PROFILES = sys.argv[1:4]
BENCH = f"{PROFILES}/benches/hill_climb.yaml"
HEALTHY = f"{PROFILES}/scenarios/hill_climb/healthy.yaml"

# One frame of each kind, as candump -l of can-utils writes them (FD flags with the FD bit: ##4 and up).
EVERY_KIND = """\
(1700000000.000001) can0 123#0102
(1700000000.250000) can1 12345678#11223344556677AA
(1700000000.250000) can0 7FF#
(1700000001.000000) can0 123#R
(1700000001.000002) can0 00000123#R8
(1700000002.000000) can1 321##5112233445566778899AABBCC
(1700000002.500000) can1 321##4
(1700000002.500001) can1 321##6AB
(1700000004.999999) can0 20000080#0000000000000000
(1700000004.999999) can0 200000A8#0004000008000000
"""

# J1939 engine speed; OBD request and answer: 0x1AF8 = 6904, / 4 = 1726 r/min; an invented
# VIN in three frames.
PROTOCOLS = """\
(1700000001.000000) can0 0CF00400#F07D7D803E0000FF
(1700000001.100000) can0 18FEEE05#82FFFFFFFFFFFFFF
(1700000002.000000) can1 7E0#02010C5555555555
(1700000002.010000) can1 7E8#04410C1AF8AAAAAA
(1700000003.000000) can1 7E0#0209025555555555
(1700000003.010000) can1 7E8#1014490201544553
(1700000003.020000) can1 7E0#3000000000000000
(1700000003.030000) can1 7E8#2154303030303030
(1700000003.040000) can1 7E8#2230303030303137
"""


def drycrank(*words):
    return subprocess.run([DRYCRANK, *words], capture_output=True, text=True, timeout=120)


def tool(*words):
    out = subprocess.run(words, capture_output=True, text=True, timeout=120)
    assert out.returncode == 0, (words, out.stderr)
    return out.stdout


class Folder(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.tmp = pathlib.Path(folder.name)

    def write(self, name, text):
        path = self.tmp / name
        path.write_bytes(text.encode() if isinstance(text, str) else text)
        return str(path)

    def converted(self, given, name):
        out = drycrank("convert", given, str(self.tmp / name))
        self.assertEqual((out.returncode, out.stderr), (0, ""))
        return str(self.tmp / name)

    def tshark(self, path, *words):
        return tool("tshark", "-n", "-r", path, *words)


class Tshark(Folder):
    def test_every_kind_of_frame_is_shown(self):
        path = self.converted(self.write("a.log", EVERY_KIND), "a.pcapng")
        rows = self.tshark(path, "-T", "fields", "-e", "frame.time_epoch", "-e", "frame.interface_name",
                           "-e", "can.id", "-e", "can.flags.xtd", "-e", "can.flags.rtr", "-e", "can.len",
                           "-e", "canfd.flags.brs", "-e", "canfd.flags.esi").splitlines()
        self.assertEqual([row.split("\t") for row in rows[:8]], [
            ["1700000000.000001000", "can0", "291", "0", "0", "2", "", ""],
            ["1700000000.250000000", "can1", "305419896", "1", "0", "8", "", ""],
            ["1700000000.250000000", "can0", "2047", "0", "0", "0", "", ""],
            ["1700000001.000000000", "can0", "291", "0", "1", "0", "", ""],
            ["1700000001.000002000", "can0", "291", "1", "1", "8", "", ""],
            ["1700000002.000000000", "can1", "801", "0", "", "12", "1", "0"],
            ["1700000002.500000000", "can1", "801", "0", "", "0", "0", "0"],
            ["1700000002.500001000", "can1", "801", "0", "", "1", "0", "1"]])
        text = self.tshark(path, "-V", "-Y", "frame.number >= 9")
        self.assertIn("Bus error", text)

    def test_j1939_is_decoded(self):
        path = self.converted(self.write("a.log", PROTOCOLS), "a.pcapng")
        rows = self.tshark(path, "-d", "can.subdissector,j1939", "-Y", "frame.number <= 2", "-T", "fields", "-e",
                           "j1939.pgn", "-e", "j1939.src_addr", "-e", "j1939.priority").splitlines()
        # 0x0CF00400: priority 3, PGN 0xF004, source 0; 0x18FEEE05: priority 6, PGN 0xFEEE, source 5
        self.assertEqual(rows, ["61444\t0\t3", "65262\t5\t6"])

    def test_iso_tp_and_obd_values_are_decoded(self):
        path = self.converted(self.write("a.log", PROTOCOLS), "a.pcapng")
        text = self.tshark(path, "-d", "can.subdissector,iso15765", "-d", "iso15765.subdissector,obd-ii", "-Y",
                           "frame.number >= 3", "-V")
        self.assertRegex(text, r"Engine RPM: 1726(\.0+)?\b")
        self.assertIn("TEST0000000000017", text)
        self.assertRegex(text, r"Reassembled length: 20")

    def test_a_run_s_own_frames_open(self):
        self.assertEqual(drycrank("run", HEALTHY, "--out", str(self.tmp / "r")).returncode, 0)
        rows = self.tshark(str(self.tmp / "r" / "frames.pcapng"), "-T", "fields", "-e", "frame.interface_name", "-e",
                           "frame.packet_flags_direction", "-e", "can.id").splitlines()
        events = (self.tmp / "r" / "events.csv").read_text().splitlines()
        frames = [line for line in events if ",frame," in line]
        self.assertGreater(len(frames), 1000)
        self.assertEqual([row.split("\t")[2] for row in rows],
                         [str(int(re.search(r",([0-9A-F]+)#", line)[1], 16)) for line in frames])
        self.assertEqual({row.split("\t")[0] for row in rows}, {"vehicle"})
        self.assertEqual({int(row.split("\t")[1], 0) for row in rows}, {2})  # outbound

    def test_what_tshark_writes_is_read_byte_for_byte(self):
        ours = self.converted(self.write("a.log", EVERY_KIND), "a.pcapng")
        for kind in ("pcapng", "nsecpcap", "pcap"):
            theirs = str(self.tmp / f"theirs.{kind}")
            self.tshark(ours, "-F", kind, "-w", theirs)
            text = pathlib.Path(self.converted(theirs, f"{kind}.log")).read_text()
            if kind != "pcapng":  # has no names of interfaces
                text = re.sub(r"\) can ", ") can0 ", text)
            given = EVERY_KIND if kind == "pcapng" else EVERY_KIND.replace("can1", "can0")
            self.assertEqual(text, given, kind)


class PythonCan(Folder):
    def test_reads_ours(self):
        ours = self.converted(self.converted(self.write("a.log", EVERY_KIND), "a.pcapng"), "b.log")
        messages = list(can.LogReader(ours))
        # python-can 4.1 has one kind of error frame and takes no notice of its class.
        seen = [(round(m.timestamp, 6), m.channel, None if m.is_error_frame else m.arbitration_id, m.is_extended_id,
                 m.is_remote_frame, m.is_fd, m.bitrate_switch, m.error_state_indicator, m.dlc,
                 bytes(m.data).hex()) for m in messages]
        self.assertEqual(seen[:8], [
            (1700000000.000001, "can0", 0x123, False, False, False, False, False, 2, "0102"),
            (1700000000.25, "can1", 0x12345678, True, False, False, False, False, 8, "11223344556677aa"),
            (1700000000.25, "can0", 0x7FF, False, False, False, False, False, 0, ""),
            (1700000001.0, "can0", 0x123, False, True, False, False, False, 0, ""),
            (1700000001.000002, "can0", 0x123, True, True, False, False, False, 8, ""),
            (1700000002.0, "can1", 0x321, False, False, True, True, False, 12, "112233445566778899aabbcc"),
            (1700000002.5, "can1", 0x321, False, False, True, False, False, 0, ""),
            (1700000002.500001, "can1", 0x321, False, False, True, False, True, 1, "ab")])
        self.assertEqual([m.is_error_frame for m in messages], [False] * 8 + [True] * 2)

    def test_is_read_byte_for_byte(self):
        messages = [
            can.Message(timestamp=1700000000.000001, arbitration_id=0x123, is_extended_id=False, data=[1, 2],
                        channel="can0", is_rx=True),
            can.Message(timestamp=1700000000.25, arbitration_id=0x12345678, data=bytes(range(8)), channel="can1",
                        is_rx=False),
            can.Message(timestamp=1700000001.0, arbitration_id=0x123, is_extended_id=False, is_remote_frame=True,
                        dlc=0, channel="can0"),
            can.Message(timestamp=1700000002.0, arbitration_id=0x321, is_extended_id=False, is_fd=True,
                        bitrate_switch=True, data=bytes(12), channel="can0"),
            can.Message(timestamp=1700000003.0, arbitration_id=0x321, is_extended_id=False, is_fd=True,
                        error_state_indicator=True, data=b"\xab", channel="can0"),
            can.Message(timestamp=1700000004.0, is_error_frame=True, channel="can0")]
        path = str(self.tmp / "theirs.log")
        with can.Logger(path) as logger:
            for message in messages:
                logger.on_message_received(message)
        text = pathlib.Path(self.converted(self.converted(path, "a.pcapng"), "b.log")).read_text()
        self.assertEqual(text, """\
(1700000000.000001) can0 123#0102
(1700000000.250000) can1 12345678#0001020304050607
(1700000001.000000) can0 123#R
(1700000002.000000) can0 321##5000000000000000000000000
(1700000003.000000) can0 321##6AB
(1700000004.000000) can0 20000080#
""")


class CanUtils(Folder):
    def frames(self, text):
        """Lines without their times, which the tool reckons from its own clock; FD flags without the FD bit."""
        lines = [line.split(" ", 1)[1] for line in text.splitlines()]
        lines = [re.sub(r" [RT]$", "", line) for line in lines]
        return [re.sub(r"##([4-7])", lambda m: f"##{int(m[1]) - 4}", line) for line in lines]

    def test_read_ours_and_we_theirs(self):
        ours = self.converted(self.converted(self.write("a.log", EVERY_KIND), "a.pcapng"), "b.log")
        theirs = str(self.tmp / "c.asc")
        tool("log2asc", "-I", ours, "-O", theirs, "can0", "can1")
        back = tool("asc2log", "-I", theirs)
        # Its other format knows an error frame, and nothing more of it.
        plain = re.sub(r"20000\w+#\w+", "20000080#0000000000000000", EVERY_KIND)
        self.assertEqual(self.frames(back), self.frames(plain))
        again = pathlib.Path(self.converted(self.write("d.log", back), "e.log")).read_text()
        self.assertEqual(self.frames(again), self.frames(plain))

    def test_log_to_pcapng_to_log_is_the_same_byte_for_byte(self):
        log = self.write("a.log", EVERY_KIND)
        again = self.converted(self.converted(log, "a.pcapng"), "b.log")
        self.assertEqual(pathlib.Path(again).read_text(), EVERY_KIND)


class Convert(Folder):
    def test_a_stretch_of_one_interface(self):
        out = drycrank("convert", self.write("a.log", EVERY_KIND), str(self.tmp / "b.log"), "--from", "0.5", "--to",
                       "2.6", "--interface", "can1")
        self.assertEqual(out.returncode, 0)
        lines = (self.tmp / "b.log").read_text().splitlines()
        self.assertEqual(lines, EVERY_KIND.splitlines()[5:8])

    def test_damage_is_2_with_its_place_and_what_was_good_is_kept(self):
        lines = EVERY_KIND.splitlines(keepends=True)
        out = drycrank("convert", self.write("a.log", lines[0] + "(1.0) can0 12\n" + lines[1]), str(self.tmp / "b.log"))
        self.assertEqual(out.returncode, 2)
        self.assertIn("a.log: damaged at byte 34: not a frame", out.stderr)
        self.assertEqual((self.tmp / "b.log").read_text(), lines[0] + lines[1])
        whole = pathlib.Path(self.converted(self.write("c.log", EVERY_KIND), "c.pcapng")).read_bytes()
        out = drycrank("convert", self.write("cut.pcapng", whole[:-5]), str(self.tmp / "d.log"))
        self.assertEqual(out.returncode, 2)
        self.assertIn("cut off", out.stderr)
        self.assertEqual((self.tmp / "d.log").read_text(), "".join(lines[:-1]))

    def test_bad_input_is_2_and_writes_nothing(self):
        log = self.write("a.log", EVERY_KIND)
        there = self.write("there.log", "mine")
        for words in ((log, str(self.tmp / "b.txt")), ("/nowhere.log", str(self.tmp / "b.log")), (BENCH, str(self.tmp / "b.log")),
                      (log, there), (log, log, "--overwrite"), (log,)):
            out = drycrank("convert", *words)
            self.assertEqual(out.returncode, 2, words)
            self.assertTrue(out.stderr)
        self.assertEqual(sorted(p.name for p in self.tmp.iterdir()), ["a.log", "there.log"])
        self.assertEqual(pathlib.Path(there).read_text(), "mine")
        self.assertEqual(pathlib.Path(log).read_text(), EVERY_KIND)


class Decode(Folder):
    """By hand from the message list: 0x120 bytes 0-1 times 0.25 r/min, its cam angle only while sync is 3 (byte 2, low half);
    0x150 bytes 0-1 times 0.01 km/h; 0xD8 0E = 3800, 0x10 27 = 10000, 0xFFCE = -50."""
    LOG = ("(0000000012.345678) can0 120#D80E010000000000\n"
           "(0000000012.355678) can0 120#D80E0300CEFF0000\n"
           "(0000000012.365678) can0 150#10270000\n"
           "(0000000012.375678) can0 7F0#01\n")

    def test_values_by_hand(self):
        out = drycrank("decode", self.write("a.log", self.LOG), "--bench", BENCH)
        self.assertEqual(out.returncode, 0, out.stderr)
        lines = out.stdout.splitlines()
        self.assertEqual(lines[0], "t_s,signal,value,unit")
        for line in ("12.345678000,engine_fast.engine_speed,950,rpm", "12.355678000,engine_fast.cam_angle,-5,deg",
                     "12.365678000,vehicle_speed.road_speed,100,km/h"):
            self.assertIn(line, lines)
        self.assertEqual(out.stdout.count("engine_fast.cam_angle"), 1)  # not measured in the first frame
        self.assertIn("4 frames, ", out.stderr)
        self.assertIn("1 frames of identifiers that the bench does not have", out.stderr)

    def test_a_record_s_values_are_those_that_were_reported(self):
        drycrank("run", HEALTHY, "--out", str(self.tmp / "r"))
        out = drycrank("decode", str(self.tmp / "r"), "--bench", BENCH, "--out", str(self.tmp / "v.csv"))
        self.assertEqual((out.returncode, out.stdout), (0, ""))
        lines = (self.tmp / "v.csv").read_text().splitlines()
        coolant = [float(line.split(",")[2]) for line in lines if ",engine_temps.coolant," in line]
        events = (self.tmp / "r" / "events.csv").read_text()
        self.assertEqual(coolant, [int(byte, 16) - 40 for byte in re.findall(r",140#(..)", events)])
        self.assertGreater(len(coolant), 20)

    def test_an_interface_that_is_no_bus_is_4_and_said(self):
        log = self.write("a.log", self.LOG)
        out = drycrank("decode", log, "--bench", BENCH, "--bus", "vehicle=can1")
        self.assertEqual((out.returncode, out.stdout), (4, "t_s,signal,value,unit\n"))
        self.assertIn("interface can0 is none of the bench's buses: its frames are left out", out.stderr)
        self.assertEqual(drycrank("decode", log, "--bench", BENCH, "--bus", "vehicle=can0").returncode, 0)

    def test_damage_and_bad_input_are_2(self):
        log = self.write("a.log", self.LOG + "(1.0) can0 12\n")
        out = drycrank("decode", log, "--bench", BENCH)
        self.assertEqual(out.returncode, 2)
        self.assertIn("a.log: damaged at byte", out.stderr)
        self.assertEqual(len(out.stdout.splitlines()), len(drycrank("decode", self.write("b.log", self.LOG), "--bench", BENCH).stdout.splitlines()))
        for words in (("/nowhere.log", "--bench", BENCH), (log, "--bench", "/nowhere.yaml"), (BENCH, "--bench", BENCH),
                      (log, "--bench", BENCH, "--bus", "can0"), (log, "--bench", BENCH, "--out", log)):
            self.assertEqual(drycrank("decode", *words).returncode, 2, words)
        self.assertIn("(1.0)", pathlib.Path(log).read_text())


class JudgeRecording(Folder):
    """Frames of engine_temps (0x140) each 100 ms; the bench says 100 ms. The gap in the twin is 900 ms."""
    EXPECT = """\
  - {name: temps_come, kind: message_present, message: engine_temps, period_ms: 100 ms, jitter_ms: 20 ms, means: Temperatures do not come.}
  - {name: never_hot, kind: never, condition: {signal: engine_temps.coolant, above: 120}, means: It is too hot.}
"""
    DRIVEN = "  - {name: coolant_right, kind: follows, signal: engine_temps.coolant, stimulus: coolant_temperature, tolerance: 2, means: It is not seen.}\n"

    def judge(self, lines, expect):
        text = f"kind: scenario\nname: s\nbench: {BENCH}\nsteps:\n  - {{name: a, for_s: 1 s}}\nexpect:\n{expect}"
        log = self.write("j.log", "".join(lines))
        return drycrank("judge", self.write("j.yaml", text), "--record", log, "--json", str(self.tmp / "j.json"))

    def verdicts(self):
        return [e["outcome"] for e in json.loads((self.tmp / "j.json").read_text())["expectations"]]

    def frames(self, times):
        return [f"({t:.6f}) can0 140#8282828290000000\n" for t in times]

    def test_what_frames_alone_answer_is_judged(self):
        out = self.judge(self.frames(100 + k / 10 for k in range(40)), self.EXPECT)
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        self.assertIn("The recording is as expected", out.stdout)
        self.assertEqual(self.verdicts(), ["met", "met"])

    def test_a_gap_fails(self):
        out = self.judge(self.frames(100 + k / 10 for k in range(40) if not 10 < k < 19), self.EXPECT)
        self.assertEqual(out.returncode, 1, out.stdout + out.stderr)
        # Nine tenths of a second without the message: of that the other says nothing either.
        self.assertEqual(self.verdicts(), ["failed", "not_observed"])

    def test_what_was_driven_is_not_observed_and_4(self):
        out = self.judge(self.frames(100 + k / 10 for k in range(40)), self.EXPECT + self.DRIVEN)
        self.assertEqual(out.returncode, 4, out.stdout + out.stderr)
        self.assertEqual(self.verdicts(), ["met", "met", "not_observed"])
        self.assertIn("coolant_right needs to know what was driven", out.stdout)

    def test_over_a_clock_set_back_no_gap_is_measured_and_what_comes_after_counts(self):
        before, after = [100 + k / 10 for k in range(40)], [50 + k / 10 for k in range(40)]
        out = self.judge(self.frames(before + after), self.EXPECT)
        self.assertEqual(out.returncode, 0, out.stdout + out.stderr)
        self.assertIn("the time goes back once, first at frame 41 by 53.9 s", out.stdout)
        out = self.judge(self.frames(before + after[:10] + after[19:]), self.EXPECT)
        self.assertEqual(out.returncode, 1, out.stdout + out.stderr)


class Recording(Folder):
    def test_a_run_recorded_is_what_its_record_says(self):
        path = self.tmp / "live.log"
        out = drycrank("run", HEALTHY, "--out", str(self.tmp / "r"), "--recording", str(path))
        self.assertEqual(out.returncode, 0, out.stderr)
        log = self.converted(str(self.tmp / "r"), "record.log")
        self.assertEqual(path.read_text(), pathlib.Path(log).read_text())
        again = drycrank("run", HEALTHY, "--recording", str(path))
        self.assertEqual(again.returncode, 2)
        self.assertIn("--overwrite", again.stderr)

    def test_a_crash_loses_at_most_the_last_second(self):
        path = self.tmp / "live.pcapng"
        daemon = subprocess.Popen([DRYCRANKD, BENCH, "--socket", str(self.tmp / "control"), "--recording", str(path)],
                                  stdout=subprocess.PIPE, text=True)
        try:
            self.assertIn("is live", daemon.stdout.readline())
            time.sleep(2.5)
            killed_s = time.time()
        finally:
            daemon.send_signal(signal.SIGKILL)
            daemon.communicate()
        drycrank("convert", str(path), str(self.tmp / "live.log"))  # 2 when the last block was cut
        lines = (self.tmp / "live.log").read_text().splitlines()
        last_s = float(lines[-1][1:].split(")")[0])
        self.assertLess(killed_s - last_s, 1.0)
        self.assertGreater(len(lines), 100)

    def test_recordings_are_bounded_in_number(self):
        out = drycrank("run", HEALTHY, "--recording", str(self.tmp / "live.pcapng"), "--recording-s", "2",
                       "--recording-files", "3")
        self.assertEqual(out.returncode, 0, out.stderr)
        names = sorted(p.name for p in self.tmp.glob("live*"))
        self.assertEqual(len(names), 3)
        self.assertGreater(names[0], "live-000002.pcapng")


class Replay(Folder):
    def scenario(self, recording, more=""):
        return self.write("s.yaml", f"kind: scenario\ninclude: {HEALTHY}\nname: again\nbench: {BENCH}\n"
                                    f"replay:\n  - {{file: {recording}{more}}}\n")

    def test_a_replayed_run_is_judged_as_it_was(self):
        drycrank("run", HEALTHY, "--out", str(self.tmp / "r"))
        scenario = self.scenario(self.tmp / "r" / "frames.pcapng")
        self.assertEqual(drycrank("proofread", scenario).returncode, 0)
        out = drycrank("run", scenario)
        self.assertEqual(out.returncode, 0, out.stdout)

    def test_a_recording_that_cannot_be_played_is_bad_input(self):
        log = self.write("a.log", EVERY_KIND)
        for command in ("run", "proofread"):
            out = drycrank(command, self.scenario(log))
            self.assertEqual(out.returncode, 2)
            self.assertIn("s.yaml:6:5: the recording", out.stderr)
            self.assertIn("can0, can1; write 'interface'", out.stderr)


unittest.main(argv=sys.argv[:1], verbosity=1)
