#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The trigger core on a Cortex-M3 (qemu-system-arm) gives the edges that it gives on the PC, to the tick.

    two_machines_test.py ROOT CORE_EDGES [EDGES]        1,000,000 edges if not said otherwise
"""
import pathlib
import shutil
import subprocess
import sys
import tempfile

SEED = 16


def on_the_microcontroller(root, folder, seed, edges):
    out = folder / f"edges-{seed}.elf"
    built = subprocess.run(
        [root / "tools/core/build", out, "cortex-m3", root / "tools/core/mps2.ld",
         *(root / "tests/core" / name for name in ("edge_script.cc", "edge_hash.cc", "mps2_edges.cc")),
         root / "tools/core/mps2_start.cc", f"-DEDGES_SEED={seed}", f"-DEDGES_COUNT={edges}"],
        capture_output=True, text=True)
    if built.returncode != 0:
        sys.exit(built.stdout + built.stderr)
    ran = subprocess.run(
        ["qemu-system-arm", "-M", "mps2-an385", "-display", "none", "-monitor", "none", "-serial",
         "stdio", "-semihosting", "-kernel", out],
        stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=1500)
    if ran.returncode != 0:
        sys.exit(f"qemu-system-arm ended with {ran.returncode}: {ran.stderr}")
    return ran.stdout.replace("\r", "")


def sizes(root, folder):
    """Of the whole node, as it goes on a board."""
    built = subprocess.run(
        [root / "tools/core/build", folder / "node.elf", "cortex-m3", root / "tools/core/mps2.ld",
         root / "tools/core/mps2_start.cc", root / "tools/core/mps2_node.cc"],
        capture_output=True, text=True)
    if built.returncode != 0:
        sys.exit(built.stdout + built.stderr)
    text, data, bss = (int(word) for word in built.stdout.splitlines()[-1].split()[:3])
    return text + data, data + bss


def main():
    root, program = pathlib.Path(sys.argv[1]).resolve(), sys.argv[2]
    edges = int(sys.argv[3]) if len(sys.argv) > 3 else 1_000_000
    if not shutil.which("qemu-system-arm"):
        sys.exit("qemu-system-arm is not here; tools/setup test installs it")
    here = subprocess.run([program, str(SEED), str(edges)], capture_output=True, text=True,
                          check=True).stdout
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        there = on_the_microcontroller(root, folder, SEED, edges)
        assert len(here.splitlines()) == edges // 50_000, "the PC printed too few lines"
        for pc, other in zip(here.splitlines(), there.splitlines()):
            assert pc == other, f"they part:\nPC              {pc}\nmicrocontroller {other}"
        assert here == there, "one of them printed more"
        # It can fail: another seed.
        assert here != on_the_microcontroller(root, folder, SEED + 1, 50_000)[: len(here)]
        flash, ram = sizes(root, folder)
    print(f"{edges} edges, the same on both to the tick; flash {flash} bytes, RAM {ram} bytes")


main()
