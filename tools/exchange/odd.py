# SPDX-License-Identifier: Apache-2.0
"""One odd message costs itself, not the file: of DBF, JSON and ARXML.

The reader is given the file whole. Where it stumbles, it is given halves of the messages, and halves of
these, until each message over which it stumbles alone is known: it is left out, and listed with its reason.
"""
import decimal
import json
import re

from losses import BadInput
from scales import Scales


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


def _why_not(parse, data, wanted=None):
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
        why_not = lambda chosen: _why_not(parse, self.data(chosen), self.wanted(chosen))
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


def _is_wide(number):
    return isinstance(number, int) and 0 <= number < 1 << 29


NO_LENGTH = "The list does not say its length: 8 bytes are taken."


class JsonFile(Whole):
    def __init__(self, document):
        self.document, self.messages = document, document["messages"]

    def count(self):
        return len(self.messages)

    def data(self, chosen):
        return json.dumps({**self.document, "messages": [self._marked(self.messages[i]) for i in chosen]}).encode()

    def odd_by_itself(self):
        """The reader cuts an identifier to what fits."""
        odd = {}
        for item, message in enumerate(self.messages):
            number = message.get("id") if isinstance(message, dict) else None
            bits = 29 if isinstance(message, dict) and message.get("is_extended_frame") is True else 11
            if isinstance(number, int) and not 0 <= number < 1 << bits:
                odd[item] = f"identifier 0x{number:X} does not fit {bits} bits"
        return odd

    def complete(self, matrices, chosen, losses):
        """Which layout a signal belongs to, that of selector 0 too; comments, CAN FD, ends at 0."""
        frames = [frame for db in matrices.values() for frame in db.frames]
        unread = {}
        for frame, item in zip(frames, chosen):
            message = self.messages[item]
            frame.is_fd = message.get("is_fd") is True
            self._comment(frame, message, losses)
            for where, known in ((message, self.READ), *((s, self.READ_OF_SIGNAL) for s in message["signals"])):
                for key in where:
                    if key not in known and where[key] not in (None, {}, []):
                        unread[key] = unread.get(key, 0) + 1
            for signal, written in zip(frame.signals, message["signals"]):
                if isinstance(written.get("comment"), str):
                    signal.comment = written["comment"]
                if written.get("max") is not None:  # the reader passes over 0
                    signal.max = signal.float_factory(written["max"])
        for key, count in unread.items():
            losses.lost("", "", f"key '{key}' ({count} times)", "it is not read")
        for frame, item in zip(frames, chosen):
            for signal, written in zip(frame.signals, self.messages[item]["signals"]):
                if written.get("multiplex") is not None:
                    signal.multiplex = signal.multiplex_setter(written["multiplex"])
                signal.muxer_for_signal = written.get("muxer_for_signal")
                signal.mux_val_grp = [tuple(pair) for pair in written.get("mux_val_grp") or []]

    READ = {"name", "id", "is_extended_frame", "is_fd", "length", "signals", "comment"}
    READ_OF_SIGNAL = {"name", "start_bit", "bit_length", "factor", "offset", "min", "max", "is_big_endian", "is_signed",
                      "is_float", "comment", "values", "is_multiplexer", "mux_value", "multiplex", "unit",
                      "muxer_for_signal", "mux_val_grp"}

    @staticmethod
    def _comment(frame, message, losses):
        """Its own, and that nobody said how long it is."""
        words = [message["comment"]] if isinstance(message.get("comment"), str) and message["comment"] else []
        if message.get("length") is None:
            words.append(NO_LENGTH)
            losses.changed(str(frame.name), "", "its length is 8 bytes", "the list does not say how long it is: look it up")
        frame.comment = "\n".join(words)

    @staticmethod
    def _marked(message):
        """An identifier of 29 bits as the reader knows one."""
        wide = isinstance(message, dict) and message.get("is_extended_frame") is True
        number = message.get("id") if wide else None
        return {**message, "id": number | MARK_OF_29} if _is_wide(number) else message

    def wanted(self, chosen):
        signals = (self.messages[i].get("signals") for i in chosen if isinstance(self.messages[i], dict))
        return sum(len(s) for s in signals if isinstance(s, (list, dict)))

    def name(self, item):
        message = self.messages[item]
        return str(message.get("name", "")) if isinstance(message, dict) else ""

    def place(self, item):
        return f"message {item + 1} of the list"


