#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""heard_outputs_test.py DRYCRANK IO_NODE_ON_MULTICAST TESTS PROFILES [FAULTS [AT_ONCE]]: heard_outputs.py says how.

What is driven is proven, as it is by a walk with stand-ins inside. With each fault in the wires of the other process
the circuits that fail are those that fail with the same fault inside, and the diagnosis names the same ones.
"""
import concurrent.futures
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import time

import heard_outputs

DRYCRANK, NODE, TESTS, PROFILES = (pathlib.Path(word).resolve() for word in sys.argv[1:5])
COUNT = int(sys.argv[5]) if len(sys.argv) > 5 else 6
AT_ONCE = int(sys.argv[6]) if len(sys.argv) > 6 else 7
# The first lead of what is driven, and the second of what hangs between both; by the bench's wires.
DRIVEN = {"crank_plus", "crank_minus", "cam_signal", "coolant_signal", "coolant_ground", "air_signal", "air_ground",
          "oil_temperature_signal", "oil_temperature_ground", "manifold_signal", "oil_pressure_signal",
          "throttle_signal"}
FAULTS = [
    "{kind: open, at: coolant_signal}",
    "{kind: terminals_swapped, at: CKP.1, with: CKP.2}",
    "{kind: short_to_ground, at: ECU.23}",
    "{kind: open, at: cam_signal}",
    "{kind: terminals_swapped, at: ECU.24, with: ECU.25}",
    "{kind: series_resistance, at: IAT.1, ohm: 5000}",
    "{kind: open, at: crank_plus}",
    "{kind: open, at: crank_minus}",
    "{kind: open, at: coolant_ground}",
    "{kind: open, at: air_signal}",
    "{kind: open, at: oil_temperature_ground}",
    "{kind: open, at: manifold_signal}",
    "{kind: open, at: oil_pressure_signal}",
    "{kind: open, at: throttle_signal}",
    "{kind: short_to_ground, at: ECU.22}",
    "{kind: short_to_ground, at: ECU.12}",
    "{kind: short_to_ground, at: ECU.25}",
    "{kind: terminals_swapped, at: ECU.20, with: ECU.21}",
    "{kind: short_together, at: ECU.20, with: ECU.21}",
    "{kind: short_to_supply, at: ECU.24}",
]


def wire_of(fault):
    """Without its size, which is weighed by each value: "about 1.06 kΩ extra resistance at ..." """
    return re.sub(r"-?[0-9.]+ (k?Ω|MΩ|m?V)", "so much", fault)


def named(folder, record):
    """Failed circuits, and of the diagnosis: the first group, how much it speaks for a healthy bench."""
    report = json.loads((folder / record / "report.json").read_text())
    found = folder / f"{record}.json"
    subprocess.run([DRYCRANK, "diagnose", folder / record, "--json", found], capture_output=True, check=False)
    diagnosis = json.loads(found.read_text())
    groups = diagnosis["groups"]
    first = {wire_of(member["fault"]) for member in groups[0]["members"]} if groups else set()
    states = {circuit["name"]: circuit["state"] for circuit in report["circuits"]}
    return states, first, diagnosis["healthy_share"]


def in_state(states, state):
    return {name for name, now in states.items() if now == state}


def outside(folder, fault):
    pair = heard_outputs.Pair(folder, DRYCRANK, NODE, TESTS, PROFILES)
    try:
        code, said, heard = pair.walk([fault] if fault else [])
    finally:
        pair.end()
    assert (pair.folder / "outside/report.json").exists(), said + heard
    # A twin or a computer that did not keep up makes the walk worth nothing.
    assert "; 0 underruns, the run late 0 times" in said, said
    verdicts = json.loads((pair.folder / "outside/report.json").read_text())["expectations"]
    talks = next(one for one in verdicts if one["name"] == "controller_talks_on_vehicle")
    assert talks["outcome"] == "met", talks
    assert "samples lost 0 times" in heard and ", 0 refused by" in heard, heard
    return code, said


def inside(folder, fault):
    words = ["--fault", fault] if fault else []
    subprocess.run([DRYCRANK, "walk", folder / "bench.yaml", "--quiet", "--out", folder / "inside", *words],
                   capture_output=True, check=False)


def case(folder, fault):
    code, said = outside(folder, fault)
    inside(folder, fault)
    return fault, code, said, named(folder, "outside"), named(folder, "inside")


def tried(place, number, fault):
    """Three times, for what a computer that others use does to a card; and that is said."""
    for attempt in range(3):
        time.sleep(3 * (number % AT_ONCE))  # not all of them begin at once
        try:
            return case(place / f"{number}_{attempt}", fault)
        except AssertionError as why:
            if attempt == 2:
                raise
            print(f"tried again: {fault}: {str(why)[-300:]}", flush=True)
    return None


def check_healthy(code, said, states, states_inside):
    assert code == 4, said  # circuits that no output reaches
    assert in_state(states, "proven") == DRIVEN, states
    assert DRIVEN <= in_state(states_inside, "proven"), states_inside
    assert not in_state(states, "failed"), states
    print("proven:", *sorted(DRIVEN), "\nnot driven, or not asked:", *sorted(set(states) - DRIVEN))


def main():
    with tempfile.TemporaryDirectory() as name:
        place = pathlib.Path(name)
        with concurrent.futures.ThreadPoolExecutor(AT_ONCE) as pool:
            jobs = [pool.submit(tried, place, number, fault) for number, fault in enumerate([None, *FAULTS[:COUNT]])]
            results = [job.result() for job in jobs]
    wrong = []
    for fault, code, said, (states, first, healthy), (states_in, first_in, _) in results:
        if fault is None:
            check_healthy(code, said, states, states_in)
            continue
        failed, failed_in = in_state(states, "failed"), in_state(states_in, "failed")
        print(f"{fault}: failed {sorted(failed)}, inside {sorted(failed_in)}; first group of {len(first)}, inside of "
              f"{len(first_in)}, the same: {first == first_in}; healthy {healthy:.2g}", flush=True)
        if failed != failed_in & DRIVEN or not first or first != first_in or healthy > 0.01:
            wrong.append((fault, sorted(first ^ first_in)))
    assert not wrong, wrong


main()
