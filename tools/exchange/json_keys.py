# SPDX-License-Identifier: Apache-2.0
"""What a message of a JSON list must hold so that the reader takes it as it is meant.

By itself the reader takes 0.5 for 0, and "no", as any text, for true.
"""
import decimal
import json

WHOLE = ("start_bit", "bit_length")
NUMBERS = ("factor", "offset", "min", "max")
FLAGS = ("is_big_endian", "is_signed", "is_float", "is_multiplexer")
TEXTS = ("comment", "unit")


def _as_written(value):
    return json.dumps(value, ensure_ascii=False)[:80]


def whole(value):
    """The whole number that is written, 8.0 and "8" too; None where there is none."""
    try:
        number = decimal.Decimal(value) if isinstance(value, str) else value
        return int(number) if not isinstance(value, bool) and number == int(number) else None
    except (TypeError, ValueError, OverflowError, decimal.InvalidOperation):
        return None


def _is_number(value):
    try:
        return not isinstance(value, bool) and decimal.Decimal(value).is_finite()
    except (TypeError, ValueError, decimal.InvalidOperation):
        return False


def is_true(value):
    """None where it says neither."""
    return value if isinstance(value, bool) else {0: False, 1: True}.get(value) if isinstance(value, int) else None


def _why_not_of_kind(holder, keys, is_right, remedy):
    for key in keys:
        if holder.get(key) is not None and not is_right(holder[key]):
            return f"'{key}' is {_as_written(holder[key])}; {remedy}"
    return None


def _choice(signal):
    """"Multiplexor", the selector's value with which it is there, or None."""
    choice = signal.get("multiplex") if signal.get("multiplex") is not None else signal.get("mux_value")
    return "Multiplexor" if choice is None and is_true(signal.get("is_multiplexer")) else choice


def _why_no_layout(signal):
    """Of the keys that say when it is there."""
    choice, both = _choice(signal), (signal.get("multiplex"), signal.get("mux_value"))
    if None not in both and "Multiplexor" not in both and whole(both[0]) != whole(both[1]):
        return f"'multiplex' is {_as_written(both[0])} and 'mux_value' {_as_written(both[1])}; write the one that is right"
    if choice is not None and choice != "Multiplexor" and whole(choice) is None:
        return f"its value of the selector is {_as_written(choice)}; write a whole number"
    group = signal.get("mux_val_grp") or []
    pairs = isinstance(group, list) and all(isinstance(p, list) and len(p) == 2 and None not in map(whole, p) for p in group)
    return None if pairs else f"'mux_val_grp' is {_as_written(group)}; write pairs of whole numbers"


def why_no_signal(signal):
    if not isinstance(signal, dict):
        return f"it is {_as_written(signal)}; write an object"
    for key in ("name", *WHOLE):
        if signal.get(key) is None:
            return f"'{key}' is missing"
    values = signal.get("values")
    if values is not None and not isinstance(values, dict):
        return f"'values' is {_as_written(values)}; write an object of raw value and name"
    return (_why_not_of_kind(signal, ("name", *TEXTS), lambda v: isinstance(v, str), "write a text")
            or _why_not_of_kind(signal, WHOLE, lambda v: whole(v) is not None, "write a whole number")
            or _why_not_of_kind(signal, NUMBERS, _is_number, "write a number")
            or _why_not_of_kind(signal, FLAGS, lambda v: is_true(v) is not None, "write true or false")
            or _why_no_layout(signal))


def why_no_message(message):
    """None when the reader takes it as it is meant."""
    if not isinstance(message, dict):
        return f"it is {_as_written(message)}; write an object"
    for key in ("name", "id", "signals"):
        if message.get(key) is None:
            return f"'{key}' is missing"
    number = message["id"]
    if isinstance(number, bool) or not isinstance(number, int):
        return f"'id' is {_as_written(number)}; write a whole number, decimal"
    why = (_why_not_of_kind(message, ("name", "comment"), lambda v: isinstance(v, str), "write a text")
           or _why_not_of_kind(message, ("length",), lambda v: whole(v) is not None and whole(v) >= 0,
                                 "write a whole number of bytes")
           or _why_not_of_kind(message, ("is_extended_frame", "is_fd"), lambda v: is_true(v) is not None, "write true or false")
           or _why_not_of_kind(message, ("signals",), lambda v: isinstance(v, list), "write a list"))
    if why:
        return why
    bits = 29 if is_true(message.get("is_extended_frame")) else 11
    if not 0 <= number < 1 << bits:
        return f"identifier 0x{number:X} does not fit {bits} bits" if number >= 0 else f"identifier {number} is below 0"
    for count, signal in enumerate(message["signals"], 1):
        why = why_no_signal(signal)
        if why:
            name = f" ('{signal['name']}')" if isinstance(signal, dict) and isinstance(signal.get("name"), str) else ""
            return f"signal {count}{name}: {why}"
    return None


def for_reader(message):
    """Its whole numbers and flags as the reader takes them."""
    out = dict(message)
    if whole(message.get("length")) is not None:
        out["length"] = whole(message["length"])
    for key in ("is_extended_frame", "is_fd"):
        if key in message:
            out[key] = is_true(message[key]) or False
    out["signals"] = [_signal_for_reader(signal) for signal in message["signals"]]
    return out


def _signal_for_reader(signal):
    out = {key: value for key, value in signal.items() if value is not None}
    out.update({key: whole(signal[key]) for key in WHOLE})
    out.update({key: is_true(signal[key]) for key in FLAGS if signal.get(key) is not None})
    choice = _choice(signal)
    if choice is not None:
        out["multiplex"] = choice if choice == "Multiplexor" else whole(choice)
    return out
