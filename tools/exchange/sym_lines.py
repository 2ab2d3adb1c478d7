# SPDX-License-Identifier: Apache-2.0
"""Lines of a SYM message: what the reader takes wrongly, passes over, or needs in other words.

The keys, types and options of the format are from memory, no source.
"""
import re

TYPES = {"Standard": (False, False), "Extended": (True, False), "FDStandard": (False, True), "FDExtended": (True, True)}
LENGTHS = {"bit": (1,), "char": (8,), "float": (32, 64), "double": (64,)}
TYPES_OF_VALUE = (*LENGTHS, "unsigned", "signed", "raw", "string")
KEYS = ("ID", "Type", "DLC", "Len", "CycleTime", "Var", "Sig", "Mux")
OPTIONS = r"-[mh]|/(u|f|d|p|o|e|max|min|ln):.*"
NAME = r'("[^"]*"|[^\s"]+)'
VAR = re.compile(rf"Var={NAME} (\S+) (\d+),(\d+)((?: .*)?)$")
MUX = re.compile(rf"Mux={NAME} (\d+),(\d+) ([0-9A-Fa-f]+h|\d+)((?: .*)?)$")
WORD = re.compile(r'(?:"[^"]*"|[^\s"])+')
QUOTED = re.compile(r'"[^"\n]*"|//[^\n]*|[ \t]+')


def bare(text):
    return text.strip().strip('"').strip()


def without_comment(line):
    return re.sub(r'"[^"\n]*"|//.*', lambda m: m[0] if m[0][0] == '"' else "", line).strip()


def for_reader(text):
    """The reader cuts a line at // in quotes, too, and takes two blanks for a word."""
    def plain(found):
        word = found[0]
        if word.startswith("//"):
            return word
        return re.sub(r"\s+", " ", word).replace("//", "/ /") if word[0] == '"' else " "

    lines = []
    for line in text.split("\n"):
        line = QUOTED.sub(plain, line).strip()
        line = re.sub(r"^(\w+) ?= ?", r"\1=", line)
        if re.match(r"(DLC|Len|CycleTime|Type)=", line):
            line = re.sub(r"^Type=FD", "Type=", without_comment(line))
        lines.append(line)
    return "\n".join(lines)


def is_big(options):
    return "-m" in WORD.findall(options)


def _key(line):
    found = re.match(r"(\w+) ?= ?(.*)", line)
    return (found[1], found[2]) if found else ("", "")


def _why_no_value(line, enums):
    """Of a line that says where a signal lies."""
    if not line.startswith("Var="):
        return None if MUX.match(line) else "write Mux=NAME START,LENGTH VALUE"
    found = VAR.match(line)
    if not found:
        return "write Var=NAME TYPE START,LENGTH"
    kind, bits = found[2], int(found[4])
    if kind not in TYPES_OF_VALUE and kind not in enums:
        return f"type '{kind}' is none of {', '.join(TYPES_OF_VALUE)}, and no enum"
    if bits not in LENGTHS.get(kind, (bits,)):
        return f"a {kind} has {' or '.join(map(str, LENGTHS[kind]))} bits, and {bits} are written"
    return None


def _why_no_head(keys):
    if "ID" not in keys:
        return "it has no ID: write ID=HEXADECIMALh"
    if not re.fullmatch("[0-9A-Fa-f]{1,8}h", keys["ID"]):
        return f"its ID '{keys['ID']}' is no hexadecimal number that ends in h"
    if keys.get("Type", "Standard") not in TYPES:
        return f"type '{keys['Type']}' is none of {', '.join(TYPES)}"
    for key in ("DLC", "CycleTime"):
        if not re.fullmatch(r"\d{1,9}", keys.get(key, "0")):
            return f"its {key} '{keys[key]}' is no whole number"
    if "DLC" not in keys:
        return "it does not say its length: write DLC=BYTES"
    return None


def why_not(lines, enums, is_order_said=True):
    """Why the reader would not take it as it is, of [(number, line)] for the reader."""
    keys, selectors = {}, {}
    for number, line in lines:
        line = without_comment(line)
        key, value = _key(line)
        if key in ("Var", "Mux"):
            why = _why_no_value(line, enums)
            if why:
                return f"line {number} is not understood: {line[:80]}; {why}"
            if key == "Mux":
                found = MUX.match(line)
                selectors[found[2], found[3], is_order_said and is_big(found[5])] = number
        elif key:
            keys[key] = value
    if len(selectors) > 1:
        lines = ", ".join(map(str, selectors.values()))
        return f"its selector lies in {len(selectors)} places (lines {lines}): one can be read; make it several messages"
    return _why_no_head(keys)


def says(lines):
    """{key: its last value} of the keys that are there once."""
    found = (_key(without_comment(line)) for _, line in lines)
    return {key: value for key, value in found if key and key not in ("Var", "Mux", "Sig")}


def say_what_is_not_read(name, lines, enums, losses):
    for number, line in lines:
        line = without_comment(line)
        key, value = _key(line)
        if line and not line.startswith("[") and key not in KEYS:
            losses.lost(name, "", f"line {number} ({(key or line)[:40]})", "it is not read")
        found = VAR.match(line) or MUX.match(line)
        for word in WORD.findall(found[5]) if found else []:
            if not re.fullmatch(OPTIONS, word, re.S):
                losses.lost(name, bare(found[1]), f"option '{word}' of line {number}", "it is not read")
            elif word.startswith("/e:") and bare(word[3:]) not in enums:
                losses.lost(name, bare(found[1]), f"names of its values, line {number}", f"there is no enum '{bare(word[3:])}'")


def without_enums(text, enums):
    """The reader stumbles over a list of names that nobody wrote, and cuts names at a sign of equality."""
    def plain(found):
        if found[2] or found[3]:
            return "" if found[2] else f"{found[3]}unsigned"
        return found[0]

    kinds = "|".join(map(re.escape, enums)) or "(?!)"
    return re.sub(rf'("[^"\n]*"|//[^\n]*)|( /e:(?:"[^"\n]*"|\S+))|^(Var={NAME} )(?:{kinds})(?= )', plain, text, flags=re.M)


def selector_of(lines):
    """(start bit, whether it is big-endian) of the first Mux; None without one."""
    found = next((m for m in (MUX.match(without_comment(line)) for _, line in lines) if m), None)
    return (int(found[2]), is_big(found[5])) if found else None


def enums_of(lines, enums):
    """{signal: name of the list of its values}"""
    out = {}
    for _, line in lines:
        found = VAR.match(without_comment(line))
        for word in WORD.findall(found[5]) if found else []:
            if word.startswith("/e:") and bare(word[3:]) in enums:
                out[bare(found[1])] = bare(word[3:])
        if found and found[2] in enums:
            out[bare(found[1])] = found[2]
    return out
