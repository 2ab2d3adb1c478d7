#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A bench as large as the program promises, all at once, in virtual time on one core: 20,000 r/min,
8 trigger channels, 256 sensors that never stand still, 1,000 circuits, 4 buses of 1 Mbit/s, 1,000
messages. Wanted: every expectation met, at 0.3 times real time or faster; about half of what it does,
so that a busy machine passes and a lost power of ten does not.

    limits_bench.py DRYCRANK [FOLDER]     FOLDER: where the profiles are kept; else nowhere

All numbers in the profiles are invented.
"""
import os
import pathlib
import resource
import subprocess
import sys
import tempfile

SENSORS, CIRCUITS, BUSES, MESSAGES = 256, 1000, 4, 1000
KINDS = ["ntc"] * 5 + ["ratiometric"] * 5 + ["voltage"] * 4 + ["frequency"] * 2  # of 16 sensors
SIMULATED_S = 1.5, 6
LEAST = 0.3  # times real time

NTC_TABLE = """[[0.4804, 140], [0.5992, 130], [0.7502, 120], [0.9407, 110], [1.1785, 100], [1.4698, 90],
      [1.8172, 80], [2.2163, 70], [2.6531, 60], [3.1038, 50], [3.5382, 40], [3.9275, 30], [4.2514, 20],
      [4.5023, 10], [4.6844, 0], [4.8087, -10], [4.8891, -20], [4.9385, -30], [4.9675, -40]]"""


class Bench:
    """Collects lines by section; hands out the controller's pins and the circuits."""

    def __init__(self):
        self.sections = {}
        self.pins = []
        self.circuits = set()

    def add(self, section, line):
        self.sections.setdefault(section, []).append("  " + line)

    def pin(self):
        n = len(self.pins)
        self.pins.append(f"{'AB'[n // 490]}.{n % 490 + 1}")
        return self.pins[-1]

    def wire(self, circuit, start, end, gauge="0.5 mm2"):
        self.circuits.add(circuit)
        self.add("wires", f"- {{circuit: {circuit}, from: {start}, to: {end}, length_m: 1.2, gauge: {gauge}}}")

    def text(self):
        head = "kind: bench\nname: limits\ntitle: As large as is promised\n" \
               "engine: {strokes: 4, firing_order: [1, 3, 4, 2]}\n"
        self.add("connectors", "A: {label: Controller plug A, pins: 490}")
        self.add("connectors", "B: {label: Controller plug B, pins: 490}")
        self.add("connectors", "BAT: {label: Supply, pins: 2}")
        self.sections["splices"] = ["  [PLUS, MINUS, SENSOR_GROUND, FIVE_VOLT]"]
        order = ["stimuli", "supplies", "connectors", "triggers", "sensors", "loads", "splices", "wires", "buses", "controller"]
        return head + "".join(f"{name}:\n" + "\n".join(self.sections[name]) + "\n" for name in order)


def add_triggers(bench, inputs, decoders):
    """Two crank wheels of 60-2 and six half-moon cams, all Hall."""
    for i in range(8):
        crank = i < 2
        plug, name = f"T{i}", f"wheel{i}"
        wheel = "{teeth: 60, missing: [59, 60]}" if crank else "{tooth_edges_deg: [[0, 180]]}"
        at = f"shaft: {'crank' if crank else 'cam'}, wheel: {wheel}, offset_deg: {84 if crank else 60 + 10 * i}"
        bench.add("connectors", f"{plug}: {{label: Wheel sensor {i}, pins: 3}}")
        bench.add("triggers", f"{name}: {{label: Wheel {i}, {at}, "
                              f"pickup: {{kind: hall, supply: {plug}.1, ground: {plug}.2, signal: {plug}.3}}}}")
        pin = bench.pin()
        bench.wire(f"{name}_supply", f"{plug}.1", "PLUS")
        bench.wire(f"{name}_ground", f"{plug}.2", "SENSOR_GROUND")
        bench.wire(f"{name}_signal", f"{plug}.3", pin)
        inputs.append(f"    - {{terminal: {pin}, pull_up_ohm: 2.2 kohm}}")
        decoders.append(f"    {name}: {{terminal: {pin}, conditioning: threshold, high_v: 3 V, low_v: 1.5 V, "
                        f"edge: falling, point: begin, {at}}}")


