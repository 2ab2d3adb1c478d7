# SPDX-License-Identifier: Apache-2.0
"""Seeded message lists, drawn and decoded here and written by list_writers: no library in between.

A message is {name, id, extended, bytes, fd, period, comment, signals}; a signal {name, start, bits, big, signed, float,
scale, offset, unit, values, comment} and `selector` or `choice`. `start` counts as a bench does: byte * 8 + bit; of a
big-endian signal it is the most significant bit.
"""
import struct

UNITS = {"degC": "°C", "kPa": "kPa", "rpm": "rpm", "%": "%", "": ""}  # ours -> as it is written
SCALES = (("1", "0"), ("0.5", "-40"), ("0.1", "0"), ("-0.5", "100"), ("0.0078125", "-273.15"), ("2", "-3"))
FD_BYTES = (8, 12, 16, 24, 32, 64)
COMMENTS = ("", "", "one; two", "übergroß: 5 µm", "it's \\ so // and {so} [here]", "a & b < c", "of two  blanks")
PLAIN = ("s", "Temp_", "x1_", "M", "SG_", "offset", "include", "Multiplexor_")
ODD = (*PLAIN, "Öl Druck ", "a-b.c ", "ß", "9te ", "no ", "größe/°C ")
ODD_NAMES = {"kcd", "json", "sym"}  # of the others the names are words
WITH_FD = {"dbc", "sym", "json", "arxml"}


def bits_of(s):
    """In the frame, the most significant first when it is big-endian, else the least."""
    out, at = [], s["start"]
    for _ in range(s["bits"]):
        out.append(at)
        at = at + 1 if not s["big"] else (at - 1 if at % 8 else at + 15)
    return out


def raw(s, data):
    order = bits_of(s)[::-1] if s["big"] else bits_of(s)
    return sum((data[bit // 8] >> bit % 8 & 1) << i for i, bit in enumerate(order))


def value(s, data):
    """What its bits mean; None where they are no number."""
    number = raw(s, data)
    if s["float"]:
        number = struct.unpack(">f" if s["bits"] == 32 else ">d", number.to_bytes(s["bits"] // 8, "big"))[0]
        if number != number:
            return None
    elif s["signed"] and number >> s["bits"] - 1:
        number -= 1 << s["bits"]
    return number * float(s["scale"]) + float(s["offset"])


def decode(message, data):
    """{signal: value} of all that is there."""
    chosen = next((raw(s, data) for s in message["signals"] if s.get("selector")), None)
    there = [s for s in message["signals"] if s.get("choice") in (None, chosen)]
    return {s["name"]: value(s, data) for s in there if value(s, data) is not None}


def legal(name):
    """As the tool says that it changes a name: letters, digits and _, no digit first."""
    text = "".join(c if c.isascii() and (c.isalnum() or c == "_") else "_" for c in name)
    return "_" + text if not text or text[0].isdigit() or text == "include" else text


def _place(rng, s, free, count):
    for start in rng.sample(range(8 * count), 8 * count):
        s["start"] = start
        if max(bits := bits_of(s)) < 8 * count and free.issuperset(bits):
            return set(bits)
    return None


def _signal(rng, name, free, count, suffix, **more):
    is_float = rng.random() < 0.15 and count >= 8
    bits = rng.choice((32, 64)) if is_float else rng.choice((1, 2, 4, 7, 8, 9, 12, 16, 24, 32, 33, 64))
    scale, offset = rng.choice(SCALES)
    s = {"name": name, "bits": bits, "big": rng.random() < 0.5, "float": is_float, "scale": scale, "offset": offset,
         "signed": not is_float and bits > 1 and rng.random() < 0.4, "unit": rng.choice(list(UNITS)),
         "comment": rng.choice(COMMENTS), "values": {}, **more}
    if not is_float and rng.random() < 0.3 and bits <= 16:
        s["values"] = {0: "off", 1: rng.choice(("on", "ein/aus", "größer", "a, b=c"))}
        if s["signed"]:
            s["values"][-1] = "fault"
    taken = _place(rng, s, free, count)
    return (s, taken) if taken else (None, set())


def _signals(rng, message, suffix):
    names, free = iter(range(1000)), set(range(8 * message["bytes"]))
    stems = ODD if suffix in ODD_NAMES else PLAIN
    tail = f"_of_{message['name']}" if suffix == "arxml" else ""  # its signals stand side by side
    name = lambda: f"{rng.choice(stems)}{next(names)}{tail}"
    out = []

    def one(area, **more):
        s, taken = _signal(rng, name(), area, message["bytes"], suffix, **more)
        out.extend([s] if s else [])
        return taken

    if suffix != "arxml" and message["bytes"] >= 4 and rng.random() < 0.4:
        selector = {"name": f"{legal(message['name'])}_MUX" if suffix == "sym" else name(), "bits": rng.choice((3, 4, 8)), "big":
                    rng.random() < 0.3, "float": False, "signed": False, "scale": "1", "offset": "0", "unit": "", "comment": "",
                    "values": {}, "selector": True}
        free -= _place(rng, selector, free, message["bytes"])
        out.append(selector)
        for _ in range(rng.randint(0, 2)):
            free -= one(free)
        for choice in rng.sample(range(8), rng.randint(1, 3)):
            area = set(free)
            for _ in range(rng.randint(1, 3)):
                area -= one(area, choice=choice)
        if not any("choice" in s for s in out):
            out.remove(selector)
    else:
        for _ in range(rng.randint(1, 7)):
            free -= one(free)
    return out


def draw(rng, suffix, count=8):
    """Messages that the format can say, with identifiers of 11 and 29 bits of equal numbers among them."""
    out, numbers = [], rng.sample(range(1, 0x7FF), count)
    for i, number in enumerate(numbers):
        extended = rng.random() < 0.4
        fd = suffix in WITH_FD and rng.random() < 0.3
        out.append({"name": (rng.choice(ODD) if suffix in ODD_NAMES else rng.choice(PLAIN)) + f"_{i}", "extended": extended, "fd": fd,
                    "id": rng.choice((numbers[i - 1] if i and not out[-1]["extended"] else number, number << 18 | number))
                    if extended else number, "bytes": rng.choice(FD_BYTES if fd else (1, 2, 5, 8, 8, 8)),
                    "period": rng.choice((0, 10, 100, 1000)), "comment": rng.choice(COMMENTS)})
        out[-1]["signals"] = _signals(rng, out[-1], suffix)
    return out
