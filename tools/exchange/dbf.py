# SPDX-License-Identifier: Apache-2.0
"""Messages of a DBF file, and the lists behind them that speak of these."""
import re

from odd import MARK_OF_29, Whole, is_wide, odd_ones, why_not_whole


SIGNAL = b"[START_SIGNALS]"
BITS = {"F": "32", "D": "64", "B": "1"}  # of types that have one length only


def _why_no_signal(line):
    """Why the reader would take it wrongly: any other letter as signed, any other order as big-endian."""
    words = [word.strip() for word in line.strip()[len(SIGNAL):].decode("utf-8", "replace").split(",")]
    if len(words) < 12:
        return None  # the reader says it
    name, bits, kind, order, choice = words[0], words[1], words[4], words[7], words[11]
    if kind not in ("U", "I", *BITS):
        return f"signal '{name}': type '{kind}' is none of U, I, F, D, B"
    if BITS.get(kind, bits) != bits:
        return f"signal '{name}': a type {kind} has {BITS[kind]} bits, and {bits} are written"
    if order not in ("0", "1"):
        return f"signal '{name}': byte order '{order}' is neither 0 (big-endian) nor 1 (little-endian)"
    if not re.fullmatch(r"M|m\d+|", choice):
        return f"signal '{name}': '{choice}' is neither M nor m and a number"
    return None


class DbfFile(Whole):
    """[START_MSG] to [END_MSG], and in the lists behind, the lines that begin with its identifier."""
    LISTS = ("DESC_MSG", "DESC_SIG", "PARAM_MSG_VAL", "PARAM_SIG_VAL")

    def __init__(self, data):
        self.lines = data.splitlines()
        self.heads, self.of_line, self.refers, self.left_out = [], {}, {}, set()
        inside, in_list, letters = False, False, {}
        for number, raw in enumerate(self.lines):
            line = raw.strip().decode("utf-8", "replace")
            mark = re.match(r"\[(START|END)_(\w+)\]", line)
            if mark and mark[2] == "MSG":
                inside = mark[1] == "START"
                if inside:
                    self.heads.append(number)
                self.of_line[number] = len(self.heads) - 1
            elif mark and mark[2] in self.LISTS:
                in_list = mark[1] == "START"
            elif inside:
                self.of_line[number] = len(self.heads) - 1
            elif in_list and line:
                self.refers[number], letters[number] = (re.split(r"[ ,]", line, maxsplit=2) + [""])[:2]
        if not any(re.match(rb"\s*\[PROTOCOL\].*J1939", line) for line in self.lines):  # these have no identifiers
            self._mark(letters)

    def _mark(self, letters):
        """Identifiers of 29 bits as the reader knows them, in the heads and wherever they are named. The letter (X: 29
        bits) decides where it must: some programs write S everywhere."""
        wide, narrow = {}, {self.fields(item)[1] for item in range(self.count()) if self.fields(item)[5:6] != ["X"]}
        for item, number in enumerate(self.heads):
            fields = self.fields(item)
            if fields[5:6] == ["X"] and fields[1].isdigit() and is_wide(int(fields[1])):
                wide[fields[1]] = str(int(fields[1]) | MARK_OF_29)
                self._put(number, fields[1], wide[fields[1]])
        for number, named in self.refers.items():
            if named in wide and (letters[number] == "X" or named not in narrow):
                self._put(number, named, wide[named])
                self.refers[number] = wide[named]

    def _put(self, number, was, now):
        alone = rb"(?<!\w)" + was.encode() + rb"(?!\w)"
        self.lines[number] = re.sub(alone, now.encode(), self.lines[number], count=1)

    def count(self):
        return len(self.heads)

    def fields(self, item):
        words = self.lines[self.heads[item]].decode("utf-8", "replace").strip()[len("[START_MSG]"):].split(",")
        return [word.strip() for word in words] + ["", ""]

    def mend(self, losses, parse):
        there = {self.fields(item)[1] for item in range(self.count())}
        odd = {n: f"it speaks of message {named}, which is not there" for n, named in self.refers.items()
               if named not in there}
        beside = [n for n, line in enumerate(self.lines) if n not in self.of_line and n not in self.refers
                  and line.strip() and not line.strip().startswith(b"[")]

        def why_not(chosen):
            self.left_out = set(beside) - set(chosen)
            return why_not_whole(parse, self.data([]))

        odd.update(odd_ones(beside, why_not))
        self.left_out = set(odd)
        for number, why in sorted(odd.items()):
            losses.lost("", "", f"line {number + 1}", why)

    def data(self, chosen):
        chosen = set(chosen)
        there = {self.fields(item)[1] for item in chosen}
        keep = lambda n: n not in self.left_out and self.lines[n].strip() and (
            self.of_line[n] in chosen if n in self.of_line else n not in self.refers or self.refers[n] in there)
        return b"\n".join(self._for_reader(line) for n, line in enumerate(self.lines) if keep(n)) + b"\n"

    @staticmethod
    def _for_reader(line):
        """It takes the one bit of a B as signed."""
        return re.sub(rb"^(\s*\[START_SIGNALS\](?:[^,]*,){4}\s*)B", rb"\1U", line)

    def complete(self, matrices, chosen, losses):
        kept = set(chosen)
        for number, line in enumerate(self.lines, 1):
            if self.of_line.get(number - 1) not in kept:
                continue
            if line.strip().startswith(b"[VALUE_DESCRIPTION]") and not re.search(rb'"(.+)" *, *[+-]?\d+\s*$', line):
                losses.lost("", "", f"line {number} (VALUE_DESCRIPTION)", 'it is not understood: "name",number')

    def odd_by_itself(self):
        """The reader cuts an identifier to what fits, and takes letters for others."""
        numbers = {item: self.fields(item)[1] for item in range(self.count())}
        odd = {item: f"identifier {number} does not fit 29 bits" for item, number in numbers.items()
               if number.isdigit() and int(number) >= 1 << 32}
        for number, item in self.of_line.items():
            why = _why_no_signal(self.lines[number]) if self.lines[number].strip().startswith(SIGNAL) else None
            if why:
                odd.setdefault(item, f"line {number + 1}: {why}")
        return odd

    def wanted(self, chosen):
        chosen = set(chosen)
        return sum(1 for n, item in self.of_line.items()
                   if item in chosen and self.lines[n].strip().startswith(SIGNAL))

    def name(self, item):
        return self.fields(item)[0]

    def place(self, item):
        return f"line {self.heads[item] + 1}"