class DbfFile(Whole):
    """[START_MSG] to [END_MSG], and in the lists behind, the lines that begin with its identifier."""
    LISTS = ("DESC_MSG", "DESC_SIG", "PARAM_MSG_VAL", "PARAM_SIG_VAL")

    def __init__(self, data):
        self.lines = data.splitlines()
        self.heads, self.of_line, self.refers, self.left_out = [], {}, {}, set()
        inside, in_list = False, False
        for number, raw in enumerate(self.lines):
            line = raw.strip().decode("latin-1")
            mark = re.match(r"\[(START|END)_(\w+)\]", line)
            if mark and mark[2] == "MSG":
                inside = mark[1] == "START"
                if inside:
                    self.heads.append(number)
                self.of_line[number] = len(self.heads) - 1
            elif mark and mark[2] in self.LISTS:
                in_list = mark[1] == "START"
            elif inside:
                self.of_line[number] = len(self.heads) - 1
            elif in_list and line:
                self.refers[number] = re.split(r"[ ,]", line, maxsplit=1)[0]
        if not any(re.match(rb"\s*\[PROTOCOL\].*J1939", line) for line in self.lines):  # these have no identifiers
            self._mark()

    def _mark(self):
        """Identifiers of 29 bits as the reader knows them, in the heads and wherever they are named."""
        wide = {}
        for item, number in enumerate(self.heads):
            fields = self.fields(item)
            if fields[5:6] == ["X"] and fields[1].isdigit() and _is_wide(int(fields[1])):
                wide[fields[1]] = str(int(fields[1]) | MARK_OF_29)
                self._put(number, fields[1], wide[fields[1]])
        for number, named in self.refers.items():
            if named in wide:
                self._put(number, named, wide[named])
                self.refers[number] = wide[named]

    def _put(self, number, was, now):
        alone = rb"(?<!\w)" + was.encode() + rb"(?!\w)"
        self.lines[number] = re.sub(alone, now.encode(), self.lines[number], count=1)

    def count(self):
        return len(self.heads)

    def fields(self, item):
        words = self.lines[self.heads[item]].decode("latin-1").strip()[len("[START_MSG]"):].split(",")
        return [word.strip() for word in words] + ["", ""]

    def mend(self, losses, parse):
        there = {self.fields(item)[1] for item in range(self.count())}
        odd = {n: f"it speaks of message {named}, which is not there" for n, named in self.refers.items()
               if named not in there}
        beside = [n for n, line in enumerate(self.lines) if n not in self.of_line and n not in self.refers
                  and line.strip() and not line.strip().startswith(b"[")]

        def why_not(chosen):
            self.left_out = set(beside) - set(chosen)
            return _why_not(parse, self.data([]))

        odd.update(odd_ones(beside, why_not))
        self.left_out = set(odd)
        for number, why in sorted(odd.items()):
            losses.lost("", "", f"line {number + 1}", why)

    def data(self, chosen):
        chosen = set(chosen)
        there = {self.fields(item)[1] for item in chosen}
        keep = lambda n: n not in self.left_out and self.lines[n].strip() and (
            self.of_line[n] in chosen if n in self.of_line else n not in self.refers or self.refers[n] in there)
        return b"\n".join(line for n, line in enumerate(self.lines) if keep(n)) + b"\n"

    def odd_by_itself(self):
        """The reader cuts an identifier to what fits."""
        numbers = {item: self.fields(item)[1] for item in range(self.count())}
        return {item: f"identifier {number} does not fit 29 bits" for item, number in numbers.items()
                if number.isdigit() and int(number) >= 1 << 32}

    def wanted(self, chosen):
        chosen = set(chosen)
        return sum(1 for n, item in self.of_line.items()
                   if item in chosen and self.lines[n].strip().startswith(b"[START_SIGNALS]"))

    def name(self, item):
        return self.fields(item)[0]

    def place(self, item):
        return f"line {self.heads[item] + 1}"


