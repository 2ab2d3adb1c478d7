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
#include <utility>
#include <variant>
#include <vector>

#include "profile/fault_priors.h"
#include "profile/message.h"
#include "profile/on_board.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

// A broken line, x ascending: pairs of (x, y).
using Points = std::vector<std::pair<double, double>>;

struct Engine {
  int strokes = 4;                        // 2 or 4
  std::vector<int> firing_order;          // cylinder numbers; [0] is the one at 0 degrees
  std::vector<double> firing_angles_deg;  // crank degrees of each entry of firing_order, [0, cycle)
  double compression_ripple = 0.25;       // [0, 0.9]: relative swing of 1/speed while cranking

  double cycle_deg() const { return strokes == 2 ? 360.0 : 720.0; }
};

enum class PressureReference { kAbsolute, kGauge };

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

// ---- trigger wheels -------------------------------------------------------------------------

enum class Shaft { kCrank, kCam };

// One tooth: metal in front of the sensor from begin to end, degrees of the wheel's own shaft,
// begin in [0, 360), end in (begin, begin + 360).
struct Tooth {
  double begin_deg = 0;
  double end_deg = 0;
};

struct Wheel {
  std::string name;          // "60-2"; empty when written in place
  std::vector<Tooth> teeth;  // ascending, not overlapping
};

// Hall sensor with open-collector output. `signal` is pulled to `ground` while metal is in front
// (when low_at_tooth) and the sensor has at least min_supply_v between supply and ground.
struct HallPickup {
  std::string supply, ground, signal;  // terminals
  bool low_at_tooth = true;
  double on_ohm = 25;        // output transistor conducting
  double off_ohm = 5e6;      // output transistor off
  double supply_ohm = 1500;  // current drawn by the sensor, as a resistance
  double min_supply_v = 3.8;
  double diode_v = 0.7;  // the output transistor's reverse diode, ground -> signal
};

// Two-wire coil: EMF from minus to plus, proportional to speed. Positive while a tooth approaches.
struct VariableReluctancePickup {
  std::string plus, minus;  // terminals
  double coil_ohm = 900;
  double peak_v = 1;         // open-circuit peak of a full-width lobe ...
  double peak_at_rpm = 200;  // ... at this speed of the crank
  double noise_v = 0;        // deviation of the noise per lobe, V
};

using Pickup = std::variant<HallPickup, VariableReluctancePickup>;

struct Trigger {
  std::string name;
  std::string label;
  Shaft shaft = Shaft::kCrank;
  Wheel wheel;
  // Where the wheel sits: crank degrees after cylinder 1's firing top dead centre at which the
  // wheel's own 0 degrees passes the sensor. [0, 720)
  double offset_deg = 0;
  // Stimulus (deg of crank) by which a cam is advanced: its edges come that much earlier. -1: none.
  int advance_stimulus = -1;
  Pickup pickup;
  bool fitted = true;  // false: on paper only, its plug hangs free
  Place place;
};

// ---- sensors --------------------------------------------------------------------------------

// Below, `supply`, `ground`, `signal`, `plus`, `minus` are terminals.
struct BetaNtc {
  double r25_ohm = 10000;
  double beta_k = 3977;
};
struct SteinhartHartNtc {
  double a = 0, b = 0, c = 0;
};
struct TableNtc {
  Points ohm_at_degc;
};  // (degC, ohm), ohm strictly falling

