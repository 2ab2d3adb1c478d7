#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Who may include whom: one folder of sim/ is one library, and the arrows between them point one way.

    arrows_test.py ROOT            checks; DEVELOPERS.md has the drawing of this table
    arrows_test.py ROOT --draw     writes it there
"""
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
    "core": "",
    "output": "profile core",
    "plant": "profile scenario engine trigger sensor harness",
    "schedule": "yaml profile sensor harness walk",
    "protocol": "profile bus",
    "standin": "profile bus protocol",
    "sweep": "profile bus standin",
    "picture": "yaml profile sweep",
    "capture": "yaml profile check",
    "check": "profile engine trigger scenario bus protocol",
    "diagnose": "profile scenario harness plant bus standin check",
    "report": "profile check diagnose schedule",
    "io": "bus output protocol",
    "run": "profile harness plant bus protocol scenario output standin check capture",
    "proofread": "profile bus run trigger sensor harness plant walk standin check capture",
    "record": "profile bus scenario check report io run output",
    "study": "profile bus scenario io walk plant standin check diagnose report run record capture",
    "daemon": "profile bus standin run",
}
# What only one folder may use.
ONLY = {"yaml-cpp/": {"yaml"}, "cairo": {"picture"}, "tesseract/": {"picture"}, "leptonica/": {"picture"}}
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


def beneath(folder, allowed):
    """All that a folder stands on, directly or not."""
    below = set(allowed[folder].split())
    return below.union(*(beneath(target, allowed) for target in below))


def drawing(allowed):
    """The folders floor by floor, each on what it includes; what those include already is not drawn."""
    floor = {}
    while len(floor) < len(allowed):
        standing = [f for f in allowed if f not in floor and all(t in floor for t in allowed[f].split())]
        assert standing, f"a circle among {sorted(set(allowed) - set(floor))}"
        floor.update({f: 1 + max((floor[t] for t in allowed[f].split()), default=0) for f in standing})
    floor["types"] = 0
    lines = []
    for number in sorted(set(floor.values()), reverse=True):
        rooms = []
        for folder in sorted(f for f in allowed if floor[f] == number):
            targets = allowed[folder].split()
            drawn = [t for t in targets if not any(t in beneath(other, allowed) for other in targets)]
            rooms.append(f"{folder} → {' '.join(drawn)}" if drawn else folder)
        lines.append(f"{number:2}  " + "   |   ".join(rooms))
    return "\n".join(lines)


def doubled_names(root):
    """Headers of one name in two folders: whoever says the name leaves open which is meant."""
    folders = {}
    for header in sorted(root.glob("sim/*/*.h")):
        folders.setdefault(header.name, []).append(header.parent.name)
    return [f"{name} stands in {' and '.join(where)}: name one of them by what sets it apart"
            for name, where in folders.items() if len(where) > 1]


DRAWN = re.compile(r"(<!-- drawn by tests/arrows_test.py --draw -->\n```\n)(.*?)(\n```)", re.S)


# A stand-in by itself knows what it hears and what it was told: nothing of these reaches it, by whatever way.
# Its harness alone has the wires between it and the outputs' plugs; they know no engine either.
IGNORANT = ("sim/run/heard_controller.cc", "tools/standin_command.cc", "tools/standin_ears.cc", "tools/standin_plugs.cc",
            "tools/sample_source.cc")
WIRES = ("sim/run/heard_wires.cc",)
TRUTH = {"engine", "trigger", "sensor", "harness", "plant"}


def truths_known(root, starts=IGNORANT, truth=frozenset(TRUTH)):
    """Headers of the truth that one of them includes, over others too, with who does."""
    found = []
    for start in starts:
        seen, ahead = set(), [start]
        while ahead:
            at = ahead.pop()
            for name in re.findall(r'^\s*#\s*include\s*"([^"]+)"', (root / at).read_text(), re.M):
                path = f"sim/{name}" if (root / "sim" / name).exists() else name
                if name.split("/")[0] in truth:
                    found.append(f"{start} comes to know {name}, by {at}")
                elif path not in seen and (root / path).exists():
                    seen.add(path)
                    ahead.append(path)
    return found


def old_drawing(root):
    """What DEVELOPERS.md has in its place, when that is not the table's."""
    drawn = DRAWN.search((root / "DEVELOPERS.md").read_text())
    if drawn and drawn[2] == drawing(ALLOWED):
        return []
    return ["DEVELOPERS.md has another drawing of the folders: tests/arrows_test.py . --draw"]


def draw(root):
    page = root / "DEVELOPERS.md"
    page.write_text(DRAWN.sub(lambda found: found[1] + drawing(ALLOWED) + found[3], page.read_text()))


def check_that_it_can_fail():
    assert drawing({"types": "", "a": "", "b": "a", "c": "a b"}) == " 3  c → b\n 2  b → a\n 1  a\n 0  types"
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
        for folder in ("bus", "check"):
            (root / "sim" / folder).mkdir()
            (root / "sim" / folder / "text.h").write_text('#include "plant/plant.h"\n')
        assert doubled_names(root)[0].startswith("text.h stands in bus and check"), doubled_names(root)
        (root / "tools" / "b.cc").write_text('#include "bus/text.h"\n')
        known = truths_known(root, ["tools/b.cc"])
        assert known == ["tools/b.cc comes to know plant/plant.h, by sim/bus/text.h"], known


check_that_it_can_fail()
root = pathlib.Path(sys.argv[1])
if sys.argv[2:] == ["--draw"]:
    draw(root)
wrong = violations(root) or unused_arrows(root) or doubled_names(root) or truths_known(root) or truths_known(root, WIRES, TRUTH - {"harness"}) or old_drawing(root)
print("\n".join(wrong) or "arrows: in order")
sys.exit(1 if wrong else 0)
