# SPDX-License-Identifier: Apache-2.0
"""SYM files: a message that is not understood costs itself, not the file, and is listed."""
import re

import sym6
from odd import sentence


def _sym_groups(lines):
    """[(name, [line numbers from 0])] of the messages of a SYM file: [name] and what follows it, and every
    further [name] of it right behind."""
    groups, inside = [], False
    for number, line in enumerate(lines):
        if re.match(r"\s*\{\w+\}", line):
            inside = re.match(r"\s*\{(SEND|RECEIVE|SENDRECEIVE)\}", line) is not None
            continue
        head = re.match(r"\s*\[(.*?)\]", line)
        if inside and head and not (groups and groups[-1][0] == head.group(1)):
            groups.append((head.group(1), []))
        if inside and groups:
            groups[-1][1].append(number)
    return groups


def _is_whole_sym(text, parse, encoding):
    """Whether all that is written there arrives; why not otherwise."""
    try:
        matrices, said = parse(text.encode(encoding))
    except Exception as error:  # whatever it stumbles over
        return f"it cannot be read: {sentence(error)}"
    errors = [str(e) for db in matrices.values() for e in getattr(db, "load_errors", [])]
    errors += [line for line in said if line.startswith("Error")]
    if errors:
        return f"it cannot be read: {sentence(errors[0])}"
    wanted = sym6.counted(text)
    found = sum(not s.is_multiplexer for db in matrices.values() for f in db.frames for s in f.signals)
    return None if wanted == found else f"{wanted} signals are written in it and {found} could be read"


def parse(text, losses, reader, encoding):
    """(matrices, said, text of what was read). A message that is not understood is left out, and listed."""
    convert = sym6.as_version_5 if sym6.is_version_6(text) else lambda t: t
    if _is_whole_sym(convert(text), reader, encoding) is None:
        return (*reader(convert(text).encode(encoding)), text)
    lines = text.splitlines()
    groups = _sym_groups(lines)
    of_messages = {number for _, numbers in groups for number in numbers}
    left_out = set()
    for name, numbers in groups:
        alone = "\n".join(line if n not in of_messages or n in numbers else "" for n, line in enumerate(lines))
        why = _is_whole_sym(convert(alone + "\n"), reader, encoding)
        if why is not None and len(groups) > 1:
            left_out.update(numbers)
            losses.lost(name, "", "message", f"line {numbers[0] + 1}: {why}")
    text = "\n".join("" if n in left_out else line for n, line in enumerate(lines)) + "\n"
    return (*reader(convert(text).encode(encoding)), text)
