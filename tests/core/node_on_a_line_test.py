#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The trigger core's node on a Cortex-M3 (qemu-system-arm), from the other end of its serial line.

    node_on_a_line_test.py ROOT

Frames and CRC are made here: RFC 1055 for the line, binascii.crc_hqx for CRC-16 with 0x1021.
"""
import binascii
import pathlib
import struct
import subprocess
import sys
import tempfile
import threading
import time

END, ESC = b"\xc0", b"\xdb"
NODE, PC = 5, 1
ARM = 0x216D7241


class Line:
    def __init__(self, elf):
        self.process = subprocess.Popen(
            ["qemu-system-arm", "-M", "mps2-an385", "-display", "none", "-monitor", "none", "-serial",
             "stdio", "-semihosting", "-kernel", elf],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.frames, self.more = [], threading.Condition()
        threading.Thread(target=self.read, daemon=True).start()

    def read(self):
        part = b""
        while byte := self.process.stdout.read(1):
            if byte != END:
                part += byte
                continue
            body, part = part.replace(ESC + b"\xdc", END).replace(ESC + b"\xdd", ESC), b""
            if not body:
                continue
            assert binascii.crc_hqx(body[:-2], 0xFFFF) == struct.unpack(">H", body[-2:])[0], body
            with self.more:
                self.frames.append((struct.unpack("<H", body[:2])[0], body[2:-2]))
                self.more.notify_all()

    def send(self, can_id, data, crc=0):
        body = struct.pack("<H", can_id) + data
        body += struct.pack(">H", binascii.crc_hqx(body, 0xFFFF) ^ crc)
        escaped = body.replace(ESC, ESC + b"\xdd").replace(END, ESC + b"\xdc")
        self.process.stdin.write(END + escaped + END)
        self.process.stdin.flush()

    def wait(self, wanted, seconds=120, must=True):
        """The first frame for which `wanted` holds; what came before it is dropped, if it comes."""
        end = time.monotonic() + seconds
        with self.more:
            while True:
                for i, frame in enumerate(self.frames):
                    if wanted(frame):
                        del self.frames[: i + 1]
                        return frame
                left = end - time.monotonic()
                if left <= 0 and not must:
                    return None
                assert left > 0, f"nothing came; of {len(self.frames)} frames the last: {self.frames[-3:]}"
                self.more.wait(left)

    def request(self, command, index, sub, value):
        """Asked again when no answer comes, as the page says; on a busy computer that is late, or never."""
        is_answer = lambda f: f[0] == 0x580 + NODE and f[1][1:4] == struct.pack("<HB", index, sub)
        for _ in range(12):
            self.send(0x600 + NODE, struct.pack("<BHBI", command, index, sub, value & 0xFFFFFFFF))
            data = self.wait(is_answer, 10, must=False)
            if data:
                return data[1][0], struct.unpack("<I", data[1][4:])[0]
        raise AssertionError(f"{index:x}:{sub} is not answered")

    def write(self, index, sub, value):
        assert self.request(0x23, index, sub, value) == (0x60, 0), f"{index:x}:{sub} = {value}"

    def refused(self, index, sub, value, code):
        assert self.request(0x23, index, sub, value) == (0x80, code), f"{index:x}:{sub} = {value}"

    def ask(self, index, sub):
        command, value = self.request(0x40, index, sub, 0)
        assert command == 0x43, f"{index:x}:{sub}: {value:x}"
        return value


class Heart:
    """Beats until it is stopped, 20 times a second."""

    def __init__(self, line):
        self.line, self.beats = line, True
        self.thread = threading.Thread(target=self.run, daemon=True)
        self.thread.start()

    def run(self):
        while self.beats:
            self.line.send(0x700 + PC, b"\x05")
            time.sleep(0.05)

    def stop(self):
        self.beats = False
        self.thread.join()


def objects(page):
    """index, sub, rights of each row of the page; of subs and channels the last."""
    for row in page.read_text().splitlines():
        words = [word.strip() for word in row.split("|")]
        if len(words) == 7 and words[1].startswith("0x") and words[3] in ("r", "w", "rw"):
            index = int(words[1].split(" ")[0], 16) + 3 * ("channel" in words[1])
            yield index, int(words[2].split(" ")[-1]), words[3]


def check_page(line, page):
    rows = list(objects(page))
    assert len(rows) > 20, "the page has another table"
    for index, sub, rights in rows:
        command, value = line.request(0x40, index, sub, 0)
        if "r" in rights:
            assert command == 0x43, f"{index:x}:{sub} is read on the page: {value:x}"
        else:
            assert command == 0x80, f"{index:x}:{sub} is written only on the page"
        if "w" not in rights:
            line.refused(index, sub, 0, 0x06010002)


def edge_of(frame):
    return frame[1][0], int.from_bytes(frame[1][1:], "little")


def play(line):
    line.refused(0x2000, 1, ARM, 0x08000022)  # nobody watches it
    line.write(0x1016, 1, PC << 16 | 60_000)  # long, for a busy computer
    line.refused(0x2000, 1, ARM, 0x08000022)  # nor has the PC been heard
    line.refused(0x2001, 1, 60_000, 0x08000022)  # not armed
    line.refused(0x2010, 1, 129, 0x06090030)
    line.refused(0x2010, 16, 1, 0x06090011)
    line.refused(0x3000, 1, 1, 0x06020000)
    line.send(0x600 + NODE, b"\x23\x01\x20\x01\x00\x00\x00\x00", crc=1)  # damaged: not answered
    assert line.ask(0x2001, 4) == 1
    line.write(0x2010, 2, 1)
    line.write(0x2010, 1, 4)  # 4-1, even
    line.write(0x2010, 15, 1)  # safe is high

    heart = Heart(line)
    time.sleep(0.2)
    line.refused(0x2000, 1, 1, 0x06090030)  # not the word
    line.write(0x2000, 1, ARM)
    assert line.ask(0x2000, 2) == 1
    line.write(0x2001, 1, 60_000)  # one turn a second
    times = [edge_of(line.wait(lambda f: f[0] == 0x180)) for _ in range(12)]
    gaps = sorted({b[1] - a[1] for a, b in zip(times, times[1:]) if a[0] != b[0]})
    # Three teeth of an even wheel of four, half of each metal: 125 ms, and 375 ms across the gap.
    assert all(min(abs(g - 125_000_000), abs(g - 375_000_000)) <= 1 for g in gaps), gaps
    assert any(abs(g - 375_000_000) <= 1 for g in gaps) and len(times) == 12, gaps

    line.write(0x1016, 1, PC << 16 | 500)
    heart.stop()
    assert line.wait(lambda f: f[0] == 0x17F)[1] == b"\x01", "silent PC: each pin at its safe level"
    assert line.ask(0x2000, 2) == 2
    line.refused(0x2000, 1, ARM, 0x08000022)
    # What it fell silent after it does not take up again by itself.
    line.write(0x1016, 1, PC << 16 | 60_000)
    heart = Heart(line)
    time.sleep(0.3)
    assert line.ask(0x2000, 2) == 2
    line.write(0x2000, 1, ARM)
    assert line.ask(0x2001, 3) == 0, "armed anew, it stands"
    heart.stop()


def main():
    root = pathlib.Path(sys.argv[1]).resolve()
    with tempfile.TemporaryDirectory() as name:
        elf = pathlib.Path(name) / "node.elf"
        built = subprocess.run(
            [root / "tools/core/build", elf, "cortex-m3", root / "tools/core/mps2.ld",
             root / "tools/core/mps2_start.cc", root / "tools/core/mps2_node.cc"],
            capture_output=True, text=True)
        if built.returncode != 0:
            sys.exit(built.stdout + built.stderr)
        line = Line(elf)
        try:
            assert line.wait(lambda f: f[0] == 0x17F)[1] == b"\x00", "from power on each pin is safe"
            check_page(line, root / "hw-notes/trigger-core.md")
            play(line)
        finally:
            line.process.kill()
    print("armed, driven, left alone and safe, over a serial line")


main()
