# SPDX-License-Identifier: Apache-2.0
"""SYM files: a message that is not understood costs itself, not the file, and is listed."""
import re

import sym6
import sym_lines
import twice
from losses import BadInput
from odd import sentence


def _groups(lines):
    """[(name, [line numbers from 0])] of the messages of a SYM file: [name] and what follows it, and every
    further [name] of it right behind."""
    groups, inside = [], False
    for number, line in enumerate(lines):
        if re.match(r"\s*\{\w+\}", line):
            inside = re.match(r"\s*\{(SEND|RECEIVE|SENDRECEIVE)\}", line) is not None
            continue
        head = re.match(r"\s*\[(.*?)\]", line)
        name = sym_lines.bare(head[1]) if head else ""
        if inside and head and not (groups and groups[-1][0] == name):
            groups.append((name, []))
        if inside and groups:
            groups[-1][1].append(number)
    return groups


def _why_not(text, parse, encoding):
    """Why not all that is written there arrives; None when it does."""
    try:
        matrices, said = parse(text.encode(encoding))
    except Exception as error:  # whatever it stumbles over
        return f"it cannot be read: {sentence(error)}"
    errors = [sentence(e) for db in matrices.values() for e in getattr(db, "load_errors", [])]
    errors += [line for line in said if line.startswith("Error")]
    if errors:
        return f"it cannot be read: {errors[0]}"
    wanted = sym6.counted(text)
    found = sum(not s.is_multiplexer for db in matrices.values() for f in db.frames for s in f.signals)
    return None if wanted == found else f"{wanted} signals are written in it and {found} could be read"


NO_ORDER = 'Title="canmatrix-Export"'  # it writes -m of a selector for the first signal behind it


def _enums(text):
    """({name: {raw value: name}}, [(line, entry)] that are no number and name)"""
    found, odd = {}, []
    plain = twice.without_comments(text)
    for enum in twice.SYM_ENUM.finditer(plain):
        names = found[sym_lines.bare(enum[1])] = {}
        for entry in re.finditer(r'(?:"[^"]*"|[^",])+', enum[2]):
            named = re.fullmatch(r'\s*([+-]?\d+)\s*=\s*("[^"]*"|[^"]*)\s*', entry[0])
            if named:
                names[int(named[1])] = sym_lines.bare(named[2])
            elif entry[0].strip():
                odd.append((text.count("\n", 0, enum.start(2) + entry.start()) + 1, entry[0].strip()))
    return found, odd


class _Text:
    def __init__(self, text, losses):
        text = "\n".join(text.splitlines())
        self.losses, self.lines = losses, text.split("\n")
        self.enums, odd = _enums(text)
        for number, entry in odd:
            losses.lost("", "", f"line {number} of an enum: {entry[:60]}", "write NUMBER=\"name\"")
        self.is_order_said = not any(line.strip() == NO_ORDER for line in self.lines)
        # Each line keeps its number.
        self.written = sym_lines.for_reader(sym6.as_version_5(text) if sym6.is_version_6(text) else text).split("\n")
        self.plain = sym_lines.without_enums("\n".join(self.written), self.enums).split("\n")
        self.groups = _groups(self.lines)
        self.whys, self.left_out = {}, set()
        self._take_out_enums()

    def _take_out_enums(self):
        section = ""
        for number, line in enumerate(self.plain):
            head = re.match(r"\{(\w+)\}", line)
            section = head[1] if head else section
            if section == "ENUMS" and not head:
                self.plain[number] = ""

    def of(self, numbers):
        return [(n + 1, self.written[n]) for n in numbers]

    def leave_out(self, name, numbers, why):
        self.left_out.update(numbers)
        self.whys[name] = f"line {numbers[0] + 1}: {why}"
        self.losses.lost(name, "", "message", self.whys[name])

    def leave_out_impossible(self):
        for name, numbers in self.groups:
            why = sym_lines.why_not(self.of(numbers), self.enums, self.is_order_said)
            if why:
                self.leave_out(name, numbers, why)

    def each_alone(self, parse, encoding):
        of_messages = {number for _, numbers in self.groups for number in numbers}
        for name, numbers in self.groups:
            alone = "\n".join(line if n not in of_messages or n in numbers else "" for n, line in enumerate(self.plain))
            why = _why_not(alone + "\n", parse, encoding)
            if why is not None and not self.left_out.issuperset(numbers) and len(self.groups) > 1:
                self.leave_out(name, numbers, why)

    def rest(self, lines):
        return "\n".join("" if n in self.left_out else line for n, line in enumerate(lines)) + "\n"

    def complete(self, matrices):
        """CAN FD, texts, names of values, byte orders of selectors, and what is not read."""
        kept = {name: numbers for name, numbers in self.groups if not self.left_out.issuperset(numbers)}
        for name, numbers in kept.items():
            sym_lines.say_what_is_not_read(name, self.of(numbers), self.enums, self.losses)
        for frame in (f for db in matrices.values() for f in db.frames):
            numbers = kept.get(str(frame.name), [])
            said = sym_lines.says([(n + 1, self.lines[n]) for n in numbers])
            frame.arbitration_id.extended, frame.is_fd = sym_lines.TYPES[said.get("Type", "Standard")]
            enums = sym_lines.enums_of(self.of(numbers), self.enums)
            for signal in frame.signals:
                signal.is_ascii = signal.type_label in ("char", "string")
                if signal.name in enums:
                    signal.values = dict(self.enums[enums[signal.name]])
                if signal.is_multiplexer:
                    self._order(frame, signal, sym_lines.selector_of(self.of(numbers)))

    def _order(self, frame, selector, place):
        """The reader looks for -m behind what it takes for the value."""
        if place and place[1] and self.is_order_said:
            selector.is_little_endian = False
            selector.set_startbit(place[0])
        elif place and place[1]:
            self.losses.changed(str(frame.name), str(selector.name), "it is read as little-endian",
                                "canmatrix writes -m of a selector for the signal behind it: look it up")


def parse(text, losses, reader, encoding):
    """(matrices, said, text of what was read). A message that is not understood is left out, and listed."""
    file = _Text(text, losses)
    file.leave_out_impossible()
    if _why_not(file.rest(file.plain), reader, encoding) is not None:
        file.each_alone(reader, encoding)
    if file.groups and file.left_out.issuperset(n for _, numbers in file.groups for n in numbers):
        name, why = next(iter(file.whys.items()))
        raise BadInput(f"{losses.file}: no message of it can be read; the first, {name}, {why}")
    matrices, said = reader(file.rest(file.plain).encode(encoding))
    file.complete(matrices)
    return matrices, said, file.rest(file.lines)
