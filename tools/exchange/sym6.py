# SPDX-License-Identifier: Apache-2.0
"""Version 6 of SYM in the words of version 5, which is what canmatrix reads.

Version 6 describes signals once, in {SIGNALS}, and says in each message where they lie:

  Sig=Coolant unsigned 8 /u:C /o:-40        [Engine]              Var=Coolant unsigned 0,8 /u:C /o:-40
                                            Len=8           ->    DLC=8
                                            Sig=Coolant 0

The keywords are from memory; no source. What is not understood stays as it is, and is counted later.
"""
import re

# Bits of types that say their length themselves.
_LENGTHS = {"bit": 1, "float": 32, "double": 64}
_SECTION = re.compile(r"^\s*\{(\w+)\}")
_KEY = re.compile(r"^(\s*)Sig\s*=\s*(\"[^\"]*\"|\S+)\s*(.*)$")


def _name(text):
    return text.strip('"')


def _described(rest):
    """("unsigned", 8, "/u:C") of what follows a signal's name in {SIGNALS}; None: not understood."""
    words = rest.split(None, 2)
    if not words:
        return None
    if words[0] in _LENGTHS and not (len(words) > 1 and words[1].isdigit()):
        return words[0], _LENGTHS[words[0]], rest[len(words[0]):].strip()
    if len(words) < 2 or not words[1].isdigit():
        return None
    return words[0], int(words[1]), words[2] if len(words) > 2 else ""


def is_version_6(text):
    return re.search(r"^\s*\{SIGNALS\}", text, re.M) is not None


def as_version_5(text):
    signals, out, section = {}, [], ""
    for line in text.splitlines():
        head = _SECTION.match(line)
        if head:
            section = head.group(1)
        found = _KEY.match(line)
        if section == "SIGNALS":
            if found:
                signals[_name(found.group(2))] = _described(found.group(3))
            if not head:
                line = ""  # the line keeps its number
        elif found and signals.get(_name(found.group(2))):
            kind, bits, options = signals[_name(found.group(2))]
            at = found.group(3).split(None, 1)
            if at and at[0].isdigit():
                line = f"Var={found.group(2)} {kind} {at[0]},{bits} {options}".rstrip()
        out.append(re.sub(r"^(\s*)Len\s*=", r"\1DLC=", line))
    return "\n".join(out) + "\n"


def counted(text):
    """Signals that the messages of a file of either version hold, selectors apart."""
    count, in_messages = 0, False
    for line in text.splitlines():
        head = _SECTION.match(line)
        if head:
            in_messages = head.group(1) in ("SEND", "RECEIVE", "SENDRECEIVE")
        elif in_messages and re.match(r"\s*(Var|Sig)\s*=", line):
            count += 1
    return count