def add_sensors(bench, inputs, analog, frequency):
    """SENSORS sensors, each of a stimulus of its own; the last shares that of the one before."""
    for i in range(SENSORS):
        kind, plug, name = KINDS[i % len(KINDS)], f"S{i}", f"sensor{i}"
        bench.add("connectors", f"{plug}: {{label: Sensor {i}, pins: 3}}")
        value = f"value{min(i, SENSORS - 2)}"
        unit = "degC" if kind == "ntc" else "%"
        if i < SENSORS - 1:
            bench.add("stimuli", f"{value}: {{unit: \"{unit}\", initial: 50, min: 0, max: 100}}")
        pin = bench.pin()
        three = f"supply: {plug}.1, ground: {plug}.2, signal: {plug}.3"
        model = {
            "ntc": f"kind: ntc, min: -40, max: 140, steinhart_hart: "
                   f"{{a: 1.129148e-3, b: 2.34125e-4, c: 8.76741e-8}}, plus: {plug}.3, minus: {plug}.2",
            "ratiometric": f"kind: ratiometric, low_value: 0, high_value: 100, {three}",
            "voltage": f"kind: voltage, volts_at_value: [[0, 0.5], [100, 4.5]], {three}",
            "frequency": f"kind: frequency, hz_per_unit: 20, {three}",
        }[kind]
        bench.add("sensors", f"{name}: {{measures: {value}, {model}}}")
        if kind != "ntc":
            bench.wire(f"{name}_supply", f"{plug}.1", "FIVE_VOLT" if kind == "ratiometric" else "PLUS")
        bench.wire(f"{name}_ground", f"{plug}.2", "SENSOR_GROUND")
        bench.wire(f"{name}_signal", f"{plug}.3", pin)
        pull = ", pull_up_ohm: 2.2 kohm" if kind in ("ntc", "frequency") else ""
        inputs.append(f"    - {{terminal: {pin}{pull}}}")
        if kind == "frequency":
            frequency.append(f"    {name}: {{unit: \"{unit}\", terminal: {pin}, value_at_hz: [[0, 0], [2000, 100]]}}")
        elif kind == "ntc":
            analog.append(f"    {name}: {{unit: degC, terminal: {pin}, ratiometric: false, value_at_volts: {NTC_TABLE}}}")
        else:
            ratio = "true" if kind == "ratiometric" else "false"
            analog.append(f"    {name}: {{unit: \"%\", terminal: {pin}, ratiometric: {ratio}, "
                          "value_at_volts: [[0.5, 0], [4.5, 100]]}")


