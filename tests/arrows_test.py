#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Who may include whom: one folder of sim/ is one library, and the arrows between them point one way."""
import pathlib
import re
import sys
import tempfile

ALLOWED = {
    "types": "",
    "profile": "",
    "engine": "profile",
    "sensor": "profile",
    "harness": "profile",
    "bus": "profile",
    "output": "profile",
    "scenario": "profile",
    "schedule": "profile sensor harness scenario",
    "trigger": "profile engine",
    "protocol": "profile bus",
    "standin": "profile bus protocol",
    "check": "profile scenario bus protocol",
    "diagnose": "profile engine trigger sensor harness bus standin check",
    "report": "profile check diagnose schedule",
    "io": "bus protocol output report",
    "run": "profile engine trigger sensor harness bus protocol output scenario standin check diagnose report schedule",
    "daemon": "profile engine trigger sensor harness bus protocol output scenario standin check diagnose report io run panel",
    "panel": "",
}
# What only one folder may use.
ONLY = {"yaml-cpp/": {"profile"}}
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')


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


check_that_it_can_fail()
wrong = violations(pathlib.Path(sys.argv[1]))
print("\n".join(wrong) or "arrows: in order")
sys.exit(1 if wrong else 0)
