# SPDX-License-Identifier: Apache-2.0
"""DBC files line by line: a line that is not understood costs its message, not the file, and is listed.

canmatrix passes over what it does not know, takes any digit for a byte order, and whole milliseconds of a
period alone. Text in quotes may go over lines; what looks like a message in it is none.
"""
import ast
import re

from odd import sentence

# What a line may begin with, from the format's published grammar and its common extensions.
KEYWORDS = {b"VERSION", b"NS_", b"BS_:", b"BS_", b"BU_:", b"BU_", b"BO_", b"SG_", b"CM_", b"BA_DEF_", b"BA_",
            b"VAL_", b"VAL_TABLE_", b"BA_DEF_DEF_", b"BO_TX_BU_", b"SIG_GROUP_", b"SIG_VALTYPE_", b"EV_",
            b"EV_DATA_", b"ENVVAR_DATA_", b"SG_MUL_VAL_", b"BA_DEF_REL_", b"BA_REL_", b"BA_DEF_DEF_REL_",
            b"BA_SGTYPE_", b"SGTYPE_", b"SGTYPE_VAL_", b"BA_DEF_SGTYPE_", b"CAT_DEF_", b"CAT_", b"FILTER",
            b"SIG_TYPE_REF_", b"SIGTYPE_VALTYPE_", b"BU_SG_REL_", b"BU_EV_REL_", b"BU_BO_REL_", b"NS_:"}


def _inside_quotes(lines):
    """Numbers of the lines that begin within a text in quotes."""
    inside, numbers = False, set()
    for number, line in enumerate(lines, 1):
        if inside:
            numbers.add(number)
        if len(re.findall(rb'(?<!\\)"', line)) % 2:
            inside = not inside
    return numbers


def counted(data):
    """How many signals are written."""
    lines = data.splitlines()
    inside = _inside_quotes(lines)
    return sum(1 for number, line in enumerate(lines, 1)
               if number not in inside and re.match(rb"\s*SG_ ", line))


NOT_THERE = "it is of a message that is not in the file"
OF_SIGNAL = re.compile(rb"\s*(?:VAL_|SIG_VALTYPE_|SG_MUL_VAL_|CM_\s+SG_)\s+(\d+)\s+(\w+)")


def _why_passed_over(line, known, begun):
    """Why nothing comes of this line; None where something does, or nothing must. `known`: the signals of each
    identifier. `begun`: behind the first message; before it the names of sections stand alone."""
    words = line.split()
    if not words:
        return None
    word = words[0].rstrip(b";")
    if word.rstrip(b":") not in KEYWORDS and word not in KEYWORDS:
        return "it begins with nothing that a DBC file knows" if begun else None
    number = words[1] if len(words) > 1 else b""
    of = OF_SIGNAL.match(line)
    if of and int(of[1]) not in known:
        return NOT_THERE
    if of and of[2] not in known[int(of[1])]:
        return f"its message has no signal '{of[2].decode('utf-8', 'replace')}'"
    if word == b"VAL_" and number.isdigit():
        one_line = len(re.findall(rb'"', line)) % 2 == 0
        if one_line and not re.match(rb'\s*VAL_\s+\d+\s+\w+(\s+-?\d+\s+"[^"]*")*\s*;', line):
            return "the names of its values are not understood: number and \"name\" in turn"
    if word == b"SIG_VALTYPE_" and number.isdigit():
        if not re.match(rb"\s*SIG_VALTYPE_\s+\d+\s+\w+\s*:?\s*[012]\s*;", line):
            return "the type of a value is 0 (whole), 1 (32-bit float) or 2 (64-bit float)"
    if word == b"SG_MUL_VAL_":
        for low, high in re.findall(rb"(\d+)\s*-\s*(\d+)", line):
            if int(low) > int(high):
                return f"the range {low.decode()}-{high.decode()} is the wrong way round"
    return None


def _frames(matrices, identifier):
    """The messages of an identifier as the file writes it, with the mark of 29 bits."""
    key = identifier & 0x1FFFFFFF, identifier >> 31 == 1
    return [f for db in matrices.values() for f in db.frames
            if (f.arbitration_id.id, bool(f.arbitration_id.extended)) == key]


FLOAT_BITS = {b"1": 32, b"2": 64}