struct NtcSensor {
  std::string plus, minus;
  std::variant<BetaNtc, SteinhartHartNtc, TableNtc> curve;
};
struct PlatinumSensor {  // IEC 60751
  std::string plus, minus;
  double r0_ohm = 100;
};
struct TypeKSensor {  // NIST Monograph 175; plus is the positive leg
  std::string plus, minus;
  double cold_junction_degc = 25;  // at the far end of the thermocouple's own leads
  double loop_ohm = 5;
};
// Output is a fraction of the voltage between supply and ground, through output_ohm.
struct RatiometricSensor {
  std::string supply, ground, signal;
  double low_value = 0, high_value = 100;  // in the stimulus' unit; pressures: in `reference`
  double low_fraction = 0.1, high_fraction = 0.9;
  double min_fraction = 0.02, max_fraction = 0.98;  // the output stage saturates here
  PressureReference reference = PressureReference::kAbsolute;
  double output_ohm = 50;
  double supply_ohm = 1000;  // current drawn, as a resistance
  double min_supply_v = 3.5;
};
// Output is a voltage of its own against ground, from a broken line (value, V).
struct VoltageSensor {
  std::string supply, ground, signal;
  Points volts_at_value;
  double output_ohm = 100;
  double supply_ohm = 1000;
  double min_supply_v = 6;
};
struct SwitchSensor {
  std::string plus, minus;
  double closed_at = 0.5;    // closes when the stimulus is at or above this
  bool closed_above = true;  // false: closes at or below
  double closed_ohm = 0.1;
  double open_ohm = 10e6;
};
// Open-collector pulse train: frequency from a straight line hz = hz_at_zero + hz_per_unit * value.
struct FrequencySensor {
  HallPickup output;
  double hz_at_zero = 0;
  double hz_per_unit = 1;  // wheel speed: teeth / (3.6 * circumference_m) for km/h
  // Share of the period at which the output is low, unless a width stimulus gives the low time:
  double low_fraction = 0.5;
  int width_stimulus = -1;  // fuel composition sensor: fuel temperature (degC) ...
  double width_ms_at_low = 1, width_low_degc = -40;  // ... with two points of its published scale
  double width_ms_at_high = 5, width_high_degc = 125;
};

using SensorModel = std::variant<NtcSensor, PlatinumSensor, TypeKSensor, RatiometricSensor,
                                 VoltageSensor, SwitchSensor, FrequencySensor>;

struct Sensor {
  std::string name;
  std::string label;
  int stimulus = 0;  // what it measures
  double min = 0;  // range of the quantity it is good for, stimulus unit; outside it holds the end
  double max = 0;
  SensorModel model;
  bool fitted = true;  // false: on paper only, its plug hangs free
  Place place;
  // How far the harness may move its reading, as a difference in stimulus unit; 0: not stated.
  double tolerance = 0;
};

// ---- harness --------------------------------------------------------------------------------

struct Connector {
  std::string name;
  std::string label;
  std::string family;             // connectors of one family can be swapped by mistake
  std::vector<std::string> pins;  // "1", "2", ...; the terminal is "NAME.PIN"
  Place place;
  int rows = 1;  // of its face: the pins fill them row by row, mating side in front
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
};

struct Supply {
  std::string name;
  std::string plus, minus;  // terminals; minus of the first supply is the reference node
  double voltage_v = 12;
  double series_ohm = 0.02;
};

struct Load {
  std::string name;
  std::string plus, minus;
  double ohm = 10;
};

// ---- controller (what the stand-in is configured with; the truth plays no part) --------------

// The electrical side of one input terminal.
struct InputCircuit {
  std::string terminal;
  std::string minus;       // second terminal of a differential input; empty: single-ended
  double pull_up_ohm = 0;  // 0: none
  double pull_up_v = 5;    // against the controller's ground
  double input_ohm = 1e6;  // to the controller's ground, or between the two terminals
  Place place;
};

struct ReferenceOutput {  // 5 V sensor supply
  std::string terminal;
  double voltage_v = 5;
  double series_ohm = 0.2;
};

// volts -> value, by the controller's own table; straight between points, held outside.
struct AnalogChannel {
  std::string name;  // the value's name on the bus
  std::string unit;
  std::string terminal;
  Points value_at_volts;
  bool ratiometric = true;         // volts are scaled to the reference's nominal voltage
  double low_v = 0, high_v = 1e9;  // outside: range fault "signal low" / "signal high"
  double fault_delay_ms = 100;     // how long it must last
  double fallback = 0;             // value used while the range fault stands
  double filter_ms = 0;            // first-order low-pass
  Place place;
};

struct FrequencyChannel {
  std::string name;
  std::string unit;
  std::string terminal;
  double high_v = 3, low_v = 1.5;  // thresholds of the input's comparator
  Points value_at_hz;              // one of the two is empty
  Points value_at_low_ms;          // low time of the pulse
  double timeout_ms = 500;         // no edge for so long: value_at_hz of 0 Hz, fault "no signal"
  double fallback = 0;
  bool zero_is_valid = false;  // wheel speed: standing still is no fault
  Place place;
};