class ArxmlFile(Whole):
    """Its messages are the CAN-FRAME-TRIGGERINGs; what they name stays where it is."""

    def __init__(self, data):
        from lxml import etree
        self.etree = etree
        self.root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
        self.scales = Scales(etree, self.root)
        self.items = list(self.root.iter("{*}CAN-FRAME-TRIGGERING"))
        self.at = [(item.getparent(), item.getparent().index(item)) for item in self.items]

    def count(self):
        return len(self.items)

    def data(self, chosen):
        left_out = [i for i in range(self.count()) if i not in set(chosen)]
        for i in left_out:
            self.items[i].getparent().remove(self.items[i])
        data = self.etree.tostring(self.root, xml_declaration=True, encoding="utf-8")
        for i in left_out:  # ascending, so that each has its place again
            self.at[i][0].insert(self.at[i][1], self.items[i])
        return data

    def wanted(self, chosen):
        return None  # groups and containers: not one signal for each that is written

    def mend(self, losses, parse):
        for element in self.root.iter("{*}SHORT-NAME"):
            if not (element.text or "").strip():
                element.text = f"line_{element.sourceline}"
                losses.lost("", "", f"line {element.sourceline}", "a SHORT-NAME is empty")
        self.scales.mend()

    def _by_path(self):
        """{"/PDU/engine": element}"""
        found = {}
        for name in self.root.iter("{*}SHORT-NAME"):
            names = [(name.text or "").strip()]
            for above in name.getparent().iterancestors():
                short = above.find("{*}SHORT-NAME")
                if short is not None:
                    names.append((short.text or "").strip())
            found["/" + "/".join(reversed(names))] = name.getparent()
        return found

    def odd_by_itself(self):
        """Of a frame whose PDU is not there the reader takes every signal of the file."""
        odd, by_path = {}, self._by_path()
        for item in range(self.count()):
            frame = by_path.get(self._text(item, "FRAME-REF"))
            refers = list(frame.iter("{*}PDU-REF")) if frame is not None else []
            missing = [r.text for r in refers if (r.text or "").strip() not in by_path]
            if missing:
                odd[item] = f"it names {missing[0]}, which is not there"
            for pdu in self._selecting(item, by_path):
                parts = len(pdu.findall("{*}DYNAMIC-PART"))
                if parts > 1:
                    odd[item] = f"{parts} parts are selected in it; one can be read: make it several messages"
        return odd

    def _selecting(self, item, by_path):
        """Its MULTIPLEXED-I-PDUs."""
        frame = by_path.get(self._text(item, "FRAME-REF"))
        refers = frame.iter("{*}PDU-REF") if frame is not None else []
        pdus = [by_path.get((r.text or "").strip()) for r in refers]
        return [p for p in pdus if p is not None and p.tag.rpartition("}")[2] == "MULTIPLEXED-I-PDU"]

    def complete(self, matrices, chosen, losses):
        """A selector is unsigned, and of a big-endian one the start bit is its most significant bit."""
        self.scales.complete(matrices, losses)
        frames = {str(f.name): f for db in matrices.values() for f in db.frames}
        by_path = self._by_path()
        for item in chosen:
            frame = frames.get(self.name(item))
            for pdu in self._selecting(item, by_path):
                for signal in frame.signals if frame is not None else []:
                    if not signal.is_multiplexer:
                        continue
                    signal.is_signed = False
                    signal.min, signal.max = signal.calc_min(), signal.calc_max()
                    if pdu.findtext("{*}SELECTOR-FIELD-BYTE-ORDER") == "MOST-SIGNIFICANT-BYTE-FIRST":
                        signal.is_little_endian = False
                        signal.set_startbit(int(pdu.findtext("{*}SELECTOR-FIELD-START-POSITION")), bitNumbering=1)

    def _text(self, item, tag):
        found = self.items[item].find("{*}" + tag)
        return (found.text or "").strip() if found is not None else ""

    def name(self, item):
        frame = self._by_path().get(self._text(item, "FRAME-REF"))
        long_name = frame.findtext("{*}LONG-NAME/{*}L-4") if frame is not None else ""
        return long_name or self._text(item, "FRAME-REF").rpartition("/")[2] or self._text(item, "SHORT-NAME")

    def place(self, item):
        return f"line {self.items[item].sourceline}"


def whole(suffix, data):
    """The file as its messages; None where it has none that could be told apart."""
    try:
        if suffix == "dbf":
            return DbfFile(data)
        if suffix == "arxml":
            return ArxmlFile(data)
        document = json.loads(data)
    except Exception:  # the reader says what is wrong
        return None
    messages = document.get("messages") if isinstance(document, dict) else None
    return JsonFile(document) if isinstance(messages, list) else None
