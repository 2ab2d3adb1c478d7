// SPDX-License-Identifier: Apache-2.0
//
// Keys of the controller: its terminals, channels, decoder and outputs (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_CONTROLLER_H_
#define DRYCRANK_PROFILE_KEYS_CONTROLLER_H_

#include "profile/keys_bench.h"
#include "profile/keys_triggers.h"

namespace drycrank::profile {

template <>
struct EnumWords<Conditioning> {
  static constexpr Word<Conditioning> kAll[] = {{"threshold", Conditioning::kThreshold},
                                                {"zero_crossing", Conditioning::kZeroCrossing}};
};
template <>
struct EnumWords<Firing> {
  static constexpr Word<Firing> kAll[] = {{"sequential", Firing::kSequential},
                                          {"paired", Firing::kPaired}};
};
template <>
struct EnumWords<ActiveEdge> {
  static constexpr Word<ActiveEdge> kAll[] = {{"rising", ActiveEdge::kRising},
                                              {"falling", ActiveEdge::kFalling}};
};
template <>
struct EnumWords<ToothPoint> {
  static constexpr Word<ToothPoint> kAll[] = {
      {"begin", ToothPoint::kBegin}, {"centre", ToothPoint::kCentre}, {"end", ToothPoint::kEnd}};
};
template <>
struct EnumWords<OutputKind> {
  static constexpr Word<OutputKind> kAll[] = {{"low_side", OutputKind::kLowSide},
                                              {"high_side", OutputKind::kHighSide},
                                              {"ignition", OutputKind::kIgnition},
                                              {"trailing_ignition",
                                               OutputKind::kTrailingIgnition},
                                              {"injector", OutputKind::kInjector}};
};

inline constexpr Field<Controller> kControllerKeys[] = {
    {"supply", To<&Controller::supply>, kTerminal, "Its supply pin.", "supply: CLT.1"},
    {"ground", To<&Controller::ground>, kTerminal,
     "Its ground pin: all it measures, it measures against this.", "ground: CLT.1"},
    {"more_supplies",
     {},
     kTerminal.List(),
     "Its further supply pins, on any plug, joined to supply inside. With two in parallel, neither "
     "alone is shown whole by a value: one of them broken moves nothing."},
    {"more_grounds",
     {},
     kTerminal.List(),
     "Its further ground pins, on any plug, joined to ground inside."},
    {"supply_ohm", To<&Controller::supply_ohm>, Number("ohm", 0.1, 1e9),
     "Its own current, as a resistance from supply to ground. Common practice, no source."},
    {"min_supply_v", To<&Controller::min_supply_v>, Number("V", 0, 60),
     "With less it is off: no messages, no outputs. Common practice, no source."},
    {"sample_ms", To<&Controller::sample_ms>, Number("ms", 0.1, 10000),
     "How often it reads its analogue inputs. Common practice, no source."},
    {"sensor_grounds",
     {},
     kTerminal.List(),
     "Its pins for the sensors' grounds, joined to its ground inside. A sensor grounded elsewhere "
     "reads whatever the other wire loses."},
    {"references", {}, Section("reference").List(), "Its 5 V outputs for sensors."},
    {"inputs", {}, Section("input").List(), "Its input pins, electrically."},
    {"analog", {}, Section("analog").Named(), "Values that it makes of a voltage."},
    {"frequency",
     {},
     Section("frequency").Named(),
     "Values that it makes of a frequency or a pulse width."},
    {"triggers",
     {},
     Section("trigger_channel").Named(),
     "Its inputs for crank and cam, and the wheels that have been set in it."},
    {"outputs", {}, Section("output").Named(), "What it switches."},
    {"diagnostics",
     {},
     Section("diagnostics"),
     "What it answers to a tester, by OBD or UDS.",
     {},
     "no answer"},
    {"j1939", {}, Section("j1939"), "Its address and trouble codes on a J1939 bus.", {}, "none"},
    {"decoder", {}, Section("decoder"), "How it makes angle, spark and injection of the edges."},
};

inline constexpr Field<ReferenceOutput> kReferenceKeys[] = {
    {"terminal", To<&ReferenceOutput::terminal>, kTerminal, "The pin.", "terminal: CLT.1"},
    {"voltage_v", To<&ReferenceOutput::voltage_v>, Number("V", 0.5, 15), "Voltage without load."},
    {"series_ohm", To<&ReferenceOutput::series_ohm>, Number("ohm", 1e-4, 1e4),
     "Resistance inside: how much it falls under load. Common practice, no source."},
    {"limit_ma", To<&ReferenceOutput::limit_ma>, Number("mA", 1, 10000),
     "What it gives at most: above it its voltage falls, for all that share it. 50 to 250 mA are "
     "usual (common practice, no source). It takes in without limit.",
     {}, "none"},
};

inline constexpr Field<InputCircuit> kInputKeys[] = {
    {"terminal", To<&InputCircuit::terminal>, kTerminal, "The pin.", "terminal: CLT.1"},
    {"minus",
     To<&InputCircuit::minus>,
     kTerminal,
     "The second pin of a differential input, for a coil.",
     {},
     "single-ended"},
    {"pull_up_ohm", To<&InputCircuit::pull_up_ohm>, Number("ohm", 0, 1e9),
     "Resistor inside, from the pin to pull_up_v: 1 ohm or more, 0: none. Thermistors, switches "
     "and "
     "Hall outputs are not seen without one."},
    {"pull_up_v", To<&InputCircuit::pull_up_v>, Number("V", 0, 60),
     "Where that resistor goes, against the controller's ground."},
    {"input_ohm", To<&InputCircuit::input_ohm>, Number("ohm", 1, 1e12),
     "Resistance from the pin to the controller's ground, or between the two pins. Common "
     "practice, "
     "no source."},
};

inline constexpr Field<AnalogChannel> kAnalogKeys[] = {
    {"terminal", {}, kTerminal, "One of the pins under inputs.", "terminal: ECU.20"},
    {"unit", To<&AnalogChannel::unit>, kUnit, "Unit of the value.", "unit: degC"},
    {"value_at_volts", To<&AnalogChannel::value_at_volts>,
     PointsOf({"V", -60, 60}, {"of the channel"}),
     "The table that has been set in it, rows of (V, value): [[0.5, 0], [4.5, 100]]; straight "
     "between them, held outside. That of another sensor makes every reading wrong.",
     "value_at_volts: [[0.5, 0], [4.5, 100]]"},
    {"ratiometric", To<&AnalogChannel::ratiometric>, kTruth,
     "Are the volts measured as a share of its own 5 V? Then a weak 5 V moves nothing."},
    {"low_v",
     To<&AnalogChannel::low_v>,
     Number("V", -60, 60),
     "Below, it says \"signal low\": a short to ground or, with a sensor that has its own supply, a "
     "broken wire.",
     {},
     "no limit"},
    {"high_v",
     To<&AnalogChannel::high_v>,
     Number("V", -60, 60),
     "Above, it says \"signal high\": a short to the supply or, with a pull-up, a broken wire.",
     {},
     "no limit"},
    {"fault_delay_ms", To<&AnalogChannel::fault_delay_ms>, Number("ms", 0, 60000),
     "How long that must last before it is said. Common practice, no source."},
    {"fallback", To<&AnalogChannel::fallback>, Number("of the channel"),
     "The value it goes on with while the signal is out of range."},
    {"filter_ms", To<&AnalogChannel::filter_ms>, Number("ms", 0, 60000),
     "Time constant of its smoothing; 0: none."},
};

inline constexpr Field<FrequencyChannel> kFrequencyChannelKeys[] = {
    {"terminal", {}, kTerminal, "One of the pins under inputs.", "terminal: ECU.20"},
    {"unit", To<&FrequencyChannel::unit>, kUnit, "Unit of the value.", "unit: km/h"},
    {"high_v", To<&FrequencyChannel::high_v>, Number("V", -60, 60),
     "Above, the input is high. Common practice, no source."},
    {"low_v", To<&FrequencyChannel::low_v>, Number("V", -60, 60),
     "Below, the input is low. Common practice, no source."},
    {"value_at_hz", To<&FrequencyChannel::value_at_hz>,
     PointsOf({"Hz", 0, 1e6}, {"of the channel"}),
     "The table that has been set in it, rows of (Hz, value). Either this or value_at_low_ms."},
    {"value_at_low_ms", To<&FrequencyChannel::value_at_low_ms>,
     PointsOf({"ms", 0, 1e5}, {"of the channel"}),
     "The same by the low time of the pulse, rows of (ms, value)."},
    {"timeout_ms", To<&FrequencyChannel::timeout_ms>, Number("ms", 1, 60000),
     "After so long without an edge it takes 0 Hz and says \"no signal\"."},
    {"fallback", To<&FrequencyChannel::fallback>, Number("of the channel"),
     "The value it goes on with while there is no signal."},
    {"zero_is_valid", To<&FrequencyChannel::zero_is_valid>, kTruth,
     "Is no edge at all a value? Of a wheel speed it is: standing still is no fault."},
};

// Before the keys of the conditioning, and after them.
inline constexpr Field<TriggerChannel> kTriggerChannelKeys[] = {
    {"terminal", {}, kTerminal, "One of the pins under inputs.", "terminal: ECU.20"},
    {"conditioning", To<&TriggerChannel::conditioning>, OneOf<Conditioning>(),
     "How it makes edges of the voltage: by two thresholds (Hall), or where a coil's voltage falls "
     "through zero."},
};
inline constexpr Field<TriggerChannel> kThresholdKeys[] = {
    {"high_v", To<&TriggerChannel::high_v>, Number("V", -60, 60),
     "Above, the input is high. Common practice, no source."},
    {"low_v", To<&TriggerChannel::low_v>, Number("V", -60, 60),
     "Below, the input is low. A bad sensor ground lifts the low level, and no edge is seen. "
     "Common "
     "practice, no source."},
    {"both_edges", To<&TriggerChannel::both_edges>, kTruth,
     "Of a cam: the edge at a tooth's other end is read as well, so that teeth that begin alike "
     "are "
     "told apart by their width."},
    {"by_level", To<&TriggerChannel::by_level>, kTruth,
     "Of a cam: as the crank's teeth pass, is a tooth of the cam in front of its sensor or not? That "
     "tells the two turns apart, not the cam's edges; within window_deg of one it is not asked."},
};
inline constexpr Field<TriggerChannel> kZeroCrossingKeys[] = {
    {"arm_v", To<&TriggerChannel::arm_v>, Number("V", 0.001, 60),
     "The voltage must have passed this before the crossing counts; a coil that gives less at "
     "cranking speed is not seen. Common practice, no source."},
    {"arm_share", To<&TriggerChannel::arm_share>, Number("", 0, 0.9),
     "An input that adapts: the voltage must have passed this share of the highest of the three "
     "lobes before as well, so that noise between strong lobes is not taken for a tooth. A tooth "
     "much weaker than those before it is lost. Common practice, no source."},
};
inline constexpr Field<TriggerChannel> kToldWheelKeys[] = {
    {"edge", To<&TriggerChannel::edge>, OneOf<ActiveEdge>(),
     "The edge that counts. The other one lies at the other end of each tooth."},
    {"shaft", To<&TriggerChannel::shaft>, OneOf<Shaft>(), "Where it believes the wheel sits."},
    {"point", To<&TriggerChannel::point>, OneOf<ToothPoint>(),
     "Which point of a tooth that edge stands for. The centre of a coil's tooth is where its "
     "voltage falls through zero; of a tooth more than three times as wide as the air beside it "
     "that is earlier."},
    {"offset_deg", To<&TriggerChannel::offset_deg>, Number("deg", 0, kRotorTurnDeg),
     "Where it believes the wheel's 0 lies, as offset_deg of the trigger. What differs from there "
     "is an error of the ignition angle."},
    {"window_deg", To<&TriggerChannel::window_deg>, Number("deg", 0.1, 360),
     "How far from its place a cam edge may lie; farther, it is unexpected. Common practice, no "
     "source."},
    {"wheel",
     {},
     Section("wheel"),
     "The pattern that has been set in it.",
     "wheel: {teeth: 60, missing: [59, 60]}"},
};

inline constexpr Field<Decoder> kDecoderKeys[] = {
    {"strokes",
     {},
     kStrokeCount,
     "What has been set in it; 2 for a rotary engine, whose rotors fire once in every turn.",
     {},
     "the engine's"},
    {"firing_order",
     {},
     kCylinders,
     "What has been set in it; another one than the engine's fires the wrong cylinders.",
     {},
     "the engine's"},
    {"firing_angles_deg", {}, kFiringAngles, "What has been set in it.", {}, "the engine's"},
    {"firing",
     To<&Decoder::firing>,
     OneOf<Firing>(),
     "sequential: each cylinder once in a cycle, which takes a cam on four strokes. paired: each "
     "coil and injector once in every turn of the crank, which a crank alone allows (wasted spark, "
     "batch injection).",
     {},
     "sequential; paired where four strokes have no cam"},
    {"primary",
     {},
     NameOf("a trigger"),
     "The trigger that gives the position.",
     {},
     "the first on the crank"},
    {"cams",
     {},
     NameOf("a trigger").List(),
     "The others; the first tells compression from exhaust. A wheel on a rotor tells a place only "
     "where it looks the same each third of a turn.",
     {},
     "all on the cam"},
    {"ratio_tolerance", To<&Decoder::ratio_tolerance>, Number("", 0.01, 0.95),
     "How far the time between two teeth may be from the expected one, as a share. Too small, and "
     "it loses synchronisation while cranking. Common practice, no source."},
    {"stall_ms", To<&Decoder::stall_ms>, Number("ms", 1, 60000),
     "After so long without a tooth the engine stands. Common practice, no source."},
    {"advance_deg", To<&Decoder::advance_deg>, Number("deg", -90, 180),
     "Ignition, before top dead centre."},
    {"trailing_deg", To<&Decoder::trailing_deg>, Number("deg", -60, 60),
     "How far behind that it fires the trailing coils, of an engine with a second plug for each "
     "cylinder or rotor; before it, where less than 0.",
     {},
     "it fires none"},
    {"dwell_ms", To<&Decoder::dwell_ms>, Number("ms", 0.01, 50),
     "How long a coil is charged. Too long, and a real coil overheats."},
    {"injection_end_deg", To<&Decoder::injection_end_deg>, Number("deg", -720, 720),
     "When injection ends, before top dead centre of the intake stroke."},
    {"injection_ms", To<&Decoder::injection_ms>, Number("ms", 0, 200), "How long it injects."},
    {"rev_limit_rpm", To<&Decoder::rev_limit_rpm>, Number("rpm", 0, 20000),
     "Above, it neither fires nor injects."},
};

// Before the keys of its witness, and after them.
inline constexpr std::string_view kWitnessWords[] = {"operator", "capture"};
inline constexpr Field<ControllerOutput> kOutputKeys[] = {
    {"label",
     To<&ControllerOutput::label>,
     kText,
     "What reports and questions call it.",
     {},
     "its name"},
    {"terminal", {}, kTerminal, "The pin.", "terminal: ECU.40"},
    {"kind", To<&ControllerOutput::kind>, OneOf<OutputKind>(),
     "Switches to ground (low_side) or to the supply (high_side), fires a coil (ignition), fires the "
     "coil of a cylinder's second plug (trailing_ignition), or opens an injector.",
     "kind: low_side"},
    {"cylinder",
     To<&ControllerOutput::cylinder>,
     Whole(1, 24),
     "Of a coil or an injector: whose. Two of them swapped is what this finds. A rotor's number, "
     "where the engine has rotors.",
     {},
     "not said"},
    {"load", {}, NameOf("a load"), "What it switches.", "load: fan, one of 'loads'"},
    {"driven_by",
     {},
     Number("of the stimulus").Named(),
     "Stimuli that make it act, with their values: {coolant_temperature: 105 degC}."},
    {"proved_by",
     {},
     OneOf(kWitnessWords).Or(kSignal),
     "Who says that it acts: a person (operator), a capture, or a signal on the bus that is the "
     "controller's own measurement.",
     {},
     "operator"},
};
inline constexpr Field<ControllerOutput> kAskedOutputKeys[] = {
    {"asks",
     To<&ControllerOutput::question>,
     kText,
     "What the person is asked, as: Does the radiator fan turn?",
     {},
     "Does this act: its label?"},
};
inline constexpr Field<ControllerOutput> kWatchedOutputKeys[] = {
    {"above", To<&ControllerOutput::above>, Number("of the signal"),
     "The signal lies above this when the circuit is whole. One of above and below, or both."},
    {"below", To<&ControllerOutput::below>, Number("of the signal"),
     "The signal lies below this when the circuit is whole."},
};
inline constexpr Field<ControllerOutput> kFittedOutputKeys[] = {
    {"fitted", To<&ControllerOutput::fitted>, kTruth, "false: on paper only, not on the bench."},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_CONTROLLER_H_