def _mend_signals(text, matrices):
    """A selector that is itself selected (m0M) the reader takes for the first; a float it takes at any length."""
    for number, head in text.begins.items():
        match = re.match(rb"\s*SG_\s+(\w+)\s+m\d+M\s*:", text.lines[number - 1])
        if match and head and head not in text.left_out:
            for signal in text.signals(matrices, int(text.lines[head - 1].split()[1]), match[1]):
                signal.is_selected = True
    for number, line in enumerate(text.lines, 1):
        match = re.match(rb"\s*SIG_VALTYPE_\s+(\d+)\s+(\w+)\s*:?\s*([12])\s*;", line)
        for signal in text.signals(matrices, int(match[1]), match[2]) if match and number not in text.inside else []:
            if int(signal.size) != FLOAT_BITS[match[3]]:
                signal.why_not = f"line {number}: it is a float of {FLOAT_BITS[match[3]]} bits, and has {int(signal.size)}"


def _mend_periods(lines, matrices):
    """Fractions of a millisecond."""
    inside = _inside_quotes(lines)
    for number, line in enumerate(lines, 1):
        match = re.match(rb'\s*BA_\s+"GenMsgCycleTime"\s+BO_\s+(\d+)\s+([0-9]*\.[0-9]+)\s*;', line)
        if number in inside or not match:
            continue
        for frame in _frames(matrices, int(match.group(1))):
            frame.cycle_time = float(match.group(2))


def say_double_names(data, matrices, losses):
    """A raw value of a signal that has two names: which of them is there now."""
    text = data.decode("latin-1")
    names = {}  # (identifier, signal) -> raw -> [(line, name)]
    for match in re.finditer(r'^[ \t]*VAL_\s+(\d+)\s+(\w+)((?:\s+-?\d+\s+"[^"]*")*)\s*;', text, re.M):
        line = text.count("\n", 0, match.start()) + 1
        for raw, name in re.findall(r'(-?\d+)\s+"([^"]*)"', match[3]):
            names.setdefault((int(match[1]), match[2]), {}).setdefault(int(raw), []).append((line, name))
    for (identifier, signal), of_raw in names.items():
        for raw, both in of_raw.items():
            if len({name for _, name in both}) > 1:
                _say_kept(identifier, signal, raw, both, matrices, losses)


def _say_kept(identifier, signal, raw, both, matrices, losses):
    frames = _frames(matrices, identifier)
    found = frames[0].signal_by_name(signal) if frames else None
    if found is None:
        return  # its message is lost, and was listed
    kept = {int(key): str(name) for key, name in found.values.items()}.get(raw)
    said = " and ".join(f"'{name.encode('latin-1').decode('utf-8', 'replace')}' (line {line})" for line, name in both)
    losses.changed(str(frames[0].name), signal, f"raw value {raw} is named {said}",
                   f"'{kept}' is kept: a value has one name")


def _is_free(number):
    """The identifier under which a DBC file keeps signals of no message."""
    return number == 0xC0000000


def _why_no_identifier(number):
    """Why a DBC file cannot mean this identifier; None when it can. Bit 31 marks 29 bits."""
    if number < 1 << 11 or (number >> 31 == 1 and number & 0x60000000 == 0):
        return None
    if number >> 31:
        return f"identifier 0x{number:X} has more than 29 bits below their mark (bit 31); it is 0x1FFFFFFF at most"
    return f"identifier 0x{number:X} needs 29 bits and has no mark of it (bit 31)"


