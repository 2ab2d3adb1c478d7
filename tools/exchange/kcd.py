# SPDX-License-Identifier: Apache-2.0
"""Messages of a KCD file, and what of it the reader leaves there or takes for something else.

What the schema of the format asks of an attribute is from memory, no source: of a Message an id that begins
with 0x; of a Signal its offset (its length is 1 when it is not said); of a MuxGroup its count.
"""
import re
from decimal import Decimal

from xml_file import XmlFile

READ = {"NetworkDefinition", "Document", "Node", "Bus", "Message", "Producer", "Consumer", "NodeRef", "Notes",
        "Multiplex", "MuxGroup", "Signal", "Value", "LabelSet", "Label", "LabelGroup"}
FLOAT_BITS = {"single": "32", "double": "64"}


def _where(element):
    """(message, signal) that it is in."""
    above = {e.tag.rpartition("}")[2]: e.get("name") or "" for e in element.iterancestors()}
    return above.get("Message", ""), above.get("Signal") or above.get("Multiplex", "")


def _why_no_identifier(message):
    written, form = message.get("id") or "", message.get("format") or "standard"
    if form not in ("standard", "extended"):
        return f"format '{form}' is neither standard nor extended"
    if not re.fullmatch("0[xX][0-9A-Fa-f]+", written):
        meant = f"; write 0x{int(written):X} if that is decimal, 0x{written} if it is not" if written.isdigit() else ""
        return f"its id '{written}' does not begin with 0x, as KCD writes one{meant}"
    bits = 29 if form == "extended" else 11
    if int(written, 16) >> bits:
        return f"identifier {written} does not fit {bits} bits" + (': write format="extended"' if bits == 11 else "")
    return None


def _why_no_type(signal):
    """The reader takes what it does not know as signed, and a float of any length."""
    value = signal.find("{*}Value")
    kind = value.get("type", "unsigned") if value is not None else "unsigned"
    if kind not in ("unsigned", "signed", *FLOAT_BITS):
        return f"type '{kind}' is none of unsigned, signed, single, double"
    if kind in FLOAT_BITS and signal.tag.endswith("}Multiplex"):
        return f"a selector has whole numbers, and '{kind}' is written"
    length = signal.get("length", "1")
    if FLOAT_BITS.get(kind, length) != length:
        return f"a {kind} has {FLOAT_BITS[kind]} bits, and {length} are written"
    return None


def _why_no_signal(signal):
    """Why the reader would take it wrongly; None when it does not."""
    if not signal.get("name"):
        return "it has no name"
    if signal.get("offset") is None:
        return "its offset is missing: write which bit it begins at"
    for key, least in (("offset", 0), ("length", 1)):
        written = signal.get(key, "1")
        if not re.fullmatch(r"\d{1,9}", written) or int(written) < least:
            return f"{key} '{written}' is no whole number from {least} on"
    if signal.get("endianess", "little") not in ("little", "big"):
        return f"endianess '{signal.get('endianess')}' is neither little nor big"
    if signal.getparent().tag.endswith("}MuxGroup") and not re.fullmatch(r"\d{1,19}", signal.getparent().get("count", "")):
        return "the count of its MuxGroup is no whole number: write which value of the selector it stands for"
    return _why_no_type(signal)


