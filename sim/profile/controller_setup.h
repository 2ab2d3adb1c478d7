// SPDX-License-Identifier: Apache-2.0
//
// The engine controller of a bench (bench.h): its terminals, and what the stand-in is configured
// with. The truth plays no part.
#ifndef DRYCRANK_PROFILE_CONTROLLER_SETUP_H_
#define DRYCRANK_PROFILE_CONTROLLER_SETUP_H_

#include <optional>
#include <string>
#include <vector>

#include "profile/on_board.h"
#include "profile/wheel_shape.h"
#include "types/diagnostic.h"
#include "types/points.h"
#include "types/written_at.h"

namespace drycrank::profile {

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
  double limit_ma = 0;  // what it gives at most; 0: as much as series_ohm lets through
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
  WrittenAt written = {};
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
  WrittenAt written = {};
};

enum class Conditioning { kThreshold, kZeroCrossing };
enum class ActiveEdge { kRising, kFalling };
enum class ToothPoint { kBegin, kCentre, kEnd };

struct TriggerChannel {
  std::string name;
  std::string terminal;
  Conditioning conditioning = Conditioning::kThreshold;
  double high_v = 3, low_v = 1.5;  // kThreshold
  double arm_v = 0.3;              // kZeroCrossing: fires at 0 V after having passed this level, ...
  double arm_share = 0;            // ... and this share of the lobes before, [0, 0.9]
  ActiveEdge edge = ActiveEdge::kFalling;
  Shaft shaft = Shaft::kCrank;
  Wheel wheel;                            // the pattern the controller has been told
  ToothPoint point = ToothPoint::kBegin;  // which point of a tooth the active edge stands for
  bool both_edges = false;                // kThreshold: the edge at a tooth's other end is read too
  bool by_level = false;                  // kThreshold, of a cam: its level places, not its edges
  double offset_deg = 0;                  // as Trigger::offset_deg, as the controller has been told
  double window_deg = 20;  // cam edges farther than this from their place are "unexpected"
  Place place;
  WrittenAt written = {};
};

// Each cylinder once in a cycle; or once in a turn of the crank, which a crank alone allows: wasted
// spark, batch injection.
enum class Firing { kSequential, kPaired };

struct Decoder {
  int strokes = 4;
  std::vector<int> firing_order;
  std::vector<double> firing_angles_deg;
  Firing firing = Firing::kSequential;
  int primary = 0;               // index into triggers: the wheel that gives position
  std::vector<int> cams;         // indices of the others; the first gives the cycle phase
  double ratio_tolerance = 0.4;  // of an interval against the one expected, relative
  double stall_ms = 500;         // no tooth for so long: stopped
  double advance_deg = 10;       // ignition before top dead centre
  std::optional<double> trailing_deg = {};  // of the second coil, after the first; none: it fires none
  double dwell_ms = 3;
  double injection_end_deg = 60;  // before top dead centre of the intake stroke
  double injection_ms = 4;
  double rev_limit_rpm = 20000;
  Place place = {};
  WrittenAt written = {};  // what it leaves out is the engine's, or a default
};

enum class OutputKind { kLowSide, kHighSide, kIgnition, kTrailingIgnition, kInjector };
inline bool IsIgnition(OutputKind kind) {
  return kind == OutputKind::kIgnition || kind == OutputKind::kTrailingIgnition;
}
// How it becomes known that an output's circuit works.
enum class OutputWitness { kOperator, kBus, kCapture };

// What the controller switches: a load on one of its terminals.
struct ControllerOutput {
  std::string name;
  std::string label;  // "Radiator fan"
  std::string terminal;
  OutputKind kind = OutputKind::kLowSide;
  int cylinder = 0;  // of a coil or injector: whose; 0: not said
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
  std::string ground;  // terminal its voltages are measured against
  std::string supply;  // terminal
  // Further pins of the two, on any plug, joined to them inside.
  std::vector<std::string> more_supplies, more_grounds;
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

// The first of the decoder's further triggers that turns with a cam, and so tells the two turns of
// a cycle apart: index into triggers; -1: there is none.
int PhaseCam(const Controller& controller);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_CONTROLLER_SETUP_H_
