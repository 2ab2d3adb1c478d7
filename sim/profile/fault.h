// SPDX-License-Identifier: Apache-2.0
//
// One deviation put into harness, sensor, trigger, bus or a stand-in's configuration. Faults are
// data: the stage concerned applies them as an edit of its own model. A new kind is added here and
// to the variant; the compiler then leads to its reader (load_fault.cc and its neighbours), its
// words (report/words.cc, diagnose/describe.cc) and to the stage that it is put into.
//
//   kind                at                   with       parameters
//   open                terminal or circuit             contact or wire interrupted, fuse blown
//   short_to_ground     terminal or splice              ohm     to the first supply's minus
//   short_to_supply     terminal or splice              ohm     to the first supply's plus
//   short_together      terminal             terminal   ohm
//   series_resistance   terminal or circuit             ohm
//   leakage             terminal             terminal   ohm     default with: supply minus
//   terminals_swapped   terminal             terminal   the wires of two pins swapped
//   connectors_swapped  connector            connector  two plugs of one family swapped
//   ground_offset       terminal                        volts   a source in that contact
//   supply_off          supply, 5 V output's terminal   volts   gives so much more than the bench says
//   not_plugged         connector                       pulled off: all its contacts are open
//   relay_stays         relay                           off: does not pull in; on: stuck, welded
//   termination         bus.node                ohm     between its two pins; 0: none is there
//   not_fitted          sensor or trigger               device missing, plug hanging free
//   wheel_offset        trigger                         deg     wheel mounted late by crank deg
//   tooth_missing       trigger                         tooth   1-based tooth of the wheel gone
//   extra_tooth         trigger                         begin_deg, end_deg: a burr, or swarf that
//                                                               sticks, degrees of its own shaft
//   wheel_runout        trigger                         deg, at_deg: the wheel is off its centre; an
//                                                               edge at w comes at w + deg sin(w - at),
//                                                               a coil's lobe by 1 - swing cos(w - at)
//   pickup_inverted     trigger                         leads of a coil swapped at the sensor, or a
//                                                               Hall sensor of the other kind
//   pickup_strength     trigger with a coil             factor  EMF times factor: the air gap
//   electrical_noise    trigger                         rate_hz, width_us, volts: disturbances that
//                                                               come by chance, so many a second
//   cam_stuck           trigger with an advance         deg     the phaser stays there
//   cam_slow            trigger with an advance         deg_per_s  it moves no faster
//   sensor_offset       sensor                          value   reads as if the quantity were
//                                                               value higher (stimulus unit)
//   sensor_stuck        sensor                          value   reads as if the quantity were
//                                                               this, whatever it is
// On the bus, what a sender does wrong. A counter or checksum that is not meant stays right.
//   message_missing     message                         its sender leaves it out
//   message_late        message                         factor  period times factor
//   message_early       message                         early_ms, every: each every-th frame comes
//                                                               so much before its time
//   message_doubled     message                         each frame is sent twice
//   identifier_wrong    message                         id      sent under that identifier
//   length_wrong        message                         length_bytes  cut, or filled up with 0
//   bytes_swapped       message.signal                  sent in the other byte order
//   value_frozen        message or message.signal       keeps the value it had when this began
//   counter_stuck       message                         rolling counter does not roll
//   counter_jumps       message                         by, every: leaves out `by` counts before
//                                                               each every-th frame
//   checksum_wrong      message                         checksum inverted
//   node_gone           sender                          sends nothing, hears nothing
//   babbling_node       bus                             id, extended, length_bytes, period_ms:
//                                                               a stranger sends without end
//   error_frames        bus                             period_ms  error reports as they would come
//   bus_off             sender or bus                   sender: 32 errors, then it takes no part;
//                                                       bus: nothing is sent or received there
// In the configuration of a stand-in:
//   layout              message.signal                  byte_order, scale, offset, start_bit:
//                                                               as the *display* decodes it
//   calibration         analog channel                  gain, value: the controller's table is
//                                                               value * gain + value
//   told                `decoder`                       firing_order, advance_deg, trailing_deg:
//                                                               what the controller has been told instead;
//                       trigger channel                 offset_deg, edge, wheel; for the whole run
//                       protection                      limit, delay_ms, acts (never, other_way)
#ifndef DRYCRANK_PROFILE_FAULT_H_
#define DRYCRANK_PROFILE_FAULT_H_

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

// What a kind of fault is put into: a stage looks at its own kinds only.
enum class Into { kHarness, kDevice, kBus, kStandin };
const char* Name(Into into);  // "sensor and wheel"

