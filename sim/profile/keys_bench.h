// SPDX-License-Identifier: Apache-2.0
//
// Keys of the engine, of stimuli, and of the file as a whole (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_BENCH_H_
#define DRYCRANK_PROFILE_KEYS_BENCH_H_

#include "profile/bench.h"
#include "profile/key.h"
#include "types/format_number.h"
#include "types/limits.h"

namespace drycrank::profile {

template <>
struct EnumWords<PressureReference> {
  static constexpr Word<PressureReference> kAll[] = {{"absolute", PressureReference::kAbsolute},
                                                     {"gauge", PressureReference::kGauge}};
};

template <>
struct EnumWords<EngineKind> {
  static constexpr Word<EngineKind> kAll[] = {{"piston", EngineKind::kPiston},
                                              {"rotary", EngineKind::kRotary}};
};

inline constexpr double kMaxSpeedRpm = 20000;
inline constexpr std::string_view kBenchWord[] = {"bench"};
inline constexpr std::string_view kStrokes[] = {"2", "4"};
inline constexpr Value kStrokeCount = {
    .kind = ValueKind::kWhole, .low = 2, .high = 4, .words = kStrokes};
inline constexpr Value kCylinders = Whole(1, kMaxCylinders).List(1);
inline constexpr Value kFiringAngles = Number("deg", 0, 720).List(1);

inline constexpr Field<Bench> kBenchKeys[] = {
    {"kind", {}, OneOf(kBenchWord), "Says that this file is a bench.", "kind: bench"},
    {"format", {}, Whole(1, kBenchFormat), "Format number of the file.", {}, "1"},
    {"name", To<&Bench::name>, NameOf("the bench"), "Name of the bench, in records and reports.",
     "name: my_bench"},
    {"title", To<&Bench::title>, kText, "Heading of reports.", {}, "the name"},
    {"note", To<&Bench::note>, kText, "What a reader of the report should know about this bench."},
    {"barometric_pressure_kpa", To<&Bench::barometric_pressure_kpa>, Number("kPa", 30, 120),
     "Air pressure at the bench: the difference between a gauge pressure and an absolute one. 500 "
     "m "
     "higher it is about 6 kPa less. The default is the standard atmosphere of ISO 2533."},
    {"engine",
     {},
     Section("engine"),
     "The engine that is not there.",
     "engine: {strokes: 4, firing_order: [1, 3, 4, 2]}"},
    {"stimuli",
     {},
     Section("stimulus").Named(),
     "Quantities that the simulator drives, besides engine_speed, which is always there."},
    {"connectors", {}, Section("connector").Named(Value::Shape::kPlugs), "Plugs, with their pins."},
    {"splices", {}, kPlug.List(), "Places where several wires are joined."},
    {"wires", {}, Section("wire").List(), "The harness, wire by wire."},
    {"supplies",
     {},
     Section("supply").Named(),
     "Batteries and power supplies. The minus of the first is what all voltages are measured "
     "against. Needed as soon as there is a trigger, a sensor or a controller."},
    {"fuses", {}, Section("fuse").Named(), "Fuses, from pin to pin of a box or holder."},
    {"relays", {}, Section("relay").Named(), "Relays: a coil that closes a contact."},
    {"diodes", {}, Section("diode").Named(), "Diodes in the harness."},
    {"loads", {}, Section("load").Named(), "What the controller's outputs switch."},
    {"triggers", {}, Section("trigger").Named(), "Toothed wheels with their pickups."},
    {"sensors", {}, Section("sensor").Named(), "All other sensors."},
    {"buses", {}, Section("bus").Named(), "CAN buses, with their messages."},
    {"controller",
     {},
     Section("controller"),
     "The engine controller: its terminals, and what has been set in it."},
    {"protections",
     {},
     Section("protection").Named(),
     "What the controller must do by itself when a value leaves its limit. The stand-in does it; "
     "`drycrank limits` tries it."},
    {"readouts",
     {},
     Section("readout").Named(),
     "What the display must show, by the vehicle's needs and apart from what has been set in it. "
     "Expectations are judged by these.",
     {},
     "what has been set in the display"},
    {"switching",
     {},
     Section("switching"),
     "How the display must go on and off, by the vehicle's needs.",
     {},
     "asked of nobody"},
    {"display", {}, Section("display"), "The display: how it decodes messages, and its gauges."},
    {"fault_priors",
     {},
     Section("fault_priors"),
     "How likely each kind of fault is on this vehicle; a diagnosis prefers the likelier one when "
     "two explain the readings equally well."},
    {"power_nodes",
     {},
     Section("power_node").Named(),
     "Nodes that distribute power: channels that trip by themselves. drycrank plays them; their messages "
     "are those it sends."},
    {"drives",
     {},
     Section("output_device").Named(),
     "Devices by which signals leave the computer, in the place of pickups, sensors and supplies. "
     "They get nothing but with --outputs, and after they were armed."},
};

inline constexpr Field<Engine> kEngineKeys[] = {
    {"kind", To<&Engine::kind>, OneOf<EngineKind>(),
     "piston, or rotary: the crank is then the eccentric shaft, a cylinder a rotor. Each rotor fires "
     "once in every turn of that shaft and turns once in three; `strokes` is left out."},
    {"strokes",
     {},
     kStrokeCount,
     "Two-stroke or four-stroke: one cycle is one turn of the crank, or two.",
     {},
     "4"},
    {"firing_order",
     {},
     kCylinders,
     "Cylinders in the order they fire, each once, cylinder 1 first: its top dead centre after "
     "compression is angle zero.",
     "firing_order: [1, 3, 4, 2]"},
    {"firing_angles_deg",
     {},
     kFiringAngles,
     "At which crank angle each of them fires, from 0 on, less than a cycle. To be written for an "
     "uneven firing order, as of many V engines.",
     {},
     "evenly spread"},
    {"advance_deg",
     To<&Engine::advance_deg>,
     Number("deg", -90, 180),
     "Ignition before top dead centre that this engine was designed for, where the bench drives "
     "it. "
     "Proofread compares it with what has been set in the controller, and settings prints it.",
     {},
     "not said"},
    {"trailing_deg",
     To<&Engine::trailing_deg>,
     Number("deg", -60, 60),
     "Of an engine with a second plug for each cylinder or rotor: how far that one is designed to "
     "fire behind the first, where the bench drives it. Less than 0: before it.",
     {},
     "no second plug"},
    {"compression_ripple", To<&Engine::compression_ripple>, Number("", 0, 0.9),
     "How much the speed swings with each compression while cranking: 0.25 is a quarter of the "
     "time per degree. A controller that loses the missing tooth while cranking may not bear it. "
     "Common practice, no source."},
    {"kick_back_deg", To<&Engine::kick_back_deg>, Number("deg", 0, 90),
     "How far the crank swings back, pushed by what it has compressed, when it has come to a stop: "
     "edges then come in the reverse order."},
};

inline constexpr Field<Stimulus> kStimulusKeys[] = {
    {"label", To<&Stimulus::label>, kText, "What reports call it.", {}, "its name"},
    {"unit",
     To<&Stimulus::unit>,
     kUnit,
     "Unit of its values: degC, kPa, %, km/h, deg, count. Sensors, signals and gauges that show it "
     "must have one that converts.",
     {},
     "needed, except for engine_speed"},
    {"min",
     To<&Stimulus::min>,
     Number("of the stimulus"),
     "The lowest value that can be driven.",
     {},
     "needed, except for engine_speed"},
    {"max",
     To<&Stimulus::max>,
     Number("of the stimulus"),
     "The highest value that can be driven.",
     {},
     "needed, except for engine_speed"},
    {"initial", To<&Stimulus::initial>, Number("of the stimulus"),
     "Its value until a step of the scenario drives it; within min and max."},
    {"reference", To<&Stimulus::reference>, OneOf<PressureReference>(),
     "Of a pressure only: against vacuum (absolute) or against the air around (gauge). Taken for "
     "the other it is one atmosphere wrong."},
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_BENCH_H_
