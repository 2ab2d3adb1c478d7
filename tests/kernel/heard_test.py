#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""heard_test.py DRYCRANK: crank and cam leave one process by ALSA's loopback card of a guest kernel, another one,
`drycrank standin --hear`, hears them and answers on vcan0.

What is wrong is put between the card and that other process, as the way its inputs hear the card's channels;
the run knows nothing of it. The wires that its record then speaks against are those of the same fault inside a run
with stand-ins, which never was near a card.
"""
import base64
import io
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tarfile
import tempfile

HERE = pathlib.Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "e2e"))
import sound_bench  # noqa: E402

CRANK, CAM = "--at ECU.3=1:5", "--at ECU.7=2:-3.33:2.5"
# Name: how the other process hears; the same inside a run.
CASES = {
    "healthy": (f"{CRANK} {CAM}", None),
    "crank_inverted": (f"--at ECU.3=1:-5 {CAM}", "{name: f, kind: terminals_swapped, at: CKP.1, with: CKP.2}"),
    "crank_silent": (CAM, "{name: f, kind: open, at: crank_plus}"),
    "cam_silent": (CRANK, "{name: f, kind: open, at: cam_signal}"),
    "cam_to_ground": (f"{CRANK} --level ECU.7=0", "{name: f, kind: short_to_ground, at: cam_signal}"),
    "crank_weak": (f"--at ECU.3=1:0.25 {CAM}", "{name: f, kind: pickup_strength, at: crank, factor: 0.02}"),
    "both_silent": ("--at ECU.3=1:0.001", "{name: f, kind: not_fitted, at: crank}"),
}
DRIVEN = {"crank_plus", "crank_minus", "cam_signal"}  # along which the card's wave goes
DRYCRANK = os.path.abspath(sys.argv[1])


def in_guest(folder):
    shutil.copytree("/usr/share/alsa", folder / "alsa")
    (folder / "cases").write_text("".join(f"{name} {at}\n" for name, (at, _) in CASES.items()))
    out = subprocess.run(["bash", HERE / "boot_guest.sh", HERE / "heard_guest.sh", "snd-aloop vcan can-raw", DRYCRANK, "ip"],
                         env={**os.environ, "GUEST_FILES": str(folder), "GUEST_LIMIT_S": "800"}, capture_output=True, text=True)
    said, _, rest = out.stdout.partition("RECORDS BEGIN\n")
    print(said)
    assert out.returncode == 0, out.stdout[-3000:] + out.stderr
    assert said.count(" 0.000 s of silence") == len(CASES), "a card ran dry"
    packed = base64.b64decode(rest.partition("RECORDS END")[0])
    with tarfile.open(fileobj=io.BytesIO(packed)) as archive:
        archive.extractall(folder / "heard")
    return said


def diagnosed(folder, record, scenario):
    """What the record speaks against: of its judgement the failed circuits, of its diagnosis the first group."""
    judged = folder / "judged.json"
    subprocess.run([DRYCRANK, "judge", scenario, "--record", record, "--json", judged], capture_output=True)
    circuits = json.loads(judged.read_text())["circuits"]
    found = folder / "found.json"
    subprocess.run([DRYCRANK, "diagnose", record, "--profile", scenario, "--json", found], capture_output=True, check=False)
    diagnosis = json.loads(found.read_text())
    groups = diagnosis["groups"]
    first = {member["fault"] for member in groups[0]["members"]} if groups else set()
    return {c["name"]: c["state"] for c in circuits}, first, diagnosis["healthy_share"]


def inside(folder, name, fault):
    scenario = folder / f"{name}.yaml"
    text = (folder / "run.yaml").read_text()
    scenario.write_text(text)
    faulty = folder / f"{name}_put_in.yaml"
    faulty.write_text(text + (f"faults:\n  - {fault}\n" if fault else ""))
    record = folder / "inside" / name
    subprocess.run([DRYCRANK, "run", faulty, "--out", record], capture_output=True)
    return diagnosed(folder, record, scenario)


def failed(circuits):
    return {name for name, state in circuits.items() if state == "failed"}


def check_healthy(circuits, healthy_share, said):
    assert {name for name, state in circuits.items() if state == "proven"} == DRIVEN, circuits
    assert not failed(circuits) and healthy_share > 0.5, (circuits, healthy_share)
    assert "synchronised" in said


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "bench.yaml").write_text(sound_bench.bench("hw:Loopback,0,0", latency_ms=100))
        (folder / "run.yaml").write_text(sound_bench.scenario(running_s=4, rpm=600, slower=450, settle_s=2.5))
        said = in_guest(folder)
        wrong = []
        for case, (_, fault) in CASES.items():
            circuits, first, healthy_share = diagnosed(folder, folder / "heard" / case, folder / "run.yaml")
            if fault is None:
                check_healthy(circuits, healthy_share, said)
                continue
            circuits_in, first_in, _ = inside(folder, case, fault)
            print(f"{case}: failed {sorted(failed(circuits))}, inside {sorted(failed(circuits_in))}; first group of "
                  f"{len(first)}, inside of {len(first_in)}, the same: {first == first_in}, healthy {healthy_share:.2g}")
            assert healthy_share < 0.01, case
            if not first or first != first_in or failed(circuits) != failed(circuits_in) & DRIVEN:
                wrong.append((case, circuits, circuits_in, sorted(first ^ first_in)))
        assert not wrong, wrong


main()