namespace fault {

struct Open {
  static constexpr const char* kWord = "open";
  static constexpr Into kInto = Into::kHarness;
  int wire = -1;  // index into Bench::wires: this one alone, whatever `at` names; not in files
};
struct ShortToGround {
  static constexpr const char* kWord = "short_to_ground";
  static constexpr Into kInto = Into::kHarness;
  double ohm = 0;
};
struct ShortToSupply {
  static constexpr const char* kWord = "short_to_supply";
  static constexpr Into kInto = Into::kHarness;
  double ohm = 0;
};
struct ShortTogether {
  static constexpr const char* kWord = "short_together";
  static constexpr Into kInto = Into::kHarness;
  double ohm = 0;
};
struct SeriesResistance {
  static constexpr const char* kWord = "series_resistance";
  static constexpr Into kInto = Into::kHarness;
  double ohm = 0;
};
struct Leakage {
  static constexpr const char* kWord = "leakage";
  static constexpr Into kInto = Into::kHarness;
  double ohm = 0;
};
struct TerminalsSwapped {
  static constexpr const char* kWord = "terminals_swapped";
  static constexpr Into kInto = Into::kHarness;
};
struct ConnectorsSwapped {
  static constexpr const char* kWord = "connectors_swapped";
  static constexpr Into kInto = Into::kHarness;
};
struct GroundOffset {
  static constexpr const char* kWord = "ground_offset";
  static constexpr Into kInto = Into::kHarness;
  double volts = 0;
};
struct SupplyOff {
  static constexpr const char* kWord = "supply_off";
  static constexpr Into kInto = Into::kHarness;
  double volts = 0;
};
struct NotPlugged {
  static constexpr const char* kWord = "not_plugged";
  static constexpr Into kInto = Into::kHarness;
};
enum class RelayPosition { kOff, kOn };
struct RelayStays {
  static constexpr const char* kWord = "relay_stays";
  static constexpr Into kInto = Into::kHarness;
  RelayPosition stays = RelayPosition::kOff;
};
struct Termination {
  static constexpr const char* kWord = "termination";
  static constexpr Into kInto = Into::kHarness;
  double ohm = 0;  // what sits there instead of what the bench says; 0: nothing
};
struct NotFitted {
  static constexpr const char* kWord = "not_fitted";
  static constexpr Into kInto = Into::kDevice;
};
struct WheelOffset {
  static constexpr const char* kWord = "wheel_offset";
  static constexpr Into kInto = Into::kDevice;
  double deg = 0;
};
struct ToothMissing {
  static constexpr const char* kWord = "tooth_missing";
  static constexpr Into kInto = Into::kDevice;
  int tooth = 0;  // 1-based
};
struct ExtraTooth {
  static constexpr const char* kWord = "extra_tooth";
  static constexpr Into kInto = Into::kDevice;
  double begin_deg = 0, end_deg = 0;  // of its own shaft
};
struct WheelRunout {
  static constexpr const char* kWord = "wheel_runout";
  static constexpr Into kInto = Into::kDevice;
  double deg = 0, at_deg = 0;  // of its own shaft
  double swing = 0;            // of a coil's voltage, as a share
};
struct PickupInverted {
  static constexpr const char* kWord = "pickup_inverted";
  static constexpr Into kInto = Into::kDevice;
};
struct PickupStrength {
  static constexpr const char* kWord = "pickup_strength";
  static constexpr Into kInto = Into::kDevice;
  double factor = 1;
};
struct ElectricalNoise {
  static constexpr const char* kWord = "electrical_noise";
  static constexpr Into kInto = Into::kDevice;
  double rate_hz = 0, width_us = 50;
  double volts = 2;  // at a coil, of either sign; a switch is the other way round for so long
};
struct CamStuck {
  static constexpr const char* kWord = "cam_stuck";
  static constexpr Into kInto = Into::kDevice;
  double deg = 0;  // crank degrees early
};
struct CamSlow {
  static constexpr const char* kWord = "cam_slow";
  static constexpr Into kInto = Into::kDevice;
  double deg_per_s = 0;  // crank degrees
};
struct SensorOffset {
  static constexpr const char* kWord = "sensor_offset";
  static constexpr Into kInto = Into::kDevice;
  double value = 0;  // the stimulus' unit
};
struct SensorStuck {
  static constexpr const char* kWord = "sensor_stuck";
  static constexpr Into kInto = Into::kDevice;
  double value = 0;  // the stimulus' unit
};
struct MessageMissing {
  static constexpr const char* kWord = "message_missing";
  static constexpr Into kInto = Into::kBus;
};
struct MessageLate {
  static constexpr const char* kWord = "message_late";
  static constexpr Into kInto = Into::kBus;
  double factor = 1;
};
struct MessageEarly {
  static constexpr const char* kWord = "message_early";
  static constexpr Into kInto = Into::kBus;
  double early_ms = 0;
  int every = 10;
};
struct MessageDoubled {
  static constexpr const char* kWord = "message_doubled";
  static constexpr Into kInto = Into::kBus;
};
struct IdentifierWrong {
  static constexpr const char* kWord = "identifier_wrong";
  static constexpr Into kInto = Into::kBus;
  std::uint32_t id = 0;
};
struct LengthWrong {
  static constexpr const char* kWord = "length_wrong";
  static constexpr Into kInto = Into::kBus;
  int length_bytes = 8;
};
struct BytesSwapped {
  static constexpr const char* kWord = "bytes_swapped";
  static constexpr Into kInto = Into::kBus;
};
struct ValueFrozen {
  static constexpr const char* kWord = "value_frozen";
  static constexpr Into kInto = Into::kBus;
};
struct CounterStuck {
  static constexpr const char* kWord = "counter_stuck";
  static constexpr Into kInto = Into::kBus;
};
struct CounterJumps {
  static constexpr const char* kWord = "counter_jumps";
  static constexpr Into kInto = Into::kBus;
  int by = 2;
  int every = 10;
};
struct ChecksumWrong {
  static constexpr const char* kWord = "checksum_wrong";
  static constexpr Into kInto = Into::kBus;
};
struct NodeGone {
  static constexpr const char* kWord = "node_gone";
  static constexpr Into kInto = Into::kBus;
};
struct BabblingNode {
  static constexpr const char* kWord = "babbling_node";
  static constexpr Into kInto = Into::kBus;
  std::uint32_t id = 0;
  bool extended = false;
  int length_bytes = 8;
  double period_ms = 0;
};
struct ErrorFrames {
  static constexpr const char* kWord = "error_frames";
  static constexpr Into kInto = Into::kBus;
  double period_ms = 0;
};
struct BusOff {
  static constexpr const char* kWord = "bus_off";
  static constexpr Into kInto = Into::kBus;
};
struct Layout {
  static constexpr const char* kWord = "layout";
  static constexpr Into kInto = Into::kStandin;
  std::optional<ByteOrder> byte_order;
  std::optional<double> scale, offset;
  std::optional<int> start_bit;
};
struct Calibration {
  static constexpr const char* kWord = "calibration";
  static constexpr Into kInto = Into::kStandin;
  double gain = 1;
  double value = 0;  // the channel's unit
  double about = 0;  // of a size that is sought: the value that gain leaves alone; not in files
};
enum class ToldToAct { kNever, kOtherWay };
// One of them is set.
struct Told {
  static constexpr const char* kWord = "told";
  static constexpr Into kInto = Into::kStandin;
  std::vector<int> firing_order;      // at the decoder, as is the next
  std::optional<double> advance_deg;  // before top dead centre
  std::optional<double> offset_deg;   // of a trigger channel, as are the next
  std::optional<ActiveEdge> edge;
  std::string wheel;                  // "36-1" (told_controller.h)
  std::optional<double> limit = {};   // of a protection, in its unit; as are the next
  std::optional<double> delay_ms = {};
  std::optional<ToldToAct> acts = {};
  std::optional<double> trailing_deg = {};  // at the decoder: of the second coil, after the first
};

}  // namespace fault