enum class Conditioning { kThreshold, kZeroCrossing };
enum class ActiveEdge { kRising, kFalling };
enum class ToothPoint { kBegin, kCentre, kEnd };

struct TriggerChannel {
  std::string name;
  std::string terminal;
  Conditioning conditioning = Conditioning::kThreshold;
  double high_v = 3, low_v = 1.5;  // kThreshold
  double arm_v = 0.3;              // kZeroCrossing: fires at 0 V after having passed this level
  ActiveEdge edge = ActiveEdge::kFalling;
  Shaft shaft = Shaft::kCrank;
  Wheel wheel;                            // the pattern the controller has been told
  ToothPoint point = ToothPoint::kBegin;  // which point of a tooth the active edge stands for
  double offset_deg = 0;                  // as Trigger::offset_deg, as the controller has been told
  double window_deg = 20;  // cam edges farther than this from their place are "unexpected"
  Place place;
};

struct Decoder {
  int strokes = 4;
  std::vector<int> firing_order;
  std::vector<double> firing_angles_deg;
  int primary = 0;               // index into triggers: the wheel that gives position
  std::vector<int> cams;         // indices of the others; the first gives the cycle phase
  double ratio_tolerance = 0.4;  // of an interval against the one expected, relative
  double stall_ms = 500;         // no tooth for so long: stopped
  double advance_deg = 10;       // ignition before top dead centre
  double dwell_ms = 3;
  double injection_end_deg = 60;  // before top dead centre of the intake stroke
  double injection_ms = 4;
  double rev_limit_rpm = 20000;
};

enum class OutputKind { kLowSide, kHighSide, kIgnition, kInjector };
// How it becomes known that an output's circuit works.
enum class OutputWitness { kOperator, kBus, kCapture };

// What the controller switches: a load on one of its terminals.
struct ControllerOutput {
  std::string name;
  std::string label;  // "Radiator fan"
  std::string terminal;
  OutputKind kind = OutputKind::kLowSide;
  int cylinder = 0;  // kIgnition, kInjector: whose; 0: not said
  int load = -1;     // index into Bench::loads
  // Stimuli that make the controller act, with their values: ("coolant temperature", 105 degC).
  std::vector<std::pair<int, double>> driven_by;
  OutputWitness witness = OutputWitness::kOperator;
  std::string signal;                  // kBus: "message.signal" ...
  std::optional<double> above, below;  // ... which lies there when the circuit is whole; its unit
  std::string question;                // kOperator: "Does the radiator fan turn?"
  bool fitted = true;
  Place place;
};

struct Controller {
  std::string ground;      // terminal its voltages are measured against
  std::string supply;      // terminal
  double supply_ohm = 30;  // its own current, as a resistance supply -> ground
  double min_supply_v = 6;
  std::vector<std::string> sensor_grounds;  // joined to `ground` inside through 0.02 ohm each
  std::vector<ReferenceOutput> references;
  std::vector<InputCircuit> inputs;
  std::vector<AnalogChannel> analog;
  std::vector<FrequencyChannel> frequency;
  std::vector<TriggerChannel> triggers;
  std::vector<ControllerOutput> outputs;
  Decoder decoder;
  double sample_ms = 10;  // analogue inputs
  std::optional<OnBoardDiagnostics> diagnostics;
  std::optional<J1939Node> j1939;
  Place place;
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
};

struct Display {
  std::vector<Message> layouts;  // the display's own idea of the messages, by name
  std::vector<Gauge> gauges;
  Place place;
};

// ---- the whole --------------------------------------------------------------------------------

struct Bench {
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
  std::vector<Bus> buses;
  std::optional<Controller> controller;
  std::optional<Display> display;
  FaultPriors fault_priors;
};

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

// "message.signal" looked up over all buses; signal == -1 when it does not exist.
struct SignalRef {
  int bus = -1;
  int message = -1;
  int signal = -1;
};
SignalRef FindSignal(const Bench& bench, std::string_view message_dot_signal);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_BENCH_H_