class KcdFile(XmlFile):
    MESSAGE = "Message"

    def wanted(self, chosen):
        return sum(1 for i in chosen for _ in self.items[i].iter("{*}Signal", "{*}Multiplex"))

    def name(self, item):
        return self.items[item].get("name") or ""

    def odd_by_itself(self):
        """Those that the reader would take wrongly, and those of which it says too little."""
        whys = {item: self._why_not(message) for item, message in enumerate(self.items)}
        return {item: why for item, why in whys.items() if why}

    @staticmethod
    def _why_not(message):
        selectors = len(message.findall("{*}Multiplex"))
        if selectors > 1:
            return f"{selectors} selectors; one can be read: make it several messages"
        if message.get("remote") in ("true", "1"):
            return "a remote frame carries no data"
        why = _why_no_identifier(message)
        for signal in [] if why else message.iter("{*}Signal", "{*}Multiplex"):
            reason = _why_no_signal(signal)
            if reason:
                return f"signal '{signal.get('name') or ''}' of line {signal.sourceline}: {reason}"
        return why

    def mend(self, losses, parse):
        """Takes out what stops the reader though it needs none of it."""
        nodes = {node.get("id") for node in self.root.iter("{*}Node")}
        for refer in list(self.root.iter("{*}NodeRef")):
            if refer.get("id") not in nodes:
                losses.lost(*_where(refer), f"line {refer.sourceline}: NodeRef '{refer.get('id')}'", "no Node has this id")
                refer.getparent().remove(refer)
        for notes in [n for n in self.root.iter("{*}Notes") if n.text is None]:
            notes.getparent().remove(notes)
        for message in self.items:
            message.attrib.pop("triggered", None)  # the period is read in `complete`
            if message.get("length") == "auto":
                del message.attrib["length"]

    def complete(self, matrices, chosen, losses):
        """`db.document` is the text of the Document element."""
        for item in set(range(self.count())) - set(chosen):
            self.items[item].getparent().remove(self.items[item])
        self._say_label_groups(losses)
        self._say_what_is_not_read(losses)
        document, counter = self.root.find("{*}Document"), 0
        for bus in self.root.findall("{*}Bus"):
            name = bus.get("name")
            if not name:  # as canmatrix names it
                name, counter = f"CAN{counter}", counter + 1
            db = matrices[name]
            db.document = document.text or "" if document is not None else ""
            if bus.get("baudrate"):
                db.attributes["Baudrate"] = bus.get("baudrate")
            for element, frame in zip(bus.findall("{*}Message"), db.frames):
                self._complete(element, frame, losses)

    @staticmethod
    def _complete(element, frame, losses):
        """Periods, fractions of a millisecond too, and of a selector its byte order, sign, scale and unit."""
        if element.get("interval"):
            frame.cycle_time = float(element.get("interval"))
        if element.get("length") is None:
            losses.changed(str(frame.name), "", f"its length is {int(frame.size)} bytes",
                           "the file does not say it: its signals end there")
        selector = element.find("{*}Multiplex")
        if selector is None:
            return
        signal = frame.signal_by_name(selector.get("name"))
        value = selector.find("{*}Value")
        get = value.get if value is not None else {}.get
        signal.is_little_endian = selector.get("endianess") != "big"
        signal.is_signed = get("type") == "signed"
        signal.factor, signal.offset = Decimal(get("slope", "1")), Decimal(get("intercept", "0"))
        signal.unit = get("unit", "")
        signal.min = Decimal(get("min")) if get("min") else signal.calc_min()
        signal.max = Decimal(get("max")) if get("max") else signal.calc_max()

    def _say_what_is_not_read(self, losses):
        """Elements that nothing comes of, the outermost of each; and a value with two names."""
        within = set()
        for element in self.root.iter("{*}*"):
            tag = element.tag.rpartition("}")[2]
            if element.getparent() in within or tag not in READ:
                within.add(element)
            if element in within and element.getparent() not in within:
                name = f" '{element.get('name')}'" if element.get("name") else ""
                losses.lost(*_where(element), f"line {element.sourceline}: {tag}{name}", "it is not read")
        for labels in self.root.iter("{*}LabelSet"):
            names = {}
            for label in labels.iter("{*}Label"):
                names.setdefault(label.get("value"), []).append(label.get("name"))
            for raw, both in names.items():
                if len(set(both)) > 1:
                    losses.changed(*_where(labels), f"raw value {raw} is named " + " and ".join(f"'{n}'" for n in both),
                                   f"'{both[-1]}' is kept: a value has one name")

    def _say_label_groups(self, losses):
        for group in self.root.iter("{*}LabelGroup"):
            losses.lost(*_where(group), f"name '{group.get('name')}' of raw values {group.get('from')} to {group.get('to')}",
                        "names of ranges are not read: write a Label for each value")
