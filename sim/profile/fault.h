// SPDX-License-Identifier: Apache-2.0
//
// One deviation put into harness, sensor, trigger, bus or a stand-in's configuration. Faults are
// data: the stage concerned applies them as an edit of its own model.
//
//   kind                at                   with       parameters
//   open                terminal or circuit             contact or wire interrupted
//   short_to_ground     terminal or splice              ohm     to the first supply's minus
//   short_to_supply     terminal or splice              ohm     to the first supply's plus
//   short_together      terminal             terminal   ohm
//   series_resistance   terminal or circuit             ohm
//   leakage             terminal             terminal   ohm     default with: supply minus
//   terminals_swapped   terminal             terminal   the wires of two pins swapped
//   connectors_swapped  connector            connector  two plugs of one family swapped
//   ground_offset       terminal                        volts   a source in that contact
//   not_fitted          sensor or trigger               device missing, plug hanging free
//   wheel_offset        trigger                         deg     wheel mounted late by crank deg
//   tooth_missing       trigger                         tooth   1-based tooth of the wheel gone
//   sensor_offset       sensor                          value   reads as if the quantity were
//                                                               value higher (stimulus unit)
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
#ifndef DRYCRANK_PROFILE_FAULT_H_
#define DRYCRANK_PROFILE_FAULT_H_

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

enum class FaultKind {
  kOpen,
  kShortToGround,
  kShortToSupply,
  kShortTogether,
  kSeriesResistance,
  kLeakage,
  kTerminalsSwapped,
  kConnectorsSwapped,
  kGroundOffset,
  kNotFitted,
  kWheelOffset,
  kToothMissing,
  kSensorOffset,
  kMessageMissing,
  kMessageLate,
  kMessageEarly,
  kMessageDoubled,
  kIdentifierWrong,
  kLengthWrong,
  kBytesSwapped,
  kValueFrozen,
  kCounterStuck,
  kCounterJumps,
  kChecksumWrong,
  kNodeGone,
  kBabblingNode,
  kErrorFrames,
  kBusOff,
  kLayout,
  kCalibration,
};

// The word of the YAML file for it, as in the table above.
const char* Name(FaultKind kind);

// All of them, in the order of FaultKind.
std::vector<std::string> FaultKindNames();
// All of them for a person, by what they are put into, one line for each: "harness: open, ...".
std::vector<std::string> FaultKindsInWords();

struct Fault {
  std::string name;
  FaultKind kind = FaultKind::kOpen;
  std::string at;
  std::string with;
  double ohm = 0;
  double volts = 0;
  double deg = 0;
  int tooth = 0;
  double value = 0;
  double factor = 1;
  double gain = 1;
  std::uint32_t id = 0;
  bool extended = false;
  int length_bytes = 8;
  double period_ms = 0;
  double early_ms = 0;
  int by = 2;
  int every = 10;
  std::optional<ByteOrder> byte_order;
  std::optional<double> scale, offset;
  std::optional<int> start_bit;
  // When: either steps of the scenario, or seconds; both empty = the whole run.
  std::vector<std::string> during;
  std::optional<double> from_s, to_s;
  Place place;
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_FAULT_H_
