# SPDX-License-Identifier: Apache-2.0
"""Messages of an ARXML file, and what of their layouts the reader leaves there."""
import arxml_types
from scales import Scales
from xml_file import XmlFile


class ArxmlFile(XmlFile):
    """Its messages are the CAN-FRAME-TRIGGERINGs; what they name stays where it is."""

    MESSAGE = "CAN-FRAME-TRIGGERING"

    def __init__(self, data):
        super().__init__(data)
        self.scales = Scales(self.etree, self.root)

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
            for pdu in [] if missing else [by_path[r.text.strip()] for r in refers if (r.text or "").strip()]:
                why = self._why_no_order(pdu)
                if why:
                    odd[item] = why
            for pdu in self._selecting(item, by_path):
                parts = len(pdu.findall("{*}DYNAMIC-PART"))
                if parts > 1:
                    odd[item] = f"{parts} parts are selected in it; one can be read: make it several messages"
        return odd

    ORDERS = ("MOST-SIGNIFICANT-BYTE-FIRST", "MOST-SIGNIFICANT-BYTE-LAST", "OPAQUE")

    def _why_no_order(self, pdu):
        """The reader takes what is not there as big-endian."""
        for mapping in pdu.iter("{*}I-SIGNAL-TO-I-PDU-MAPPING", "{*}I-SIGNAL-TO-PDU-MAPPING"):
            order = (mapping.findtext("{*}PACKING-BYTE-ORDER") or "").strip()
            if mapping.find("{*}START-POSITION") is not None and order not in self.ORDERS:
                return f"its signal of line {mapping.sourceline} has PACKING-BYTE-ORDER '{order}', none of {', '.join(self.ORDERS)}"
        return None

    def _selecting(self, item, by_path):
        """Its MULTIPLEXED-I-PDUs."""
        frame = by_path.get(self._text(item, "FRAME-REF"))
        refers = frame.iter("{*}PDU-REF") if frame is not None else []
        pdus = [by_path.get((r.text or "").strip()) for r in refers]
        return [p for p in pdus if p is not None and p.tag.rpartition("}")[2] == "MULTIPLEXED-I-PDU"]

    def complete(self, matrices, chosen, losses):
        """Signals in the order of the file (the reader's is another each time). A selector is unsigned, and of a big-endian one the start bit is its most significant bit."""
        self.scales.complete(matrices, losses)
        arxml_types.complete(matrices, "/r4" not in self.root.tag, losses)
        frames = {str(f.name): f for db in matrices.values() for f in db.frames}
        order = {}
        for refer in self.root.iter("{*}I-SIGNAL-REF", "{*}SIGNAL-REF"):
            order.setdefault((refer.text or "").strip().rpartition("/")[2], len(order))
        for frame in frames.values():
            frame.signals.sort(key=lambda signal: (order.get(str(signal.name), -1), str(signal.name)))
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
