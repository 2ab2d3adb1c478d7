#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Writes bench.schema.json and scenario.schema.json (JSON Schema 2020-12) beside this file.

They tell an editor which keys a profile has. The loader (sim/profile) says more: units, ranges, names
that point nowhere. `include` is allowed in every mapping, and what it brings may be any key: hence a
key is required here only where no include can bring it, in mappings without one.
"""
import json
import pathlib
import sys

INCLUDE = {
    "description": "File or files whose mapping is merged in, relative to this file; own keys win.",
    "anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1}],
}
NUMBER_TEXT = r"^\s*[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?\s*\S*$"
# Names may look like numbers or truth values to YAML: a pin 1, a state off.
WORD = {"type": ["string", "number", "boolean"]}
NAME = {"type": "string", "pattern": "^[A-Za-z_][A-Za-z0-9_]{0,63}$"}
TEXT = {"type": ["string", "number"]}
BOOL = {"type": "boolean"}


def number(unit="", text=""):
    note = f"{text} In {unit}, or with a unit that converts." if unit else text
    if not unit:
        return {"type": "number", "description": text} if text else {"type": "number"}
    return {"description": note.strip(),
            "anyOf": [{"type": "number"}, {"type": "string", "pattern": NUMBER_TEXT}]}


# In the unit of the stimulus, signal or gauge concerned.
VALUE = number("the unit of what it belongs to")


def integer(low, high):
    return {"type": "integer", "minimum": low, "maximum": high}


def words(*values):
    return {"enum": list(values)}


def listing(items, low=0):
    return {"type": "array", "items": items, "minItems": low}


def mapping(required=(), more=(), **keys):
    """A mapping with these keys; `required` holds where there is no include."""
    schema = {"type": "object", "properties": {"include": INCLUDE, **keys},
              "additionalProperties": False}
    rules = list(more)
    if required:
        rules.append({"anyOf": [{"required": ["include"]}, {"required": list(required)}]})
    if rules:
        schema["allOf"] = rules
    return schema


def named(entry, pattern=r"^[A-Za-z_][A-Za-z0-9_]{0,63}$"):
    """{name: entry, ...}"""
    return {"type": "object", "properties": {"include": INCLUDE},
            "patternProperties": {f"^(?!include$){pattern[1:]}": entry},
            "additionalProperties": False}


def when(kind, required=(), refuse=()):
    """Of mappings with this kind: which keys they need and which they have not."""
    return {"if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
            "then": {"anyOf": [{"required": ["include"]}, {"required": list(required)}],
                     "not": {"anyOf": [{"required": [key]} for key in refuse]} if refuse else False}}


def points(x, y):
    return listing({"type": "array", "prefixItems": [x, y], "minItems": 2, "maxItems": 2}, 2)


TERMINAL = {"type": "string", "pattern": r"^[A-Za-z0-9_-]+\.[A-Za-z0-9_-]+$",
            "description": "A terminal, CONNECTOR.PIN"}
SIGNAL_OF_MESSAGE = {"type": "string", "pattern": r"^[A-Za-z_]\w*\.[A-Za-z_]\w*$",
                     "description": "A signal, message.signal"}
OHM, VOLT, DEG, MS, S = number("ohm"), number("V"), number("deg"), number("ms"), number("s")
REFERENCE = words("absolute", "gauge")
FIRING = dict(strokes=words(2, 4), firing_order=listing(integer(1, 24), 1),
              firing_angles_deg=listing(DEG, 1))
HALL = dict(supply=TERMINAL, ground=TERMINAL, signal=TERMINAL, on_ohm=OHM, off_ohm=OHM,
            supply_ohm=OHM, min_supply_v=VOLT, diode_v=VOLT)

FORMAT = {"const": 1, "description": "Of this file; left out: 1."}
FITTED = {"type": "boolean", "description": "false: on paper only, not on the bench."}

WHEEL = mapping(
    name=TEXT, teeth=integer(1, 1000), tooth_fraction=number(),
    missing={"anyOf": [integer(0, 999), listing(integer(1, 1000))],
             "description": "Numbers of the places without tooth, or how many at the end."},
    tooth_edges_deg=listing({"type": "array", "items": DEG, "minItems": 2, "maxItems": 2}, 1))
PICKUP = mapping(
    ["kind"], kind=words("hall", "variable_reluctance"), low_at_tooth=BOOL, **HALL,
    plus=TERMINAL, minus=TERMINAL, coil_ohm=OHM, peak_v=VOLT, peak_at_rpm=number("rpm"), noise_v=VOLT,
    more=[when("hall", ["supply", "ground", "signal"], ["plus", "minus", "coil_ohm"]),
          when("variable_reluctance", ["plus", "minus"], ["supply", "ground", "signal"])])
TRIGGER = mapping(["wheel", "pickup"], label=TEXT, shaft=words("crank", "cam"), wheel=WHEEL,
                  offset_deg=DEG, advance=NAME, pickup=PICKUP, fitted=FITTED)
SENSOR = mapping(
    ["measures", "kind"], label=TEXT, measures=NAME, min=VALUE, max=VALUE, tolerance=VALUE,
    kind=words("ntc", "platinum", "type_k", "ratiometric", "voltage", "switch", "frequency",
               "fuel_composition"),
    plus=TERMINAL, minus=TERMINAL, **HALL,
    beta=mapping(r25_ohm=OHM, beta_k=number()),
    steinhart_hart=mapping(["a", "b", "c"], a=number(), b=number(), c=number()),
    ohm_at_degc=points(number("degC"), OHM), r0_ohm=OHM, cold_junction_degc=number("degC"),
    loop_ohm=OHM, reference=REFERENCE, low_value=VALUE, high_value=VALUE, low_fraction=number(),
    high_fraction=number(), min_fraction=number(), max_fraction=number(), output_ohm=OHM,
    volts_at_value=points(VALUE, VOLT), closed_at=VALUE, closed_above=BOOL, closed_ohm=OHM,
    open_ohm=OHM, hz_at_zero=number("Hz"), hz_per_unit=number(), width_stimulus=NAME,
    width_ms_at_low=MS, width_low_degc=number("degC"), width_ms_at_high=MS,
    width_high_degc=number("degC"), fitted=FITTED,
    more=[when(kind, ["plus", "minus"]) for kind in ("ntc", "platinum", "type_k", "switch")] +
         [when(kind, ["supply", "ground", "signal"])
          for kind in ("ratiometric", "voltage", "frequency", "fuel_composition")])
STIMULUS = mapping(label=TEXT, unit=TEXT, initial=VALUE, min=VALUE, max=VALUE, reference=REFERENCE)
CONNECTOR = mapping(["pins"], label=TEXT, family=TEXT, rows=integer(1, 20),
                    pins={"anyOf": [integer(1, 500), listing(WORD, 1)]})
WIRE = mapping(["circuit", "from", "to"], circuit=NAME, to=TEXT, length_m=number("m"), gauge=TEXT,
               colour=TEXT, twist=TEXT, fitted=FITTED, **{"from": TEXT})
SIGNAL = mapping(
    ["start_bit", "length_bits"], start_bit=integer(0, 511), length_bits=integer(1, 64),
    byte_order=words("little", "big"), is_signed=BOOL, is_float=BOOL, scale=number(), offset=VALUE,
    min=VALUE, max=VALUE, unit=TEXT, multiplex=words("none", "selector", "selected"),
    multiplex_value=integer(0, 2**63 - 1), carries=TEXT,
    values={"type": "object", "properties": {"include": INCLUDE},
            "patternProperties": {"^-?[0-9]+$|^0x[0-9A-Fa-f]+$": WORD}, "additionalProperties": False})
MESSAGE = mapping(
    ["id"], id=integer(0, 0x1FFFFFFF), extended=BOOL, fd=BOOL, bit_rate_switch=BOOL,
    length_bytes=words(*range(9), 12, 16, 20, 24, 32, 48, 64),
    sender=words("simulator", "controller", "display"), period_ms=MS, phase_ms=MS, counter=NAME,
    checksum=mapping(["signal", "kind"], signal=NAME, kind=words("crc8_sae_j1850", "crc8_autosar")),
    signals=named(SIGNAL))
BUS = mapping(bitrate_bps=number("bit/s"), data_bitrate_bps=number("bit/s"), messages=named(MESSAGE),
              nodes=named(mapping(["high", "low"], high=TERMINAL, low=TERMINAL, termination_ohm=OHM)))
ANALOG = mapping(["terminal", "unit", "value_at_volts"], unit=TEXT, terminal=TERMINAL,
                 value_at_volts=points(VOLT, VALUE), ratiometric=BOOL, low_v=VOLT, high_v=VOLT,
                 fault_delay_ms=MS, fallback=VALUE, filter_ms=MS)
FREQUENCY = mapping(["terminal", "unit"], unit=TEXT, terminal=TERMINAL, high_v=VOLT, low_v=VOLT,
                    value_at_hz=points(number("Hz"), VALUE), value_at_low_ms=points(MS, VALUE),
                    timeout_ms=MS, fallback=VALUE, zero_is_valid=BOOL)
TRIGGER_CHANNEL = mapping(["terminal", "wheel"], terminal=TERMINAL,
                          conditioning=words("threshold", "zero_crossing"), high_v=VOLT, low_v=VOLT,
                          arm_v=VOLT, edge=words("rising", "falling"), shaft=words("crank", "cam"),
                          wheel=WHEEL, point=words("begin", "centre", "end"), offset_deg=DEG,
                          window_deg=DEG)
OUTPUT = mapping(
    ["terminal", "kind", "load"], label=TEXT, terminal=TERMINAL,
    kind=words("low_side", "high_side", "ignition", "injector"), cylinder=integer(1, 24), load=NAME,
    driven_by=named(VALUE),
    proved_by={"anyOf": [words("operator", "capture"), SIGNAL_OF_MESSAGE],
               "description": "A signal, with above and below: where it lies when the circuit is whole."},
    above=VALUE, below=VALUE, asks=TEXT, fitted=FITTED)
CHANNEL_FAULT = dict(channel=NAME, when=words("signal low", "signal high", "no signal"))
IDENTIFIER = integer(0, 0x1FFFFFFF)
DIAGNOSTICS = mapping(
    ["bus"], bus=NAME, extended=BOOL, functional_id=IDENTIFIER, request_id=IDENTIFIER,
    response_id=IDENTIFIER, vehicle_id=TEXT, answer_ms=MS, slot_ms=MS,
    pids=listing(mapping(["pid", "channel"], pid=integer(0, 255), channel=TEXT)),
    trouble_codes=listing(mapping(["code", *CHANNEL_FAULT], code=TEXT, **CHANNEL_FAULT)))
SPN = dict(spn=integer(0, 2**19 - 1), fmi=integer(0, 31))
J1939 = mapping(
    ["bus", "address"], bus=NAME, address=integer(0, 253), dm1_period_ms=MS,
    name=mapping(arbitrary_address=BOOL, industry_group=integer(0, 7),
                 system_instance=integer(0, 15), system=integer(0, 127), function=integer(0, 255),
                 function_instance=integer(0, 31), unit_instance=integer(0, 7),
                 manufacturer=integer(0, 2047), identity=integer(0, 2**21 - 1)),
    trouble_codes=listing(mapping([*SPN, *CHANNEL_FAULT], **SPN, **CHANNEL_FAULT,
                                  lamp=words("protect", "amber", "red stop", "malfunction"))))
DECODER = mapping(**FIRING, primary=NAME, cams=listing(NAME), ratio_tolerance=number(), stall_ms=MS,
                  advance_deg=DEG, dwell_ms=MS, injection_end_deg=DEG, injection_ms=MS,
                  rev_limit_rpm=number("rpm"))
CONTROLLER = mapping(
    ["supply", "ground"], supply=TERMINAL, ground=TERMINAL, supply_ohm=OHM, min_supply_v=VOLT,
    sensor_grounds=listing(TERMINAL), sample_ms=MS,
    references=listing(mapping(["terminal"], terminal=TERMINAL, voltage_v=VOLT, series_ohm=OHM)),
    inputs=listing(mapping(["terminal"], terminal=TERMINAL, minus=TERMINAL, pull_up_ohm=OHM,
                           pull_up_v=VOLT, input_ohm=OHM)),
    analog=named(ANALOG), frequency=named(FREQUENCY), triggers=named(TRIGGER_CHANNEL),
    outputs=named(OUTPUT), decoder=DECODER, diagnostics=DIAGNOSTICS, j1939=J1939)
GAUGE = mapping(["signal"], label=TEXT, signal=SIGNAL_OF_MESSAGE, unit=TEXT, decimals=integer(0, 6),
                warn_above=VALUE, warn_below=VALUE, hysteresis=VALUE, stale_ms=MS,
                proves=listing(NAME))
FAULT_PRIORS = mapping(**{kind: number() for kind in (
    "wire_open", "contact_open", "series_resistance", "short_to_ground", "short_to_supply",
    "splice_broken_open", "terminals_swapped", "terminals_of_large_connector_swapped",
    "neighbours_shorted", "connectors_swapped", "not_fitted", "tooth_missing", "wheel_mounted_wrong", "wrong_calibration",
    "display_byte_order", "display_scale", "display_offset", "message_missing")})
BENCH = mapping(
    ["kind", "name", "engine"], kind={"const": "bench"}, format=FORMAT, name=NAME, title=TEXT, note=TEXT,
    engine=mapping(["firing_order"], **FIRING, compression_ripple=number()),
    barometric_pressure_kpa=number("kPa"), fault_priors=FAULT_PRIORS,
    stimuli=named(STIMULUS), triggers=named(TRIGGER),
    sensors=named(SENSOR), connectors=named(CONNECTOR, r"^[A-Za-z0-9_-]{1,64}$"), splices=listing(WORD),
    wires=listing(WIRE),
    supplies=named(mapping(["plus", "minus"], plus=TERMINAL, minus=TERMINAL, voltage_v=VOLT,
                           series_ohm=OHM)),
    loads=named(mapping(["plus", "minus"], plus=TERMINAL, minus=TERMINAL, ohm=OHM)),
    buses=named(BUS), controller=CONTROLLER,
    display=mapping(layouts=named(MESSAGE), gauges=named(GAUGE)))

CONDITION_VALUE = {"type": ["number", "string", "boolean"]}
CONDITION = mapping(["signal"], signal=SIGNAL_OF_MESSAGE, equals=CONDITION_VALUE,
                    not_equals=CONDITION_VALUE, above=CONDITION_VALUE, below=CONDITION_VALUE)
DRIVE = {"anyOf": [VALUE, mapping(
    hold=VALUE, ramp=VALUE, over_s=S, sine=VALUE, amplitude=VALUE, period_s=S, crank=number("rpm"),
    points={"anyOf": [points(S, VALUE), mapping(["csv", "time", "value"], csv=TEXT, time=TEXT,
                                                value=TEXT)]})]}
STEP = mapping(["name"], name=NAME, for_s=S, wait_for=CONDITION, limit_s=S, drive=named(DRIVE))
FAULT_KINDS = {
    "open": [], "short_to_ground": [], "short_to_supply": [], "short_together": ["with"],
    "series_resistance": ["ohm"], "leakage": ["ohm"], "terminals_swapped": ["with"],
    "connectors_swapped": ["with"], "ground_offset": ["volts"], "not_fitted": [],
    "wheel_offset": ["deg"], "tooth_missing": ["tooth"], "sensor_offset": ["value"],
    "message_missing": [], "message_late": ["factor"], "message_early": ["early_ms"],
    "message_doubled": [], "identifier_wrong": ["id"], "length_wrong": ["length_bytes"],
    "bytes_swapped": [], "value_frozen": [], "counter_stuck": [], "counter_jumps": [],
    "checksum_wrong": [], "node_gone": [], "babbling_node": ["id", "period_ms"],
    "error_frames": ["period_ms"], "bus_off": [],
    "layout": [], "calibration": []}
FAULT = mapping(
    ["kind", "at"], name=TEXT, kind=words(*FAULT_KINDS), at=TEXT, ohm=OHM, volts=VOLT, deg=DEG,
    tooth=integer(1, 1000), value=VALUE, factor=number(), gain=number(),
    byte_order=words("little", "big"), scale=number(), offset=VALUE, start_bit=integer(0, 511),
    id=integer(0, 0x1FFFFFFF), extended=BOOL, length_bytes=integer(0, 64), period_ms=MS,
    early_ms=MS, by=integer(1, 65535), every=integer(1, 1000000),
    during=listing(NAME, 1), from_s=S, to_s=S, **{"with": TEXT},
    more=[when(kind, ["at", *needed]) for kind, needed in FAULT_KINDS.items()])
EXPECTATION_KINDS = {
    "follows": ["signal", "tolerance"], "always": ["condition"], "never": ["condition"],
    "within": ["condition", "within_s"], "for_at_least": ["condition", "for_s"],
    "message_present": ["message", "jitter_ms"], "counter": ["message"], "checksum": ["message"],
    "display_shows": ["gauge"], "synchronised": ["condition", "turns"],
    "only_known_messages": ["bus"], "no_error_frames": ["bus"],
    "controller_reads": ["pid", "tolerance"], "trouble_code": ["within_s"], "no_trouble_codes": []}
EXPECTATION = mapping(
    ["name", "kind", "means"], name=NAME, kind=words(*EXPECTATION_KINDS), means=TEXT,
    proves=listing(NAME), during=listing(NAME, 1), condition=CONDITION, signal=SIGNAL_OF_MESSAGE,
    stimulus=NAME, value=VALUE, tolerance=VALUE, settle_s=S, within_s=S, for_s=S, turns=number(),
    message=NAME, period_ms=MS, jitter_ms=MS, bus=NAME, also=listing(integer(0, 0x1FFFFFFF)), gauge=NAME, unit=TEXT,
    state=words("ok", "warning", "stale"), absolute=BOOL, over=words("obd", "uds", "dm1"),
    pid=integer(0, 255), code=TEXT, **SPN,
    more=[when(kind, needed) for kind, needed in EXPECTATION_KINDS.items()])
REPLAY = mapping(
    ["file"], file=TEXT, bus=NAME, interface=TEXT, speed=number(), begin_s=S, from_s=S, to_s=S,
    loop=BOOL, pause_s=S, instead_of=listing(words("simulator", "controller", "display")),
    only=listing(WORD), without=listing(WORD),
    override=named({"anyOf": [named(NAME), {"type": "null"}]}))
SCENARIO = mapping(
    ["kind", "name", "bench", "steps"], kind={"const": "scenario"}, format=FORMAT, name=NAME, title=TEXT,
    bench=TEXT, seed=integer(0, 2**63 - 1), steps=listing(STEP, 1), faults=listing(FAULT),
    replay=listing(REPLAY),
    expect=listing(EXPECTATION))


def tidy(schema):
    """`not: false` says nothing."""
    if isinstance(schema, dict):
        return {k: tidy(v) for k, v in schema.items() if not (k == "not" and v is False)}
    return [tidy(item) for item in schema] if isinstance(schema, list) else schema


def texts():
    for name, schema in (("bench", BENCH), ("scenario", SCENARIO)):
        whole = {"$schema": "https://json-schema.org/draft/2020-12/schema",
                 "title": f"drycrank {name}", **tidy(schema)}
        yield f"{name}.schema.json", json.dumps(whole, indent=1) + "\n"


if __name__ == "__main__":
    folder = pathlib.Path(__file__).parent
    for file_name, text in texts():
        (folder / file_name).write_text(text, encoding="utf-8")
        print(folder / file_name, file=sys.stderr)
