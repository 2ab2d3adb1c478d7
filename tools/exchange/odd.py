# SPDX-License-Identifier: Apache-2.0
"""One odd message costs itself, not the file: of DBF, JSON, ARXML and KCD.

The reader is given the file whole. Where it stumbles, it is given halves of the messages, and halves of
these, until each message over which it stumbles alone is known: it is left out, and listed with its reason.
"""
import decimal
import json
import re

from losses import BadInput


def sentence(error):
    """What a library says, as a person would."""
    text = " ".join(str(error).split())
    if isinstance(error, json.JSONDecodeError):
        return f"line {error.lineno}, column {error.colno}: {error.msg}"
    if isinstance(error, KeyError):
        return f"'{error.args[0]}' is missing" if error.args else "something is missing"
    if isinstance(error, decimal.InvalidOperation):
        return "one of its numbers is none"
    if isinstance(error, (AttributeError, IndexError)):
        return "something that it names is not there"
    for pattern, said in ((r"invalid literal for int\(\) with base \d+: (.*)", "{} is no whole number"),
                          (r"could not convert string to float: (.*)", "{} is no number"),
                          (r"not enough values to unpack \(expected (?:at least )?(\d+), got (\d+)\)",
                           "a line has {1} fields where {0} are needed")):
        match = re.search(pattern, text)
        if match:
            return said.format(*match.groups())
    if isinstance(error, TypeError):
        return "one of its values is missing, or of the wrong kind"
    return text[:200] or "the reader gives no reason"


def odd_ones(items, why_not):
    """{item: why} of those over which the reader stumbles even when they are alone."""
    why = why_not(items) if items else None
    if why is None:
        return {}
    if len(items) == 1:
        return {items[0]: why}
    half = len(items) // 2
    return {**odd_ones(items[:half], why_not), **odd_ones(items[half:], why_not)}


def why_not_whole(parse, data, wanted=None):
    """Why the reader does not take it whole; None when it does."""
    try:
        matrices, said = parse(data)
    except Exception as error:  # whatever it stumbles over
        return f"it cannot be read: {sentence(error)}"
    errors = [e for db in matrices.values() for e in getattr(db, "load_errors", [])]
    if errors:
        return f"it cannot be read: {sentence(errors[0])}"
    if any(line.startswith("Error") for line in said):
        return "it cannot be read: " + next(line for line in said if line.startswith("Error"))[:200]
    found = sum(len(f.signals) for db in matrices.values() for f in db.frames)
    found += sum(len(db.signals) for db in matrices.values())
    if wanted is not None and wanted != found:
        return f"{wanted} signals are written in it and {found} could be read"
    return None


class Whole:
    """A file as its messages; `data(chosen)` is the file with these alone, `wanted(chosen)` their signals, or None."""

    def mend(self, losses, parse):
        """Takes out what stands beside the messages and stops the reader."""

    def read(self, path, losses, parse):
        """(matrices, said, data of what was read)"""
        self.mend(losses, parse)
        everything = list(range(self.count()))
        why_not = lambda chosen: why_not_whole(parse, self.data(chosen), self.wanted(chosen))
        beside = why_not([])
        if beside:
            raise BadInput(f"{path}: what stands beside its messages stops the reader: {beside}; convert it to "
                           ".dbc or .kcd with the program it came from")
        odd = self.odd_by_itself()
        odd.update(odd_ones([item for item in everything if item not in odd], why_not))
        if odd and len(odd) == len(everything):
            first = min(odd)
            raise BadInput(f"{path}: no message of it can be read; the first, {self.place(first)}: {odd[first]}")
        for item in sorted(odd):
            losses.lost(self.name(item), "", "message", f"{self.place(item)}: {odd[item]}")
        rest = [item for item in everything if item not in odd]
        data = self.data(rest)
        matrices, said = parse(data)
        self.complete(matrices, rest, losses)
        return matrices, said, data

    def odd_by_itself(self):
        """{item: why} of those that the reader would take, and take wrongly."""
        return {}

    def complete(self, matrices, chosen, losses):
        """Adds what stands in the file and the reader leaves there; what it leaves out is listed."""


MARK_OF_29 = 1 << 31


def is_wide(number):
    return isinstance(number, int) and 0 <= number < 1 << 29
