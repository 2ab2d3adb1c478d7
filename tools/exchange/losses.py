# SPDX-License-Identifier: Apache-2.0
"""What did not survive, line by line: file, message, signal, what, why."""
import json
import sys


class BadInput(Exception):
    """The file cannot be taken; nothing is written. The text is for a person."""


class Losses:
    """`kind` is "lost" (gone) or "changed" (there, but not as it was)."""

    def __init__(self, file):
        self.file = str(file)
        self.entries = []

    def _add(self, kind, message, signal, what, why):
        self.entries.append({"kind": kind, "file": self.file, "message": message, "signal": signal,
                             "what": what, "why": why})

    def lost(self, message, signal, what, why):
        self._add("lost", message, signal, what, why)

    def changed(self, message, signal, what, why):
        self._add("changed", message, signal, what, why)

    def print(self, stream=sys.stdout):
        for e in self.entries:
            at = ".".join(part for part in (e["message"], e["signal"]) if part)
            place = f"{e['file']}: {at}: " if at else f"{e['file']}: "
            print(f"{place}{e['kind']}: {e['what']}; {e['why']}", file=stream)

    def write_json(self, path):
        with open(path, "w", encoding="utf-8") as out:
            json.dump(self.entries, out, ensure_ascii=False, indent=1)
            out.write("\n")
