# SPDX-License-Identifier: Apache-2.0
"""What is written twice in a JSON or SYM file, where the reader takes the last without a word."""
import bisect
import json
import re

from losses import BadInput

JSON_TOKEN = re.compile(r'("(?:\\.|[^"\\])*")(\s*:)?|[{}\[\]]')


def _number_or_text(text):
    try:
        return int(text, 0) if text[:1].isdigit() else text
    except ValueError:
        return text


def _line(text, place):
    return text.count("\n", 0, place) + 1


def refuse_json_keys(path, text):
    """A key is there once in its object; of names of values also "2" and "0x2" are one key."""
    open_ones = []  # of each object that is open {key: where}; None for a list
    for token in JSON_TOKEN.finditer(text):
        if token[0] in "{[":
            open_ones.append({} if token[0] == "{" else None)
        elif token[0] in "}]":
            del open_ones[-1:]
        elif token[2] and open_ones and open_ones[-1] is not None:
            _refuse_second(path, text, token, open_ones[-1])


def _refuse_second(path, text, token, seen):
    try:
        key = json.loads(token[1], strict=False) if "\\" in token[1] else token[1][1:-1]
    except ValueError:  # the reader says what is wrong
        return
    first = seen.setdefault(_number_or_text(key), token.start())
    if first != token.start():
        line, column = _line(text, token.start()), token.start() - text.rfind("\n", 0, token.start())
        raise BadInput(f"{path}:{line}:{column}: key '{key}' is there already in this object, in line {_line(text, first)}; "
                       "keep the one that is right")


SYM_LISTS = ("SEND", "RECEIVE", "SENDRECEIVE")
SYM_WORD = re.compile(r'(?:"[^"]*"|[^\s"])+')
SYM_ENUM = re.compile(r'^[ \t]*enum\s*("[^"]*"|\w+)\s*\(((?:"[^"]*"|[^")])*)\)', re.M)
SYM_NAMED = re.compile(r'([^\s,="]+)\s*=\s*("[^"]*"|[^,"]*)')


def without_comments(text):
    """As long as it was, so that places stay."""
    blank = lambda m: m[0] if m[0].startswith('"') else " " * len(m[0])
    return re.sub(r'"[^"\n]*"|//[^\n]*', blank, text)


def _bare(text):
    return text.strip().strip('"').strip()


class _Said:
    """{key: [(line, word)]}; what has several words is listed, the last of them as kept."""

    def __init__(self, losses, message="", signal=""):
        self.losses, self.message, self.signal, self.words = losses, message, signal, {}

    def add(self, key, line, word):
        self.words.setdefault(key, []).append((line, word))

    def say(self, what, why):
        for key, both in self.words.items():
            if len({word for _, word in both}) > 1:
                said = " and ".join(f"'{word}' (line {line})" for line, word in both)
                self.losses.changed(self.message, self.signal, f"{what.format(key)} {said}", f"'{both[-1][1]}' is kept: {why}")


def _say_enums(text, losses):
    tables = _Said(losses)
    ends = [end.end() for end in re.finditer("\n", text)]
    line_of = lambda place: bisect.bisect_right(ends, place) + 1
    for enum in SYM_ENUM.finditer(text):
        name, names = _bare(enum[1]), _Said(losses)
        for entry in SYM_NAMED.finditer(enum[2]):
            line = line_of(enum.start(2) + entry.start(1))
            raw = entry[1]
            names.add(int(raw) if re.fullmatch(r"[+-]?\d+", raw) else raw, line, _bare(entry[2]))
        names.say(f"enum {name}: raw value {{}} is named", "a value has one name")
        tables.add(name, line_of(enum.start(1)), " ".join(enum[2].split()))
    tables.say("enum {} is", "a list of names is there once")


def _say_options(line, number, message, losses):
    words = SYM_WORD.findall(line.partition("=")[2])
    options = _Said(losses, message, _bare(words[0]) if words else "")
    for word in words[1:]:
        if word.startswith("/") and ":" in word:
            key, _, value = word.partition(":")
            options.add(key, number, _bare(value))
    options.say("{} is", "an option is there once")


def say_sym(text, losses):
    """Names of a value, options of a line, keys of a message, descriptions of a signal."""
    text = without_comments(text)
    _say_enums(text, losses)
    section, message, keys, described = "", "", _Said(losses), _Said(losses)
    for number, line in enumerate(text.splitlines(), 1):
        section_head, head = re.match(r"\s*\{(\w+)\}", line), re.match(r"\s*\[(.*?)\]", line)
        found = re.match(r"\s*(\w+)\s*=\s*(.*?)\s*$", line)
        if section_head or head:
            section = section_head[1] if section_head else section
            name = _bare(head[1]) if head else ""
            if name != message:
                keys.say("{} is", "a message has it once")
                message, keys = name, _Said(losses, name)
        elif found and found[1] in ("Var", "Sig", "Mux") and section in (*SYM_LISTS, "SIGNALS"):
            _say_options(line, number, message, losses)
            if section == "SIGNALS":
                name, _, rest = found[2].partition(" ")
                described.add(_bare(name), number, " ".join(rest.split()))
        elif found and section in SYM_LISTS:
            keys.add(found[1], number, _bare(found[2]))
    keys.say("{} is", "a message has it once")
    described.say("signal {} is", "a signal is described once")
