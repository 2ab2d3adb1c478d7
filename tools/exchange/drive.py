# SPDX-License-Identifier: Apache-2.0
"""Stimuli from imported messages: one for each signal that the simulator sends, with the signal's unit and
limits, so that a scenario can drive it.

  limits    those of the file; where it has none, all that the bits can say; of a float, a million either way
  initial   0 where that is within, else the lower limit; with named values the lowest of them
"""
from to_bench import number, raw_range

LARGEST = 1e12        # of a number of a bench
FLOAT_LIMIT = 1e6     # ours, no source
ENGINE_SPEED = "engine_speed"
ROTATION = ("rpm", "rad/s", "deg/s")


def _limits(body):
    if "min" in body:
        return float(body["min"]), float(body["max"])
    if body.get("is_float"):
        return -FLOAT_LIMIT, FLOAT_LIMIT
    scale, offset = float(body.get("scale", 1)), float(body.get("offset", 0))
    ends = sorted(raw * scale + offset for raw in raw_range(body))
    return max(ends[0], -LARGEST), min(ends[1], LARGEST)


def _initial(body, low, high):
    named = [raw * float(body.get("scale", 1)) + float(body.get("offset", 0)) for raw in body.get("values", {})]
    within = [value for value in sorted(named) if low <= value <= high]
    if within:
        return within[0]
    return 0.0 if low <= 0 <= high else low


def _stimulus(message, signal, body):
    low, high = _limits(body)
    if not low < high:
        return None
    out = {"label": f"{message}, {signal}", "unit": body.get("unit") or "count"}
    out.update(min=number(low), max=number(high), initial=number(_initial(body, low, high)))
    if "values" in body:
        out["#"] = ", ".join(f"{raw}: {name}" for raw, name in sorted(body["values"].items()))
    return out


def _name(message, signal, taken):
    name = signal if signal not in taken else f"{message}_{signal}"[:64]
    count = 2
    while name in taken:
        name, count = f"{message[:28]}_{signal[:28]}_{count}", count + 1
    return name


def drive(bus, losses):
    """{stimulus: keys} of what the simulator sends; each signal is told what it carries."""
    stimuli, taken = {}, {ENGINE_SPEED}
    for message, m in bus["messages"].items():
        if m["sender"] != "simulator":
            continue
        if not m["signals"]:
            losses.lost(message, "", "stimuli", "none of its signals was read: it is sent as zeros")
        guarded = {m.get("counter"), (m.get("checksum") or {}).get("signal")}
        for signal, body in m["signals"].items():
            if "instead_of" in body or signal in guarded:
                continue
            if signal == ENGINE_SPEED and body.get("unit") in ROTATION:
                body["carries"] = ENGINE_SPEED
                continue
            stimulus = _stimulus(message, signal, body)
            if stimulus is None:
                losses.lost(message, signal, "stimulus", "it has one value only")
                continue
            name = _name(message, signal, taken)
            taken.add(name)
            stimuli[name] = stimulus
            body["carries"] = name
    return stimuli
