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


class _Text:
    def __init__(self, text, losses):
        text = "\n".join(text.splitlines())
        self.losses, self.lines = losses, text.split("\n")
        self.enums = {sym_lines.bare(m[1]) for m in twice.SYM_ENUM.finditer(twice.without_comments(text))}
        # Each line keeps its number.
        self.written = sym_lines.for_reader(sym6.as_version_5(text) if sym6.is_version_6(text) else text).split("\n")
        self.plain = sym_lines.without_names_that_are_not_there("\n".join(self.written), self.enums).split("\n")
        self.groups = _groups(self.lines)
        self.whys, self.left_out = {}, set()

    def of(self, numbers):
        return [(n + 1, self.written[n]) for n in numbers]

    def leave_out(self, name, numbers, why):
        self.left_out.update(numbers)
        self.whys[name] = f"line {numbers[0] + 1}: {why}"
        self.losses.lost(name, "", "message", self.whys[name])

    def leave_out_impossible(self):
        for name, numbers in self.groups:
            why = sym_lines.why_not(self.of(numbers), self.enums)
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
        """CAN FD, texts, and what is not read."""
        said = {}
        for name, numbers in self.groups:
            if not self.left_out.issuperset(numbers):
                lines = self.of(numbers)
                said[name] = sym_lines.says([(n + 1, self.lines[n]) for n in numbers])
                sym_lines.say_what_is_not_read(name, lines, self.enums, self.losses)
        for frame in (f for db in matrices.values() for f in db.frames):
            extended, fd = sym_lines.TYPES.get(said.get(str(frame.name), {}).get("Type", "Standard"), (None, False))
            frame.is_fd = fd
            frame.arbitration_id.extended = extended
            for signal in frame.signals:
                signal.is_ascii = signal.type_label in ("char", "string")


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
