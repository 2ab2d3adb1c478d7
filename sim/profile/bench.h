// SPDX-License-Identifier: Apache-2.0
//
// What a bench file says, checked and in fixed units: engine data, stimuli, trigger wheels,
// sensors, harness, buses, controller and display. Plain values; every list keeps the order of the
// file, and an index into a list (stimulus 3) is how the later stages name things. Every number
// here has been checked for range and converted to the unit in its name by the loader
// (profile/load.h); a name that points elsewhere (a terminal, a stimulus, a message) is known to
// exist.
#ifndef DRYCRANK_PROFILE_BENCH_H_
#define DRYCRANK_PROFILE_BENCH_H_

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "profile/controller_setup.h"
#include "profile/fault_priors.h"
#include "profile/message.h"
#include "profile/pressure_reference.h"
#include "profile/readout.h"
#include "types/diagnostic.h"
#include "types/written_at.h"

namespace drycrank::profile {

struct Sensor;   // sensors.h
struct Trigger;  // triggers.h
struct Protection;  // protection.h
struct PowerNode;   // power_node.h
struct OutputDevice;  // output_device.h

// Of a rotary engine the crank is its eccentric shaft and a cylinder is a rotor: each fires once in
// every turn of the shaft, as on two strokes.
enum class EngineKind { kPiston, kRotary };

struct Engine {
  EngineKind kind = EngineKind::kPiston;
  int strokes = 4;                        // 2 or 4; of a rotary engine 2: its cycle is one turn
  std::vector<int> firing_order;          // cylinder numbers; [0] is the one at 0 degrees
  std::vector<double> firing_angles_deg;  // crank degrees of each entry of firing_order, [0, cycle)
  double compression_ripple = 0.25;       // [0, 0.9]: relative swing of 1/speed while cranking
  double kick_back_deg = 0;               // how far the crank swings back when it comes to a stop
  std::optional<double> advance_deg = {};  // ignition before top dead centre, as it was designed
  std::optional<double> trailing_deg = {};  // of the second plug, after that; none: there is none
  Place place = {};
  WrittenAt written = {};

  double cycle_deg() const { return strokes == 2 ? 360.0 : 720.0; }
};

// A named physical quantity that the simulator drives. `engine_speed` (rpm) is always there.
struct Stimulus {
  std::string name;
  std::string label;  // for people: "Coolant temperature"
  std::string unit;   // canonical
  double initial = 0;
  double min = 0;
  double max = 0;
  PressureReference reference = PressureReference::kAbsolute;  // pressures only
  Place place;
};

// ---- harness --------------------------------------------------------------------------------

struct Connector {
  std::string name;
  std::string label;
  std::string family;             // connectors of one family can be swapped by mistake
  std::vector<std::string> pins;  // "1", "2", ...; the terminal is "NAME.PIN"
  Place place;
  int rows = 1;  // of its face: the pins fill them row by row, mating side in front
  // Between two pieces of harness, a bulkhead: each pin may have a wire on either side. Its contact
  // lies between the one that is written first and the other.
  bool in_line = false;
};

struct Wire {
  std::string circuit;   // unique name of the circuit it belongs to; wires may share one
  std::string from, to;  // terminals "CLT.1" or splices "S_GND"
  double length_m = 1;
  double area_mm2 = 0.5;     // conductor area
  double mohm_per_m = 39.0;  // from the published table for the gauge as written
  std::string gauge;         // as written: "0.5 mm2", "20 AWG"
  std::string colour;
  bool fitted = true;  // false: on paper only, not in the harness
  Place place;
  std::string twist = {};  // wires that are twisted together share this name; empty: not twisted
  bool has_length = false, has_gauge = false;  // as written, not by default
  // Of a fuse, its rating; 0: a wire. A fuse is the part of a circuit that one pulls out and looks
  // at: it joins pins behind their contacts, or splices (bus bars), and breaks as a wire does.
  double fuse_a = 0;

