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
    if isinstance(value, dict):
        return "{" + ", ".join(f"{text(k)}: {text(v)}" for k, v in value.items()) + "}"
    if _PLAIN.match(value) and value.lower() not in _WORDS:
        return value
    return json.dumps(value, ensure_ascii=False)


def comment(value, indent):
    """A comment of the file on a line of its own; control characters are no text."""
    plain = "".join(c if c.isprintable() else " " for c in value)
    return f"{indent}# {plain[:200]}\n" if plain.strip() else ""


def bus_text(bus, head):
    lines = [f"# {line}\n" for line in head]
    for key in ("bitrate_bps", "data_bitrate_bps"):
        if key in bus:
            lines.append(f"{key}: {text(bus[key])}\n")
    lines.append("messages:\n")
    for name, message in bus["messages"].items():
        lines.append(comment(message.get("#", ""), "  ") + f"  {text(name)}:\n")
        for key, value in message.items():
            if key in ("signals", "#"):
                continue
            lines.append(f"    {key}: {f'0x{value:X}' if key == 'id' else text(value)}\n")
        if not message["signals"]:
            continue
        lines.append("    signals:\n")
        for signal, body in message["signals"].items():
            body = dict(body)
            lines.append(comment(body.pop("#", ""), "      "))
            lines.append(f"      {text(signal)}: {text(body)}\n")
    out = "".join(lines)
    if len(out.encode()) > MAX_BYTES:
        raise BadInput(f"{len(out.encode())} bytes of YAML; a bench file has {MAX_BYTES} at most: choose "
                       "messages with --only")
    return out
