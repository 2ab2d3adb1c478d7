#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Colour and the progress line: for a person at a terminal (pty(7)) and for nobody else; no-color.org."""
import os
import pty
import subprocess
import sys
import tempfile
import unittest

DRYCRANK, PROFILES = sys.argv[1:3]
COLOUR = b"\x1b["
SCENARIO = f"""\
kind: scenario
name: slow
bench: {PROFILES}/benches/kart.yaml
steps: [{{name: only, for_s: 2.5 s}}]
expect:
  - {{name: message, kind: message_present, message: all, jitter_ms: 1 s, means: nothing came}}
"""


def read_to_end(terminal):
    """Linux gives EIO when the last program has let go of its side."""
    text = b""
    while True:
        try:
            part = os.read(terminal, 4096)
        except OSError:
            return text
        if not part:
            return text
        text += part


def shown(words, stream, **environment):
    """What comes on one stream when that is a terminal and the other goes nowhere."""
    ours, theirs = pty.openpty()
    streams = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, stream: theirs}
    kept = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    process = subprocess.Popen([DRYCRANK, *words], stdin=subprocess.DEVNULL, env={**kept, "TERM": "xterm", **environment}, **streams)
    os.close(theirs)
    text = read_to_end(ours)
    os.close(ours)
    return process.wait(timeout=60), text


def piped(words, stream):
    kept = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    out = subprocess.run([DRYCRANK, *words], capture_output=True, stdin=subprocess.DEVNULL, env=kept, timeout=120)
    return getattr(out, stream)


class Colour(unittest.TestCase):
    words = ("run", f"{PROFILES}/scenarios/kart/reference_missing.yaml")

    def test_on_a_terminal(self):
        code, text = shown(self.words, "stdout")
        self.assertEqual(code, 1)
        self.assertIn(COLOUR, text)
        self.assertIn(b"synchronises_quickly", text)

    def test_not_into_a_pipe(self):
        text = piped(self.words, "stdout")
        self.assertIn(b"synchronises_quickly", text)
        self.assertNotIn(b"\x1b", text)

    def test_not_when_no_color_is_set(self):
        code, text = shown(self.words, "stdout", NO_COLOR="1")
        self.assertEqual(code, 1)
        self.assertIn(b"synchronises_quickly", text)
        self.assertNotIn(b"\x1b", text)

    # https://no-color.org: "when present and not an empty string", from memory.
    def test_no_color_that_is_empty_says_nothing(self):
        self.assertIn(COLOUR, shown(self.words, "stdout", NO_COLOR="")[1])

    # terminfo(5), "dumb": a terminal without any special capability.
    def test_not_on_one_that_knows_no_orders(self):
        for kind in ("dumb", ""):
            self.assertNotIn(b"\x1b", shown(self.words, "stdout", TERM=kind)[1])


class Progress(unittest.TestCase):
    """Of a run that takes longer than a second, whatever the machine: one in real time."""

    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        path = folder.name + "/slow.yaml"
        with open(path, "w") as file:
            file.write(SCENARIO)
        self.words = ("run", path, "--real-time")

    def test_on_a_terminal_and_wiped_at_the_end(self):
        code, text = shown(self.words, "stderr")
        self.assertEqual(code, 0, text)
        self.assertRegex(text, rb"\r\x1b\[Kslow \d\.\d s")
        self.assertTrue(text.endswith(b"\r\x1b[K"), text)

    def test_not_when_told_to_be_quiet(self):
        self.assertNotIn(b"slow", shown((*self.words, "--quiet"), "stderr")[1])

    def test_not_into_a_pipe(self):
        self.assertNotIn(b"slow", piped(self.words, "stderr"))


unittest.main(argv=sys.argv[:1], verbosity=1)