def add_loads(bench):
    for i in range((CIRCUITS - len(bench.circuits)) // 2):
        bench.add("connectors", f"L{i}: {{label: Lamp {i}, pins: 2}}")
        bench.add("loads", f"lamp{i}: {{plus: L{i}.1, minus: L{i}.2, ohm: 1 kohm}}")
        bench.wire(f"lamp{i}_supply", f"L{i}.1", "PLUS")
        bench.wire(f"lamp{i}_return", f"L{i}.2", "MINUS")
    if len(bench.circuits) < CIRCUITS:
        bench.wire("spare", "A.489", "B.489")


def add_messages(bench):
    for b in range(BUSES):
        bench.add("buses", f"bus{b}:")
        bench.add("buses", "  bitrate_bps: 1 Mbit/s")
        bench.add("buses", "  messages:")
        for m in range(MESSAGES // BUSES):
            n = b * (MESSAGES // BUSES) + m
            sensor = n % SENSORS
            unit = "degC" if KINDS[sensor % len(KINDS)] == "ntc" else "%"
            signals = f"v: {{start_bit: 0, length_bits: 16, scale: 0.01, offset: -100, unit: \"{unit}\", carries: sensor{sensor}}}"
            if n == 0:
                signals += ", speed: {start_bit: 16, length_bits: 16, unit: rpm, carries: engine_speed}" \
                           ", sync: {start_bit: 32, length_bits: 8, carries: sync_state}"
            bench.add("buses", f"    m{n}: {{id: {0x100 + m}, length_bytes: 8, sender: controller, period_ms: 50 ms, "
                               f"phase_ms: {m * 0.2:.1f}, signals: {{{signals}}}}}")


def make_bench():
    bench = Bench()
    inputs, decoders, analog, frequency = [], [], [], []
    bench.add("supplies", "battery: {plus: BAT.1, minus: BAT.2, voltage_v: 13.8 V, series_ohm: 20 mohm}")
    for _ in range(4):
        bench.pin()  # supply, ground, sensor ground, 5 V
    for circuit, start, splice, end in (("supply", "BAT.1", "PLUS", "A.1"), ("ground", "BAT.2", "MINUS", "A.2")):
        bench.wire(circuit, start, splice, "6 mm2")
        bench.wire(circuit, splice, end, "6 mm2")
    bench.wire("sensor_ground", "A.3", "SENSOR_GROUND", "6 mm2")
    bench.wire("five_volt", "A.4", "FIVE_VOLT", "6 mm2")
    add_triggers(bench, inputs, decoders)
    add_sensors(bench, inputs, analog, frequency)
    add_loads(bench)
    add_messages(bench)
    bench.sections["controller"] = [
        "  supply: A.1", "  ground: A.2", "  sensor_grounds: [A.3]", "  references: [{terminal: A.4, voltage_v: 5 V}]",
        "  inputs:", *inputs, "  analog:", *analog, "  frequency:", *frequency, "  triggers:", *decoders,
        "  decoder: {primary: wheel0, cams: [wheel2], firing_order: [1, 3, 4, 2]}"]
    assert len(bench.circuits) == CIRCUITS
    return bench.text()


def make_scenario():
    drives = "".join(f"      value{i}: {{sine: 50, amplitude: {10 + i % 20}, period_s: {4 + i % 7} s}}\n"
                     for i in range(SENSORS - 1))
    expect = "".join(
        f"  - {{name: sensor{i}_arrives, kind: follows, signal: m{i}.v, stimulus: value{min(i, SENSORS - 2)}, "
        f"tolerance: 5, settle_s: 1 s, during: [fast], proves: [sensor{i}_signal, sensor{i}_ground], "
        f"means: \"Look at plug S{i}.\"}}\n" for i in range(SENSORS))
    return f"""kind: scenario
name: limits
title: As large as is promised
bench: bench.yaml
seed: 1
steps:
  - name: start
    drive:
      engine_speed: {{ramp: 20000 rpm, over_s: 1 s}}
    for_s: {SIMULATED_S[0]} s
  - name: fast
    for_s: {SIMULATED_S[1]} s
    drive:
{drives}expect:
  - {{name: speed_arrives, kind: follows, signal: m0.speed, stimulus: engine_speed, tolerance: 100 rpm, settle_s: 0.5 s,
     during: [fast], means: Look at the wheel sensors.}}
{expect}"""


def play(drycrank, folder):
    """Processor seconds and what was printed."""
    (folder / "bench.yaml").write_text(make_bench())
    (folder / "scenario.yaml").write_text(make_scenario())
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([drycrank, "run", folder / "scenario.yaml", "--out", folder / "out", "--overwrite", "--quiet"],
                          capture_output=True, text=True, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode != 0:
        sys.exit(f"{(done.stdout + done.stderr)[-4000:]}\nlimits_bench: exit code {done.returncode}")
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, done.stdout


def main():
    drycrank = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as temporary:
        folder = pathlib.Path(sys.argv[2] if len(sys.argv) > 2 else temporary)
        folder.mkdir(parents=True, exist_ok=True)
        taken_s, printed = play(drycrank, folder)
    wanted = f"all {SENSORS + 1} expectations met"
    if wanted not in printed:
        sys.exit(f"{printed[-4000:]}\nlimits_bench: '{wanted}' is not in it")
    ratio = sum(SIMULATED_S) / taken_s
    print(f"{SENSORS} sensors, {CIRCUITS} circuits, {BUSES} buses, {MESSAGES} messages, 8 wheels at 20,000 r/min: "
          f"{wanted}; {ratio:.2f} x real time, its report and record included (at least {LEAST} wanted)")
    return 0 if ratio >= LEAST else 1


if __name__ == "__main__":
    sys.exit(main())
