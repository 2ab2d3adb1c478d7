# SPDX-License-Identifier: Apache-2.0
"""Scales and names of values of ARXML (COMPU-METHOD), which the reader takes in part without a word.

What there is to say of a COMPU-METHOD goes through the reader as the name of a value that no signal
has, so that it arrives at each signal that uses it, however it refers to it.
"""
from decimal import Decimal, InvalidOperation

FIRST_NOTE = 1 << 80


class _NoLine(Exception):
    """It is no straight line."""


def _text(element, path):
    return " ".join((element.findtext(path) or "").split())


def _numbers(scale, path):
    return [Decimal(v.text.strip()) for v in scale.findall(path + "/{*}V")]


def _line_of(scale):
    """(slope, offset) of a scale; None when it has none."""
    if scale.find("{*}COMPU-CONST/{*}V") is not None:
        return Decimal(0), _numbers(scale, "{*}COMPU-CONST")[0]
    if scale.find("{*}COMPU-RATIONAL-COEFFS") is None:
        return None
    above = _numbers(scale, "{*}COMPU-RATIONAL-COEFFS/{*}COMPU-NUMERATOR")
    below = _numbers(scale, "{*}COMPU-RATIONAL-COEFFS/{*}COMPU-DENOMINATOR")
    if any(above[2:]) or any(below[1:]) or below[0] == 0:
        raise _NoLine
    return above[1] / below[0], above[0] / below[0]


def _why_not(method, scales):
    """Why a bench cannot say it; None when it can."""
    if method.find("{*}COMPU-INTERNAL-TO-PHYS") is None and method.find("{*}COMPU-PHYS-TO-INTERNAL") is not None:
        return "its scale is written from physical to raw; write COMPU-INTERNAL-TO-PHYS"
    lines = {}
    for scale in scales:
        try:
            line = _line_of(scale)
        except _NoLine:
            return f"the scale of line {scale.sourceline} is no straight line; a signal has scale and offset"
        except (InvalidOperation, IndexError, AttributeError):
            continue  # the reader says what is wrong
        if line is not None:
            lines.setdefault(line, scale.sourceline)
    if any(slope == 0 for slope, _ in lines):
        return "one value stands for a range of raw values; a signal has one scale and one offset for all"
    if len(lines) > 1:
        return (f"{len(lines)} scales (lines {', '.join(map(str, lines.values()))}), each for a range of raw values; "
                "a signal has one for all")
    return None


def _limit(scale, tag, inwards):
    """Of raw values; None: it has none. An open one stops a step before."""
    limit = scale.find("{*}" + tag)
    text = "" if limit is None else " ".join((limit.text or "").split())
    if not text or limit.get("INTERVAL-TYPE") == "INFINITE":
        return None
    return Decimal(text) + (inwards if limit.get("INTERVAL-TYPE") == "OPEN" else 0)


def _ranges(scales):
    """[(lowest, highest)] raw values of the scales that are lines, ascending; None where one has no limit or cannot be read."""
    try:
        ranges = [(_limit(s, "LOWER-LIMIT", 1), _limit(s, "UPPER-LIMIT", -1)) for s in scales if _line_of(s) is not None]
    except (_NoLine, InvalidOperation, IndexError, AttributeError):
        return None
    return sorted(ranges) if ranges and all(None not in r for r in ranges) else None


def _undefined(signal, ranges):
    """Raw values that the signal's bits can say and no scale speaks of, in words; "" where there is none."""
    lowest = -(1 << (signal.size - 1)) if signal.is_signed else 0
    highest = lowest + (1 << signal.size) - 1
    words = [f"below {ranges[0][0]}"] if ranges[0][0] > lowest else []
    end = ranges[0][1]
    for low, high in ranges[1:]:
        if low > end + 1:
            words.append(f"{end + 1} to {low - 1}")
        end = max(end, high)
    return ", ".join(words + ([f"above {end}"] if end < highest else []))


class Scales:
    """Of a file: `mend` before the reader has it, `complete` behind it."""

    def __init__(self, etree, root):
        self.etree, self.root, self.notes = etree, root, []

    def mend(self):
        for method in list(self.root.iter("{*}COMPU-METHOD")):
            scales = method.findall("{*}COMPU-INTERNAL-TO-PHYS/{*}COMPU-SCALES/{*}COMPU-SCALE")
            changes = self._names(scales)
            why = _why_not(method, scales)
            ranges = _ranges(scales)
            if why or changes or ranges:
                self._note(method, f"line {method.sourceline}: {why}" if why else None, changes, ranges)

    def _names(self, scales):
        """[(kind, what, why)]; the reader knows labels and descriptions, not the text itself."""
        named, said = {}, []
        for scale in scales:
            low, high = _text(scale, "{*}LOWER-LIMIT"), _text(scale, "{*}UPPER-LIMIT")
            name = _text(scale, "{*}COMPU-CONST/{*}VT")
            if not name:
                continue
            if low != high:
                said.append(("lost", f"name '{name}' of raw values {low} to {high}", "names of ranges are not read"))
                continue
            if scale.find("{*}SHORT-LABEL") is None and not _text(scale, "{*}DESC/{*}L-2"):
                self._child(scale, "SHORT-LABEL").text = name
            named.setdefault(low, []).append((scale.sourceline, name))
        for raw, both in named.items():
            if len({name for _, name in both}) > 1:
                names = " and ".join(f"'{name}' (line {line})" for line, name in both)
                said.append(("changed", f"raw value {raw} is named {names}", f"'{both[-1][1]}' is kept: a value has one name"))
        return said

    def _child(self, parent, tag, text=None):
        child = self.etree.SubElement(parent, parent.tag.rpartition("}")[0] + "}" + tag
                                      if "}" in parent.tag else tag)
        child.text = text
        return child

    def _note(self, method, why, changes, ranges):
        at = method
        for tag in ("COMPU-INTERNAL-TO-PHYS", "COMPU-SCALES"):
            found = at.find("{*}" + tag)
            at = found if found is not None else self._child(at, tag)
        scale = self._child(at, "COMPU-SCALE")
        raw = str(FIRST_NOTE + len(self.notes))
        for tag in ("LOWER-LIMIT", "UPPER-LIMIT", "SHORT-LABEL"):
            self._child(scale, tag, raw)
        self._child(scale, "COMPU-CONST")
        self.notes.append((why, changes, ranges))

    def complete(self, matrices, losses):
        """`signal.why_not` is there where a bench cannot say it."""
        for frame in (f for db in matrices.values() for f in db.frames):
            for signal in frame.signals:
                for raw in [r for r in signal.values if r >= FIRST_NOTE]:
                    del signal.values[raw]
                    self._say(self.notes[int(raw) - FIRST_NOTE], frame, signal, losses)

    @staticmethod
    def _say(note, frame, signal, losses):
        signal.why_not, changes, ranges = note
        if signal.why_not:
            return
        undefined = _undefined(signal, ranges) if ranges and not signal.is_float else ""
        if undefined:
            changes = [*changes, ("changed", f"raw values {undefined}", "no scale speaks of them; min and max keep to those that one does")]
            _hold(signal, ranges)
        for kind, what, why in changes:
            getattr(losses, kind)(str(frame.name), str(signal.name), what, why)


def _hold(signal, ranges):
    """min and max, where what it has is not narrower."""
    ends = sorted(raw * signal.factor + signal.offset for raw in (ranges[0][0], max(high for _, high in ranges)))
    signal.min = ends[0] if signal.min is None else max(signal.min, ends[0])
    signal.max = ends[1] if signal.max is None else min(signal.max, ends[1])