using FaultKind =
    std::variant<fault::Open, fault::ShortToGround, fault::ShortToSupply, fault::ShortTogether,
                 fault::SeriesResistance, fault::Leakage, fault::TerminalsSwapped,
                 fault::ConnectorsSwapped, fault::GroundOffset, fault::SupplyOff, fault::NotPlugged,
                 fault::RelayStays, fault::Termination, fault::NotFitted,
                 fault::WheelOffset, fault::ToothMissing, fault::ExtraTooth, fault::WheelRunout,
                 fault::PickupInverted, fault::PickupStrength, fault::ElectricalNoise,
                 fault::CamStuck, fault::CamSlow, fault::SensorOffset, fault::SensorStuck,
                 fault::MessageMissing, fault::MessageLate, fault::MessageEarly,
                 fault::MessageDoubled, fault::IdentifierWrong, fault::LengthWrong,
                 fault::BytesSwapped, fault::ValueFrozen, fault::CounterStuck, fault::CounterJumps,
                 fault::ChecksumWrong, fault::NodeGone, fault::BabblingNode, fault::ErrorFrames,
                 fault::BusOff, fault::Layout, fault::Calibration, fault::Told>;

// The word of the YAML file for it, as in the table above.
const char* Name(const FaultKind& kind);

// All of them, in the order of FaultKind.
std::vector<std::string> FaultKindNames();
// All of them for a person, by what they are put into, one line for each: "harness: open, ...".
std::vector<std::string> FaultKindsInWords();

struct Fault {
  std::string name;
  FaultKind kind;
  std::string at;
  std::string with;  // the second terminal or connector, of kinds with two
  // When: either steps of the scenario, or seconds; both empty = the whole run.
  std::vector<std::string> during;
  std::optional<double> from_s, to_s;
  // It comes and goes: there for for_s, again every every_s, from its begin on. Both or none.
  std::optional<double> every_s = {}, for_s = {};
  Place place;

  template <class Kind>
  bool Is() const {
    return std::holds_alternative<Kind>(kind);
  }
  // What the kind says, or null when it is another.
  template <class Kind>
  const Kind* As() const {
    return std::get_if<Kind>(&kind);
  }
};

// A kind of fault on a bus.
template <class Kind>
concept BusKind = Kind::kInto == Into::kBus;

// Calls visit(kind) when the fault is put into `into`. Each kind that is needs a case there.
template <Into into, class Visit>
void VisitInto(const Fault& fault, Visit visit) {
  std::visit(
      [&]<class Kind>(const Kind& kind) {
        if constexpr (Kind::kInto == into) visit(kind);
      },
      fault.kind);
}

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_FAULT_H_
