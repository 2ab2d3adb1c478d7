// SPDX-License-Identifier: Apache-2.0
//
// The buses of a bench as its file says: messages, and where in the frame each signal lies.
#ifndef DRYCRANK_PROFILE_MESSAGE_H_
#define DRYCRANK_PROFILE_MESSAGE_H_

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::profile {

enum class ByteOrder { kLittle, kBig };
enum class Multiplex { kNone, kSelector, kSelected };

// Who puts messages on a bus, as far as a bench knows them.
enum class Sender { kSimulator, kController, kDisplay };
const char* Name(Sender sender);  // "simulator"
// All of them, in the order of Sender.
const std::vector<std::string>& SenderNames();

struct Signal {
  std::string name;
  // Bit number byte*8 + bit, bit 0 the least significant of its byte: of the signal's least
  // significant bit for little-endian, of its most significant bit for big-endian layouts.
  int start_bit = 0;
  int length_bits = 8;  // 1..64; 32 or 64 for float
  ByteOrder byte_order = ByteOrder::kLittle;
  bool is_signed = false;
  bool is_float = false;
  double scale = 1;  // physical = raw * scale + offset
  double offset = 0;
  double min = 0, max = 0;  // physical; equal = the full raw range
  std::string unit;
  Multiplex multiplex = Multiplex::kNone;
  std::int64_t multiplex_value = 0;            // kSelected: present when the selector has this raw
  std::map<std::int64_t, std::string> values;  // names of raw values: 3 -> "synchronised"
  // What the sender puts here. The simulator: a stimulus. The controller: a value of its own
  // (standin/controller.h lists them). The display: GAUGE.shown, .state, .unit, .page, .lamp. Empty:
  // zero (a counter or checksum fills itself).
  std::string carries;
  // How the sender says that it has not measured this: the raw value that stands for "not
  // available" (SAE J1939-71: all bits set), or another signal of the message that has another value
  // than `valid_equals`. -1: it does not say.
  std::optional<std::int64_t> not_available = {};
  int valid_signal = -1;
  double valid_equals = 0;
  Place place;
  // Another way to read the bits of these signals of the message, of which either may be meant: no run
  // sends it, a sweep of a display tries it. Empty: the bits are its own.
  std::vector<int> instead_of = {};
};

enum class ChecksumKind { kNone, kCrc8SaeJ1850, kCrc8Autosar };

struct Message {
  std::string name;  // unique over all buses
  std::uint32_t id = 0;
  bool extended = false;
  bool fd = false;
  bool bit_rate_switch = false;
  int length_bytes = 8;
  Sender sender = Sender::kSimulator;
  double period_ms = 0;  // 0: sent when a value of it changes (event)
  double phase_ms = 0;
  int counter_signal = -1;   // rolling counter, wraps at its length
  int checksum_signal = -1;  // over all other bytes of the frame, in order
  ChecksumKind checksum = ChecksumKind::kNone;
  std::vector<Signal> signals;
  Place place;
};

// Where a device sits on a bus: the two terminals of its pair (ISO 11898-2: CAN_H and CAN_L), and
// the resistor between them, if it has one.
struct BusNode {
  std::string name;
  std::string high, low;       // terminals
  double termination_ohm = 0;  // 0: none
  Place place;
};

struct Bus {
  std::string name;
  double bitrate_bps = 500000;
  double data_bitrate_bps = 2000000;  // FD, data phase
  std::vector<Message> messages;
  Place place;
  std::vector<BusNode> nodes = {};  // of the wiring; empty: not on the schedule
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_MESSAGE_H_
