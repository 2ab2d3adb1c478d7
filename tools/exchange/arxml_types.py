# SPDX-License-Identifier: Apache-2.0
"""Signed, unsigned or a float: what an ARXML file says of a signal's type.

The reader compares the ENCODING of AUTOSAR 3 with text though it is an element, does not look at the
encoding of a base type that the system signal names, and takes any other base type for signed unless its
name begins with u. Encodings and names of the standard's platform types are from memory, no source.
"""
import re

WHOLE = {"NONE": 0, "BOOLEAN": 0, "2C": 1}
FLOATS = {"IEEE754": None, "SINGLE": 32, "DOUBLE": 64}  # bits, where the encoding says them
NAMES = ((r"u(int|\d)|bool", 0, None), (r"s?int|s\d", 1, None), ("float32", 1, 32), ("float64", 1, 64))


class Told(int):
    """Whether it is signed, and what else there is to say of it."""
    why, bits, assumed = None, None, False


def _told(sign, is_float=False, **more):
    told = Told(sign)
    for key, value in more.items():
        setattr(told, key, value)
    return told, is_float


def _by_name(base):
    name = (base.findtext("{*}SHORT-NAME") or "").strip()
    for pattern, sign, bits in NAMES:
        if re.match(pattern, name, re.I):
            return _told(sign, bits is not None, bits=bits)
    return _told(0, why=f"its base type '{name}' has no BASE-TYPE-ENCODING: write NONE (unsigned), 2C (signed) or IEEE754")


def _type(encoding, base, _):
    """(signed, float) as the reader asks for them."""
    text = getattr(encoding, "text", encoding)
    if text in (None, "None") and base is not None:
        text = base.findtext(".//{*}BASE-TYPE-ENCODING")
    text = (text or "None").strip()
    if text in WHOLE:
        return _told(WHOLE[text])
    if text in FLOATS:
        return _told(1, True, bits=FLOATS[text])
    if text != "None":
        return _told(0, why=f"its encoding '{text}' is none of {', '.join((*WHOLE, *FLOATS))}")
    return _by_name(base) if base is not None else _told(0, assumed=True)


def teach(arxml):
    """`arxml`: the reader."""
    arxml.eval_type_of_signal = _type


def complete(matrices, is_version_3, losses):
    assumed = 0
    for signal in (s for db in matrices.values() for f in db.frames for s in f.signals):
        told = signal.is_signed
        if not isinstance(told, Told):
            continue
        signal.is_signed = bool(told)
        if told.why and not getattr(signal, "why_not", None):
            signal.why_not = told.why
        if told.bits not in (None, int(signal.size)):
            signal.why_not = f"it is a float of {told.bits} bits, and has {int(signal.size)}"
        if told.assumed and is_version_3 and signal.min is not None and (signal.min - signal.offset) / signal.factor < 0:
            signal.is_signed = True  # its type says so by its lower limit
        elif told.assumed:
            assumed += 1
    if assumed:
        losses.changed("", "", f"{assumed} signal(s) of no encoding are unsigned", "the file does not say it: look them up")
