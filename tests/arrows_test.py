#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Who may include whom: one folder of sim/ is one library, and the arrows between them point one way."""
import pathlib
import re
import sys
import tempfile

ALLOWED = {
    "types": "",
    "yaml": "",
    "profile": "yaml",
    "engine": "",
    "sensor": "profile",
    "harness": "profile",
    "bus": "profile",
    "scenario": "profile",
    "walk": "profile",
    "trigger": "engine",
    "plant": "profile scenario engine trigger sensor harness",
    "schedule": "yaml profile sensor harness walk",
    "protocol": "profile bus",
    "standin": "profile bus protocol",
    "check": "profile scenario bus protocol",
    "diagnose": "profile scenario harness plant bus standin",
    "report": "profile check diagnose schedule",
    "io": "bus",
    "run": "profile plant bus protocol scenario standin check",
    "proofread": "profile bus run",
    "record": "profile bus scenario check report io run",
    "study": "profile bus scenario walk standin check diagnose report run record",
    "daemon": "profile bus run",
}
# What only one folder may use.
ONLY = {"yaml-cpp/": {"yaml"}}
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')


def unused_arrows(root):
    """Arrows that are allowed and that no line needs."""
    used = {folder: set() for folder in ALLOWED}
    for path in (root / "sim").rglob("*"):
        if path.suffix in (".h", ".cc"):
            includes = re.findall(r'^\s*#\s*include\s*"(\w+)/', path.read_text(), re.M)
            used[path.relative_to(root / "sim").parts[0]].update(includes)
    return [
        f"{folder} never includes {target}: take the arrow out of the table"
        for folder, targets in ALLOWED.items()
        for target in targets.split()
        if target not in used[folder]
    ]


def violations(root):
    """Lines that include against an arrow, as "file:line: what"."""
    found = []
    for path in sorted((root / "sim").rglob("*")):
        if path.suffix not in (".h", ".cc"):
            continue
        folder = path.relative_to(root / "sim").parts[0]
        if folder not in ALLOWED:
            found.append(f"{path}: folder {folder} is not in the design")
            continue
        allowed = set(ALLOWED[folder].split()) | {folder, "types"}
        for number, line in enumerate(path.read_text().splitlines(), 1):
            match = INCLUDE.match(line)
            if not match:
                continue
            kind, name = match.groups()
            for prefix, folders in ONLY.items():
                if name.startswith(prefix) and folder not in folders:
                    found.append(f"{path}:{number}: only {'/'.join(folders)} may include {prefix}")
            target = name.split("/")[0]
            if kind == '"' and target == "tools":
                found.append(f"{path}:{number}: sim/ never includes tools/")
            if kind == '"' and target in ALLOWED and target not in allowed:
                found.append(f"{path}:{number}: {folder} may not include {target}")
    for path in sorted((root / "tools").glob("*.*")):
        if path.suffix in (".h", ".cc"):
            for number, line in enumerate(path.read_text().splitlines(), 1):
                if re.match(r'\s*#\s*include\s*"daemon/', line) and not path.name.startswith("drycrankd"):
                    found.append(f"{path}:{number}: tools never include daemon")
    return found


def check_that_it_can_fail():
    with tempfile.TemporaryDirectory() as name:
        root = pathlib.Path(name)
        (root / "sim" / "standin").mkdir(parents=True)
        (root / "tools").mkdir()
        (root / "sim" / "standin" / "a.cc").write_text('#include "harness/harness.h"\n#include "bus/frame.h"\n')
        found = violations(root)
        assert len(found) == 1 and "standin may not include harness" in found[0], found
        unused = unused_arrows(root)
        assert "standin never includes protocol: take the arrow out of the table" in unused, unused
        assert not any(line.startswith("standin never includes bus") for line in unused), unused


check_that_it_can_fail()
root = pathlib.Path(sys.argv[1])
wrong = violations(root) or unused_arrows(root)
print("\n".join(wrong) or "arrows: in order")
sys.exit(1 if wrong else 0)
