# SPDX-License-Identifier: Apache-2.0
"""Messages with several layouts as ARXML (MULTIPLEXED-I-PDU), written and decoded here: no library in between.

A set is {"selector": (start, bits, big), "static": {name: place}, "parts": {code: {name: place}}}; a place is (start bit,
bits, big-endian), the start bit as AUTOSAR counts it: of a big-endian signal that of its most significant bit.
"""


def place_bits(start, bits, big):
    """The bits of a signal in the frame, its least significant first."""
    if not big:
        return [start + i for i in range(bits)]
    out, at = [], start
    for _ in range(bits):
        out.append(at)
        at = at - 1 if at % 8 else at + 15
    return out[::-1]


def raw(data, place):
    return sum((data[bit // 8] >> bit % 8 & 1) << i for i, bit in enumerate(place_bits(*place)))


def decode(layouts, data):
    """{signal: raw value} of all that is there."""
    code = raw(data, layouts["selector"])
    there = {**layouts["static"], **layouts["parts"].get(code, {})}
    return {"Multiplexor": code, **{name: raw(data, place) for name, place in there.items()}}


def draw(rng):
    """A selector in the first byte, a static signal, two or three layouts of the rest."""
    free = list(range(2, 8))
    static = rng.choice(free)
    rest = [byte for byte in free if byte != static]
    parts = {}
    for code in rng.sample(range(1, 12), rng.choice([2, 3])):
        big = rng.random() < 0.5
        byte = rng.choice([b for b in rest if b + 1 in rest] or [None])
        if byte is None:
            parts[code] = {f"v{code}": (8 * rest[0], 8, False)}
        elif big:
            parts[code] = {f"v{code}": (8 * byte + 7, rng.choice([12, 16]), True)}
        else:
            parts[code] = {f"v{code}": (8 * byte + rng.choice([0, 2]), rng.choice([12, 14]), False)}
    return {"selector": rng.choice([(0, 4, False), (3, 4, True), (1, 5, False), (5, 4, True)]), "static": {"fixed": (8 * static, 8, False)}, "parts": parts}


def _order(big):
    return "MOST-SIGNIFICANT-BYTE-FIRST" if big else "MOST-SIGNIFICANT-BYTE-LAST"


def _package(name, elements):
    return f"<AR-PACKAGE><SHORT-NAME>{name}</SHORT-NAME><ELEMENTS>{elements}</ELEMENTS></AR-PACKAGE>"


def _signal_pdu(name, signals):
    maps = "".join(f"<I-SIGNAL-TO-I-PDU-MAPPING><SHORT-NAME>{n}</SHORT-NAME><PACKING-BYTE-ORDER>{_order(big)}</PACKING-BYTE-ORDER>"
                   f"<SIGNAL-REF>/ISignal/{n}</SIGNAL-REF><START-POSITION>{start}</START-POSITION></I-SIGNAL-TO-I-PDU-MAPPING>"
                   for n, (start, _, big) in signals.items())
    return (f"<SIGNAL-I-PDU><SHORT-NAME>{name}</SHORT-NAME><LENGTH>64</LENGTH>"
            f"<SIGNAL-TO-PDU-MAPPINGS>{maps}</SIGNAL-TO-PDU-MAPPINGS></SIGNAL-I-PDU>")


def text(layouts, more=""):
    """An ARXML file with one message 0x123 of 8 bytes; `more` goes into its MULTIPLEXED-I-PDU."""
    start, bits, big = layouts["selector"]
    signals = dict(layouts["static"])
    for part in layouts["parts"].values():
        signals.update(part)
    pdus = _signal_pdu("static", layouts["static"]) + "".join(_signal_pdu(f"part{c}", p) for c, p in layouts["parts"].items())
    alternatives = "".join(f'<DYNAMIC-PART-ALTERNATIVE><I-PDU-REF DEST="SIGNAL-I-PDU">/PDU/part{code}</I-PDU-REF>'
                           f"<SELECTOR-FIELD-CODE>{code}</SELECTOR-FIELD-CODE></DYNAMIC-PART-ALTERNATIVE>" for code in layouts["parts"])
    pdus += ("<MULTIPLEXED-I-PDU><SHORT-NAME>many</SHORT-NAME><LENGTH>64</LENGTH>"
             f"<DYNAMIC-PART><DYNAMIC-PART-ALTERNATIVES>{alternatives}</DYNAMIC-PART-ALTERNATIVES></DYNAMIC-PART>"
             f"<SELECTOR-FIELD-BYTE-ORDER>{_order(big)}</SELECTOR-FIELD-BYTE-ORDER><SELECTOR-FIELD-LENGTH>{bits}</SELECTOR-FIELD-LENGTH>"
             f"<SELECTOR-FIELD-START-POSITION>{start}</SELECTOR-FIELD-START-POSITION>"
             f'<STATIC-PART><I-PDU-REF DEST="SIGNAL-I-PDU">/PDU/static</I-PDU-REF></STATIC-PART>{more}</MULTIPLEXED-I-PDU>')
    of_bus = ('<CAN-CLUSTER><SHORT-NAME>CAN</SHORT-NAME><PHYSICAL-CHANNELS><PHYSICAL-CHANNEL><SHORT-NAME>CAN</SHORT-NAME><FRAME-TRIGGERINGSS>'
              '<CAN-FRAME-TRIGGERING><SHORT-NAME>many</SHORT-NAME><FRAME-REF DEST="FRAME">/Frame/many</FRAME-REF><CAN-ADDRESSING-MODE>STANDARD'
              '</CAN-ADDRESSING-MODE><IDENTIFIER>291</IDENTIFIER></CAN-FRAME-TRIGGERING></FRAME-TRIGGERINGSS></PHYSICAL-CHANNEL></PHYSICAL-CHANNELS></CAN-CLUSTER>')
    frame = ('<FRAME><SHORT-NAME>many</SHORT-NAME><FRAME-LENGTH>8</FRAME-LENGTH><PDU-TO-FRAME-MAPPINGS><PDU-TO-FRAME-MAPPING><SHORT-NAME>many'
             '</SHORT-NAME><PACKING-BYTE-ORDER>MOST-SIGNIFICANT-BYTE-LAST</PACKING-BYTE-ORDER><PDU-REF DEST="MULTIPLEXED-I-PDU">/PDU/many</PDU-REF>'
             '<START-POSITION>0</START-POSITION></PDU-TO-FRAME-MAPPING></PDU-TO-FRAME-MAPPINGS></FRAME>')
    of_signals = "".join(f'<I-SIGNAL><SHORT-NAME>{n}</SHORT-NAME><SYSTEM-SIGNAL-REF DEST="SYSTEM-SIGNAL">/Signal/{n}</SYSTEM-SIGNAL-REF></I-SIGNAL>' for n in signals)
    systems = "".join(f'<SYSTEM-SIGNAL><SHORT-NAME>{n}</SHORT-NAME><DATA-TYPE-REF DEST="INTEGER-TYPE">/DataType/{n}</DATA-TYPE-REF><LENGTH>{p[1]}</LENGTH></SYSTEM-SIGNAL>'
                      for n, p in signals.items())
    types = "".join(f"<INTEGER-TYPE><SHORT-NAME>{n}</SHORT-NAME></INTEGER-TYPE>" for n in signals)
    packages = "".join(_package(*p) for p in (("Cluster", of_bus), ("Frame", frame), ("PDU", pdus), ("ISignal", of_signals), ("Signal", systems), ("DataType", types)))
    return f'<?xml version="1.0" encoding="utf-8"?><AUTOSAR xmlns="http://autosar.org/3.2.3"><TOP-LEVEL-PACKAGES>{packages}</TOP-LEVEL-PACKAGES></AUTOSAR>'
