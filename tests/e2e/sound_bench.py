# SPDX-License-Identifier: Apache-2.0
"""A bench whose crank and cam leave by a sound card, and the same wheels decoded from nothing but samples.

Invented for the test. 60-2 with a coil: tooth 1 begins at 300 degrees, falling zero at each tooth's centre. A
half-moon on the cam with a Hall sensor, which begins to conduct at 330.3 degrees of each other turn.
"""
import numpy

RATE, CENTRE, CAM = 48000, 301.5, 330.3
FULL_SCALE = {"crank": 5, "cam": 2}

BENCH = """
kind: bench
name: by_sound
engine: {firing_order: [1, 3, 4, 2], compression_ripple: 0}
supplies: {battery: {plus: BAT.1, minus: BAT.2}}
connectors: {BAT: {pins: 2}, CKP: {pins: 2}, CMP: {pins: 3}, ECU: {pins: 8}}
wires:
  - {circuit: supply, from: BAT.1, to: ECU.1}
  - {circuit: ground, from: BAT.2, to: ECU.2}
  - {circuit: crank_plus, from: CKP.1, to: ECU.3}
  - {circuit: crank_minus, from: CKP.2, to: ECU.4}
  - {circuit: cam_supply, from: CMP.1, to: ECU.5}
  - {circuit: cam_ground, from: CMP.2, to: ECU.6}
  - {circuit: cam_signal, from: CMP.3, to: ECU.7}
triggers:
  crank:
    wheel: {teeth: 60, missing: 2}
    offset_deg: 300
    pickup: {kind: variable_reluctance, plus: CKP.1, minus: CKP.2, coil_ohm: 860, peak_v: 1, peak_at_rpm: 200}
  cam:
    shaft: cam
    wheel: {tooth_edges_deg: [[0, 180]]}
    offset_deg: 330.3
    pickup: {kind: hall, supply: CMP.1, ground: CMP.2, signal: CMP.3}
buses:
  vehicle:
    bitrate_bps: 500000
    messages:
      engine:
        id: 0x120
        length_bytes: 8
        sender: controller
        period_ms: 20
        signals:
          engine_speed: {start_bit: 0, length_bits: 16, scale: 0.25, unit: rpm, carries: engine_speed}
          sync:
            start_bit: 16
            length_bits: 4
            carries: sync_state
            values: {0: stopped, 1: searching, 2: position known, 3: synchronised}
          sync_losses: {start_bit: 24, length_bits: 8, carries: sync_losses, unit: count}
          cam_angle:
            start_bit: 32
            length_bits: 16
            is_signed: true
            scale: 0.1
            unit: deg
            carries: cam_angle.cam
            valid_when: {signal: sync, equals: synchronised}
controller:
  supply: ECU.1
  ground: ECU.2
  sensor_grounds: [ECU.6]
  references: [{terminal: ECU.5}]
  inputs: [{terminal: ECU.3, minus: ECU.4, input_ohm: 20 kohm}, {terminal: ECU.7, pull_up_ohm: 2.2 kohm}]
  triggers:
    crank:
      terminal: ECU.3
      conditioning: zero_crossing
      arm_v: 0.25 V
      edge: falling
      point: centre
      wheel: {teeth: 60, missing: 2}
      offset_deg: 300
    cam:
      terminal: ECU.7
      shaft: cam
      edge: falling
      point: begin
      wheel: {tooth_edges_deg: [[0, 180]]}
      offset_deg: 330.3
  decoder: {primary: crank, cams: [cam]}
drives:
  card:
    kind: sound
    device: DEVICE
    rate_hz: 48000
    latency_ms: LATENCY
    channels:
      crank: {output: 1, full_scale_v: 5, most_v: 4, corner_hz: 0}
      cam: {output: 2, full_scale_v: 2, most_v: 1.5, corner_hz: 0}
"""

SCENARIO = """
kind: scenario
name: by_sound
bench: bench.yaml
steps:
  - {name: standing, for_s: 1}
  - {name: running, for_s: RUNNING, drive: {engine_speed: RPM}}
  - {name: slower, for_s: RUNNING, drive: {engine_speed: SLOWER}}
expect:
  - name: synchronises
    kind: always
    condition: {signal: engine.sync, equals: synchronised}
    settle_s: SETTLE
    during: [running, slower]
    proves: [crank_plus, crank_minus, cam_signal]
    means: The controller does not find its place in the cycle.
  - name: speed
    kind: follows
    signal: engine.engine_speed
    stimulus: engine_speed
    tolerance: 30 rpm
    settle_s: SETTLE
    during: [running, slower]
    proves: [crank_plus, crank_minus]
    means: The speed that the controller reports is not the one put in.
  - name: cam_place
    kind: follows
    signal: engine.cam_angle
    value: 0
    tolerance: 2 deg
    settle_s: SETTLE
    during: [running, slower]
    proves: [cam_signal]
    means: The cam is not where the controller looks for it.
"""


def bench(device, latency_ms=100):
    return BENCH.replace("DEVICE", f'"{device}"').replace("LATENCY", str(latency_ms))


def scenario(running_s=2, rpm=1200, slower=900, settle_s=1):
    words = {"RUNNING": running_s, "RPM": rpm, "SLOWER": slower, "SETTLE": settle_s}
    text = SCENARIO
    for word, value in words.items():
        text = text.replace(word, str(value))
    return text


def zeros(wave, falling):
    """Places where it falls, or rises, through 0, by the line between two samples."""
    before, after = wave[:-1], wave[1:]
    at = numpy.nonzero((before > 0) & (after <= 0) if falling else (before < 0) & (after >= 0))[0]
    return at + before[at] / (before[at] - after[at])


def parts(heard):
    """Begin and end of each stretch that is not silent for a tenth of a second."""
    loud = numpy.nonzero(numpy.any(heard != 0, axis=1))[0]
    breaks = numpy.nonzero(numpy.diff(loud) > RATE // 10)[0]
    begins = [loud[0], *loud[breaks + 1]]
    return list(zip(begins, [*loud[breaks], loud[-1]]))


class Decoded:
    """A stretch: its turns by the gap, speed, worst tooth and cam edge in degrees, and the place of a tooth 1."""

    def __init__(self, heard, begin, end):
        crank, cam = heard[begin:end, 0], heard[begin:end, 1]
        peak = numpy.max(numpy.abs(crank))
        teeth = numpy.array([at for at in zeros(crank, True) if numpy.max(crank[max(0, int(at) - 12):int(at) + 1]) > peak / 3])
        steps = numpy.diff(teeth)
        gaps = numpy.nonzero(steps > 2 * numpy.median(steps))[0] + 1  # the tooth after the gap is tooth 1
        self.turns = len(gaps) - 1
        self.teeth = set(numpy.diff(gaps))
        first, took = teeth[gaps], numpy.diff(teeth[gaps])
        self.rpm = 60 * RATE / numpy.mean(took)
        self.first = begin + first[0]
        self.worst = max(abs((teeth[gap + tooth] - start) / samples * 360 - 6 * tooth)
                         for gap, start, samples in zip(gaps[:-1], first, took) for tooth in range(58))
        self.cam = []
        for at in numpy.concatenate([zeros(cam, True), zeros(cam, False)]):
            turn = numpy.searchsorted(first, at) - 1
            if 0 <= turn < len(took):
                angle = CENTRE + (at - first[turn]) / took[turn] * 360
                self.cam.append((angle - CAM + 180) % 360 - 180)
