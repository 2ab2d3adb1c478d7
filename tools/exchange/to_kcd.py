# SPDX-License-Identifier: Apache-2.0
"""Buses of a bench (as `drycrank messages --json` prints them) to a KCD file.

KCD counts the first bit of a big-endian signal from the most significant bit of byte 0 on, as canmatrix
does. What KCD has no place for stands in Notes, one line beginning with "drycrank: ", so that it comes
back; another reader does without. That is listed.
"""
import json
import xml.etree.ElementTree as ElementTree

from read import KCD_NAMESPACE
from to_bench import NOTE, SENDERS


DEFAULT_DATA_BITRATE_BPS = 2000000  # sim/profile/message.h


def bit_offset(signal):
    start = signal["start_bit"]
    return start - start % 8 + 7 - start % 8 if signal.get("byte_order") == "big" else start


def _add_notes(element, kept, losses, message, signal=""):
    if not kept:
        return
    ElementTree.SubElement(element, "Notes").text = NOTE + json.dumps(kept, ensure_ascii=False)
    losses.changed(message, signal, ", ".join(kept) + " stand in Notes", "KCD has no place for it")


def _add_value(element, s):
    value = {}
    if s.get("is_float"):
        value["type"] = "single" if s["length_bits"] == 32 else "double"
    elif s.get("is_signed"):
        value["type"] = "signed"
    for key, name in (("scale", "slope"), ("offset", "intercept"), ("unit", "unit"), ("min", "min"),
                      ("max", "max")):
        if key in s:
            value[name] = s[key] if key == "unit" else repr(s[key])
    if value:
        ElementTree.SubElement(element, "Value", value)


def _add_signal(parent, name, s, losses, message, tag="Signal"):
    element = ElementTree.SubElement(parent, tag, name=name, offset=str(bit_offset(s)),
                                     length=str(s["length_bits"]))
    if s.get("byte_order") == "big":
        element.set("endianess", "big")
    kept = {"carries": s["carries"]} if "carries" in s else {}
    _add_notes(element, kept, losses, message, name)
    return element


def _finish_signal(element, s):
    _add_value(element, s)
    if "values" in s:
        labels = ElementTree.SubElement(element, "LabelSet")
        for raw, label in s["values"].items():
            ElementTree.SubElement(labels, "Label", name=label, value=str(raw))


def _add_message(bus, name, m, losses):
    element = ElementTree.SubElement(bus, "Message", id=f"0x{m['id']:03X}", name=name,
                                     length=str(m["length_bytes"]))
    if m.get("extended"):
        element.set("format", "extended")
    kept = {key: m[key] for key in ("fd", "bit_rate_switch", "phase_ms", "counter", "checksum") if key in m}
    period = m.get("period_ms", 0)
    if period:
        element.set("triggered", "true")
        element.set("interval", str(max(1, round(period))))
        if period != round(period):
            kept["period_ms"] = period
    _add_notes(element, kept, losses, name)
    producer = ElementTree.SubElement(element, "Producer")
    ElementTree.SubElement(producer, "NodeRef", id=str(SENDERS.index(m["sender"]) + 1))
    groups = {}
    for signal, s in m["signals"].items():
        if "multiplex_value" in s:
            groups.setdefault(s["multiplex_value"], []).append((signal, s))
    for signal, s in m["signals"].items():
        if s.get("multiplex") == "selector":
            selector = _add_signal(element, signal, s, losses, name, "Multiplex")
            if s.get("byte_order") == "big" or s.get("is_signed") or "scale" in s or "offset" in s:
                losses.changed(name, signal, "byte order, sign, scale or offset of the selector",
                               "written as KCD has it, but canmatrix 0.9.5 does not read it there")
            _finish_signal(selector, s)
            for count, members in sorted(groups.items()):
                group = ElementTree.SubElement(selector, "MuxGroup", count=str(count))
                for member, body in members:
                    _finish_signal(_add_signal(group, member, body, losses, name), body)
    for signal, s in m["signals"].items():
        if "multiplex_value" not in s and s.get("multiplex") != "selector":
            _finish_signal(_add_signal(element, signal, s, losses, name), s)


def kcd_text(buses, title, losses):
    root = ElementTree.Element("NetworkDefinition", xmlns=KCD_NAMESPACE)
    document = ElementTree.SubElement(root, "Document", name=title)
    rates = {name: {"data_bitrate_bps": bus["data_bitrate_bps"]} for name, bus in buses.items()
             if bus["data_bitrate_bps"] != DEFAULT_DATA_BITRATE_BPS}
    document.text = "Messages of a bench." + ("\n" + NOTE + json.dumps(rates) if rates else "")
    for index, sender in enumerate(SENDERS, 1):
        ElementTree.SubElement(root, "Node", id=str(index), name=sender)
    for name, bus in buses.items():
        element = ElementTree.SubElement(root, "Bus", name=name,
                                         baudrate=str(int(bus["bitrate_bps"])))
        for message, body in bus["messages"].items():
            _add_message(element, message, body, losses)
    ElementTree.indent(root)
    return ('<?xml version="1.0" encoding="UTF-8"?>\n'
            + ElementTree.tostring(root, encoding="unicode") + "\n")
