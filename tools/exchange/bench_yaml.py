# SPDX-License-Identifier: Apache-2.0
"""Messages of a bench as YAML text, laid out like profiles/parts/buses/."""
import json
import re

from losses import BadInput

MAX_BYTES = 1 << 20  # of a profile file, sim/profile/limits.h
_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_]*( [A-Za-z0-9_]+)*$")
_WORDS = {"null", "true", "false", "yes", "no", "on", "off", "y", "n"}


def text(value):
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, list):
        return "[" + ", ".join(text(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{text(k)}: {text(v)}" for k, v in value.items()) + "}"
    if _PLAIN.match(value) and value.lower() not in _WORDS:
        return value
    return json.dumps(value, ensure_ascii=False)


def comment(value, indent):
    """A comment of the file on a line of its own; control characters are no text."""
    plain = "".join(c if c.isprintable() else " " for c in value)
    return f"{indent}# {plain[:200]}\n" if plain.strip() else ""


def _bus_lines(bus, indent):
    lines = []
    for key in ("bitrate_bps", "data_bitrate_bps"):
        if key in bus:
            lines.append(f"{indent}{key}: {text(bus[key])}\n")
    lines.append(f"{indent}messages:\n")
    for name, message in bus["messages"].items():
        lines.append(comment(message.get("#", ""), f"{indent}  ") + f"{indent}  {text(name)}:\n")
        for key, value in message.items():
            if key in ("signals", "#"):
                continue
            lines.append(f"{indent}    {key}: {f'0x{value:X}' if key == 'id' else text(value)}\n")
        if not message["signals"]:
            continue
        lines.append(f"{indent}    signals:\n")
        for signal, body in message["signals"].items():
            body = dict(body)
            lines.append(comment(body.pop("#", ""), f"{indent}      "))
            lines.append(f"{indent}      {text(signal)}: {text(body)}\n")
    return lines


def _checked(lines):
    out = "".join(lines)
    if len(out.encode()) > MAX_BYTES:
        raise BadInput(f"{len(out.encode())} bytes of YAML; a bench file has {MAX_BYTES} at most: choose "
                       "messages with --only")
    return out


def bus_text(bus, head):
    return _checked([f"# {line}\n" for line in head] + _bus_lines(bus, ""))


def bench_text(name, bus_name, bus, stimuli, head):
    """A whole bench: its stimuli are what the messages of the simulator carry (drive.py)."""
    lines = [f"# {line}\n" for line in head]
    lines += ["kind: bench\n", "format: 1\n", f"name: {text(name)}\n",
              "engine: {strokes: 4, firing_order: [1]}   # no message list knows the engine: write yours\n"]
    if stimuli:
        lines.append("stimuli:\n")
    for stimulus, body in stimuli.items():
        body = dict(body)
        lines.append(comment(body.pop("#", ""), "  ") + f"  {text(stimulus)}: {text(body)}\n")
    return _checked(lines + ["buses:\n", f"  {text(bus_name)}:\n"] + _bus_lines(bus, "    "))