  double Ohm() const { return length_m * mohm_per_m * 1e-3; }
  bool IsFuse() const { return fuse_a > 0; }
};

struct Supply {
  std::string name;
  std::string plus, minus;  // terminals; minus of the first supply is the reference node
  double voltage_v = 12;
  double tolerance_v = 1;  // a bench supply or battery may be off by so much and nothing be wrong
  double series_ohm = 0.02;
};

struct Load {
  std::string name;
  std::string plus, minus;
  double ohm = 10;
  // What it takes when it is switched on or stuck (a motor that stalls, a lamp that is cold), and for
  // how long; 0: not stated.
  double inrush_a = 0, inrush_ms = 0;
};

// What stands across a relay's coil, against the voltage that it gives when it is switched off.
enum class Suppression { kNone, kDiode, kResistor };

// Pulled in as long as its coil has `pulls_in_v`, either way round. Its diode, where it has one,
// conducts from coil_minus to coil_plus.
struct Relay {
  std::string name;
  std::string coil_plus, coil_minus;  // terminals: 86 and 85, or 1 and 2
  std::string common;                 // 30
  std::string normally_open;          // 87: joined to common while pulled in
  std::string normally_closed;        // 87a: while it is not; empty: none
  double coil_ohm = 90;
  double pulls_in_v = 7.2;
  double contact_ohm = 0.01;
  Suppression suppression = Suppression::kNone;
  double suppression_ohm = 680;
  Place place = {};
};

struct Diode {
  std::string name;
  std::string anode, cathode;  // terminals
  double forward_v = 0.7;
  Place place = {};
};

// ---- display --------------------------------------------------------------------------------

struct Gauge {
  std::string name;
  std::string label;
  std::string message, signal;  // what it shows
  std::string unit;             // shown in this unit
  int decimals = 0;
  std::optional<double> warn_above, warn_below;  // shown unit
  double hysteresis = 0;                         // shown unit
  double stale_ms = 1000;
  std::vector<std::string> proves;  // unused by the stand-in
  Place place;
  int page = 1;
  std::optional<double> min = {}, max = {};  // held within; none: all that comes
  ValueNames values = {};
  std::string lamp = {};                        // lit while it warns; empty: none
  std::string dashes = kDashes;                 // in place of a value that is gone
  std::optional<double> hysteresis_below = {};  // of warn_below, where it is set apart
  // As of a readout (readout.h).
  bool stale_is_taken = false;  // stale_ms is not written: it is what its readout must have
  std::string not_available = {};
  double lamp_blinks_hz = 0;
  bool lamp_latches = false;
  std::string acknowledged_by = {};
  Keeps keeps = Keeps::kNothing;
  std::optional<Bar> bar = {};
};

struct Display {
  std::vector<Message> layouts;  // the display's own idea of the messages, by name
  std::vector<Gauge> gauges;
  Place place;
  Switching switching = {};
};

// ---- the whole --------------------------------------------------------------------------------

// Whoever looks into its triggers, sensors or protections includes triggers.h, sensors.h,
// protection.h or power_node.h: few do, and a new kind of sensor compiles only those anew.
struct Bench {
  Bench();
  Bench(const Bench&);
  Bench(Bench&&) noexcept;
  Bench& operator=(const Bench&);
  Bench& operator=(Bench&&) noexcept;
  ~Bench();

  std::string file;
  std::string name;
  std::string title;
  std::string note;
  Engine engine;
  double barometric_pressure_kpa = 101.325;
  std::vector<Stimulus> stimuli;  // [0] is engine_speed
  std::vector<Trigger> triggers;
  std::vector<Sensor> sensors;
  std::vector<Connector> connectors;
  std::vector<std::string> splices;
  std::vector<Wire> wires;
  std::vector<Supply> supplies;
  std::vector<Load> loads;
  std::vector<Relay> relays = {};
  std::vector<Diode> diodes = {};
  std::vector<Bus> buses;
  std::optional<Controller> controller;
  std::vector<Protection> protections;  // what the controller must do by itself, and does
  std::vector<PowerNode> power_nodes;
  std::optional<Display> display;
  FaultPriors fault_priors;
  std::vector<Readout> readouts = {};       // what must be shown; empty: not written
  std::optional<Switching> switching = {};  // how it must go on and off; none: not written
  std::vector<OutputDevice> drives;          // by what its signals leave the computer
};

// What the display must show: the readouts, or where none are written, what has been set in it.
std::vector<Readout> RequiredReadouts(const Bench& bench);
// The same of its going on and off. Nothing: it is asked of nobody.
std::optional<Switching> RequiredSwitching(const Bench& bench);

// Index of the entry with that name, or -1. For every list above with a `name`.
template <class List>
int IndexOf(const List& list, std::string_view name) {
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (list[i].name == name) return static_cast<int>(i);
  }
  return -1;
}

// Where a message lives: its bus and its index there.
struct MessageRef {
  int bus = -1;
  int message = -1;
};
MessageRef FindMessage(const Bench& bench, std::string_view message);
// REQUIRES: it exists
const Message& MessageAt(const Bench& bench, const MessageRef& ref);

// "message.signal" looked up over all buses; signal == -1 when it does not exist.
struct SignalRef {
  int bus = -1;
  int message = -1;
  int signal = -1;
};
SignalRef FindSignal(const Bench& bench, std::string_view message_dot_signal);
// REQUIRES: it exists
const Signal& SignalAt(const Bench& bench, const SignalRef& ref);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_BENCH_H_
