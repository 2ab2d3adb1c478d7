// SPDX-License-Identifier: Apache-2.0
//
// What a controller tells a tester: which of its channels answer which parameter, which trouble
// code stands for which range fault, and under which identifiers it is asked. Two dialects:
// requests as in SAE J1979 (OBD) and ISO 14229 (UDS) over ISO 15765-2, and SAE J1939.
#ifndef DRYCRANK_PROFILE_ON_BOARD_H_
#define DRYCRANK_PROFILE_ON_BOARD_H_

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "types/diagnostic.h"

namespace drycrank::profile {

// A parameter of SAE J1979 service 01: physical = raw * scale + offset, raw of `bytes` bytes, most
// significant first.
struct Pid {
  int pid = 0;
  std::string_view name;
  int bytes = 1;
  double scale = 1;
  double offset = 0;
  std::string_view unit;  // canonical; empty: a plain number
};
const Pid* FindPid(int pid);  // nullptr: not one of those known here
std::vector<int> KnownPids();

struct ReportedPid {
  int pid = 0;
  std::string channel;  // a value of the controller
  Place place;
};

// As the controller's values NAME.fault say it (standin/controller.h).
enum class RangeFault { kLow = 1, kHigh = 2, kMissing = 3 };
// Which lamp a code lights, SAE J1939-73.
enum class Lamp { kProtect, kAmber, kRedStop, kMalfunction };

struct TroubleCode {
  std::string text;        // "P0118", "SPN 110 FMI 3"
  std::uint32_t code = 0;  // OBD and UDS: 16 bits as in SAE J2012; J1939: SPN << 5 | FMI
  std::string channel;     // a channel with a range fault
  RangeFault when = RangeFault::kLow;
  Lamp lamp = Lamp::kAmber;  // J1939 only
  Place place;
};
// "P0118" to 0x0118, "U0100" to 0xC100; nothing if it is no code of that form.
std::optional<std::uint16_t> ParseTroubleCode(std::string_view text);
std::string TroubleCodeText(std::uint16_t code);
inline std::uint32_t SpnFmi(std::uint32_t spn, std::uint32_t fmi) { return spn << 5 | fmi; }
std::string SpnFmiText(std::uint32_t code);

struct OnBoardDiagnostics {
  int bus = 0;
  bool extended = false;            // identifiers of 29 bits
  std::uint32_t functional_id = 0;  // 0x7DF, 0x18DB33F1: all controllers
  std::uint32_t request_id = 0;     // 0x7E0, 0x18DA10F1: this one
  std::uint32_t response_id = 0;    // 0x7E8, 0x18DAF110
  std::string vehicle_id;           // 17 characters, invented
  double answer_ms = 5;             // stand-in: from request to answer
  double slot_ms = 60;              // tester: from question to question
  std::vector<ReportedPid> pids;
  std::vector<TroubleCode> trouble_codes;
  Place place;
};

// SAE J1939-81, the 64-bit NAME. Packed by protocol/j1939.h.
struct J1939Name {
  bool arbitrary_address = false;    // may take another address, 128..247
  std::uint8_t industry_group = 0;   // 3 bits
  std::uint8_t system_instance = 0;  // 4 bits
  std::uint8_t system = 0;           // 7 bits
  std::uint8_t function = 0;
  std::uint8_t function_instance = 0;  // 5 bits
  std::uint8_t unit_instance = 0;      // 3 bits: instance of the controller
  std::uint16_t manufacturer = 0;      // 11 bits
  std::uint32_t identity = 0;          // 21 bits
};

// SAE J1939-81: who it is, and the address it wants.
struct J1939Node {
  int bus = 0;
  int address = 0;  // [0, 253]
  J1939Name name;
  double dm1_period_ms = 1000;  // SAE J1939-73
  std::vector<TroubleCode> trouble_codes;
  Place place;
};

// How an expectation learns what the controller thinks.
enum class Dialect { kObd, kUds, kDm1 };
struct Question {
  Dialect over = Dialect::kObd;
  int pid = -1;            // controller_reads
  std::uint32_t code = 0;  // trouble_code; as TroubleCode::code
  std::string text;        // for people: "PID 05", "P0118", "trouble codes"
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_ON_BOARD_H_
