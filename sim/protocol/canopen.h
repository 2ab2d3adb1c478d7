// SPDX-License-Identifier: Apache-2.0
//
// CANopen, what a device with inputs and outputs needs of it: CiA 301 (network management, heartbeat,
// expedited transfer of parameters, emergencies) and CiA 401 (objects of outputs). Numbers from both,
// from memory; tshark reads our frames in the tests.
//
//   000                NMT: command, node (0: all)
//   080 + node         emergency: code, error register, five bytes of the maker
//   200, 300 + node    what we write: eight outputs a byte; four analogue values
//   580, 600 + node    parameters: its answer, our request
//   700 + node         heartbeat: its state; 0 once when it has started
#ifndef DRYCRANK_PROTOCOL_CANOPEN_H_
#define DRYCRANK_PROTOCOL_CANOPEN_H_

#include <cstdint>
#include <optional>
#include <string>

#include "bus/frame.h"

namespace drycrank::protocol {

enum class NmtState : std::uint8_t {
  kStarting = 0,
  kStopped = 4,
  kOperational = 5,
  kPreOperational = 127
};
enum class NmtCommand : std::uint8_t {
  kStart = 1,
  kStop = 2,
  kEnterPreOperational = 128,
  kResetNode = 129
};

inline constexpr std::uint32_t kNmtId = 0x000;
inline constexpr std::uint32_t kEmergencyId = 0x080;
inline constexpr std::uint32_t kFirstWriteId = 0x200, kSecondWriteId = 0x300;
inline constexpr std::uint32_t kParameterAnswerId = 0x580, kParameterRequestId = 0x600;
inline constexpr std::uint32_t kHeartbeatId = 0x700;

// An entry of a device's dictionary.
struct ObjectAt {
  std::uint16_t index = 0;
  std::uint8_t sub = 0;
  friend auto operator<=>(const ObjectAt&, const ObjectAt&) = default;
};
// A value with its size, 1, 2 or 4 bytes.
struct ObjectValue {
  std::uint32_t value = 0;
  int bytes = 1;
  friend bool operator==(const ObjectValue&, const ObjectValue&) = default;
};

bus::Frame NmtFrame(NmtCommand command, std::uint8_t node);
bus::Frame HeartbeatFrame(std::uint8_t node, NmtState state);

// Expedited transfer (CiA 301, 7.2.4.3): one request, one answer.
bus::Frame WriteRequest(std::uint8_t node, ObjectAt at, ObjectValue value);
bus::Frame ReadRequest(std::uint8_t node, ObjectAt at);
bus::Frame WriteAnswer(std::uint8_t node, ObjectAt at);
bus::Frame ReadAnswer(std::uint8_t node, ObjectAt at, ObjectValue value);
bus::Frame AbortAnswer(std::uint8_t node, ObjectAt at, std::uint32_t code);

inline constexpr std::uint32_t kNoSuchObject = 0x06020000, kNoSuchSubIndex = 0x06090011,
                               kWrongLength = 0x06070010, kReadOnly = 0x06010002,
                               kCannotBeMapped = 0x06040041, kValueOutOfRange = 0x06090030,
                               kNotInThisState = 0x08000022, kUnknownCommand = 0x05040001;
// "no such object"; of an unknown one its number.
std::string AbortInWords(std::uint32_t code);

struct ParameterMessage {
  enum class Kind { kWrite, kRead, kWritten, kValue, kAbort, kOther };
  Kind kind = Kind::kOther;
  ObjectAt at;
  ObjectValue value;       // kWrite, kValue
  std::uint32_t code = 0;  // kAbort
};
// Of a request or of an answer. Nothing: not eight bytes.
std::optional<ParameterMessage> ReadRequestOf(const bus::Frame& frame);
std::optional<ParameterMessage> ReadAnswerOf(const bus::Frame& frame);

struct Emergency {
  std::uint16_t code = 0;  // 0: no error any more
  std::uint8_t error_register = 0;
};
inline constexpr std::uint16_t kHeartbeatError = 0x8130;
bus::Frame EmergencyFrame(std::uint8_t node, Emergency emergency);
// "8130h heartbeat of another node missing": the class of the code, CiA 301 table 26.
std::string InWords(Emergency emergency);

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_CANOPEN_H_