class _Text:
    """The lines of a DBC file, of which single messages can be left out; the rest keep their numbers."""

    def __init__(self, path, data, losses):
        self.path, self.losses = path, losses
        self.lines = data.splitlines()
        self.left_out = set()  # numbers of BO_ lines
        self.begins = {}       # line -> the BO_ line that it belongs to, of BO_ and SG_
        self.inside = _inside_quotes(self.lines)
        head = 0
        for number, line in enumerate(self.lines, 1):
            if number in self.inside:
                continue
            word = line.split(None, 1)[:1]
            if word == [b"BO_"]:
                head = number
            elif word not in ([b"SG_"], []):
                head = 0
            if word in ([b"BO_"], [b"SG_"]):
                self.begins[number] = head

    def data(self):
        return b"\r\n".join(b"" if self.begins.get(n) in self.left_out and n in self.begins else line
                            for n, line in enumerate(self.lines, 1)) + b"\r\n"

    def leave_out(self, number, why):
        """The message that has this line."""
        head = self.begins.get(number, 0)
        if head in self.left_out:
            return
        self.left_out.add(head)
        words = self.lines[(head or number) - 1].decode("utf-8", "replace").split()
        name = words[2].rstrip(":") if head and len(words) > 2 else ""
        self.losses.lost(name, "", "message" if head else f"signals of no message, line {number}", why)

    def leave_out_impossible(self):
        seen = {}
        for number, line in enumerate(self.lines, 1):
            words = line.split()
            if words[:1] == [b"SG_"] and number in self.begins:
                order = re.search(rb"\|\s*\d+\s*@\s*(\d+)(.?)", line)
                if order and order.group(1) not in (b"0", b"1"):
                    self.leave_out(number, f"line {number}: byte order {order.group(1).decode()} is neither "
                                           "0 (big-endian) nor 1 (little-endian)")
                elif order and order.group(2) not in (b"+", b"-"):
                    self.leave_out(number, f"line {number}: the sign behind its byte order is '{order.group(2).decode('utf-8', 'replace')}', "
                                           "neither + (unsigned) nor - (signed)")
            if number in self.inside:
                continue
            if words[:1] == [b"BO_"] and len(words) > 2 and re.fullmatch(rb"-\d+", words[1]):
                self.leave_out(number, f"line {number}: identifier {words[1].decode()} is below 0")
            if words[:1] != [b"BO_"] or len(words) < 3 or not words[1].isdigit():
                continue
            identifier, name = int(words[1]), words[2].rstrip(b":").decode("utf-8", "replace")
            why = _why_no_identifier(identifier)
            if _is_free(identifier):
                why = "it holds signals of no message, and is never on the bus"
            if why is None and identifier in seen:
                why = f"identifier 0x{identifier & 0x1FFFFFFF:X} is '{seen[identifier]}' already"
            if why:
                self.leave_out(number, f"line {number}: {why}")
            seen.setdefault(identifier, name)

    def say_what_is_passed_over(self, said):
        """Lines that canmatrix takes for nothing, and says nothing of."""
        known, begun = self._known(), False
        for number, line in enumerate(self.lines, 1):
            if number in self.begins or (number in self.inside and number not in said):
                begun = begun or number in self.begins
                continue
            why = _why_passed_over(line, known, begun) or ("it is not understood" if number in said else None)
            if why:
                word = line.split()[0].decode("utf-8", "replace")
                self.losses.lost("", "", f"line {number} ({word[:40]})", why)

    def _known(self):
        """{identifier: names of its signals}, those of what is left out too."""
        known = {}
        for number, head in self.begins.items():
            words = self.lines[head - 1].split() if head else []
            if words[1:2] and words[1].isdigit():
                names = known.setdefault(int(words[1]), set())
                names.update(re.findall(rb"^\s*SG_\s+(\w+)", self.lines[number - 1]))
        return known

    @staticmethod
    def signals(matrices, identifier, name):
        return [s for f in _frames(matrices, identifier) for s in f.signals if s.name == name.decode("utf-8", "replace")]

    def troubles(self, said):
        """[(line, bytes)] of what canmatrix printed (it counts lines wrongly) and is still there."""
        found = []
        for text in said:
            match = re.match(r"b(['\"])(.*)\1$", text)
            if not match:
                continue
            raw = ast.literal_eval(text).rstrip(b"\r\n")
            number = next((n for n, line in enumerate(self.lines, 1)
                           if line == raw and self.begins.get(n) not in self.left_out), 0)
            found.append((number, raw))
        return found

    def each_alone(self, parse):
        """Leaves out the messages over which the reader stumbles even when they are alone."""
        heads = sorted(set(self.begins.values()) - self.left_out - {0})
        for head in heads:
            alone = b"\r\n".join(self.lines[n - 1] for n in sorted(self.begins) if self.begins[n] == head)
            try:
                parse(alone + b"\r\n")
            except Exception as error:  # whatever it stumbles over
                self.leave_out(head, f"line {head}: it cannot be read: {sentence(error)}")


def parse(path, data, losses, reader):
    """(matrices, text of what was read). A line that is not understood costs its message, not the file."""
    text = _Text(path, data, losses)
    text.leave_out_impossible()
    try:
        matrices, said = reader(text.data())
    except Exception:  # which message is it?
        text.each_alone(reader)
        matrices, said = reader(text.data())
    while True:
        before = len(text.left_out)
        others = []
        for number, raw in text.troubles(said):
            keyword = (raw.split() or [b""])[0].decode("ascii", "replace")
            if keyword in ("BO_", "SG_") and number:
                text.leave_out(number, f"line {number} is not understood: "
                                       f"{raw.decode('utf-8', 'replace').strip()[:100]}")
            else:
                others.append((number, keyword))
        if len(text.left_out) == before:
            break
        matrices, said = reader(text.data())
    for keyword in [keyword for number, keyword in others if not number]:
        losses.lost("", "", f"line 0 ({keyword})", "it is not understood")
    text.say_what_is_passed_over({number for number, _ in others})
    _mend_periods(text.lines, matrices)
    _mend_signals(text, matrices)
    say_double_names(text.data(), matrices, losses)
    return matrices, text.data()
