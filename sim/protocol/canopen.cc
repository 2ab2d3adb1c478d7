// SPDX-License-Identifier: Apache-2.0
#include "protocol/canopen.h"

#include <fmt/format.h>

#include <utility>

namespace drycrank::protocol {
namespace {

using bus::Frame;

constexpr std::uint8_t kWriteWord = 0x23, kReadWord = 0x40, kWrittenWord = 0x60, kAbortWord = 0x80;
constexpr std::uint8_t kValueWord = 0x43;  // as kWriteWord: expedited, size indicated
constexpr int kUnusedShift = 2;            // how many of the four bytes are not used

Frame Short(std::uint32_t id, std::uint8_t first, std::uint8_t length) {
  Frame frame;
  frame.id = id;
  frame.length = length;
  frame.data[0] = first;
  return frame;
}

Frame Parameter(std::uint32_t id, std::uint8_t word, ObjectAt at, std::uint32_t value) {
  Frame frame = Short(id, word, 8);
  frame.data[1] = static_cast<std::uint8_t>(at.index);
  frame.data[2] = static_cast<std::uint8_t>(at.index >> 8);
  frame.data[3] = at.sub;
  for (std::size_t i = 0; i < 4; ++i) {
    frame.data[4 + i] = static_cast<std::uint8_t>(value >> (8 * i));
  }
  return frame;
}

Frame WithSize(std::uint32_t id, std::uint8_t word, ObjectAt at, ObjectValue value) {
  const auto unused = static_cast<std::uint8_t>((4 - value.bytes) << kUnusedShift);
  return Parameter(id, static_cast<std::uint8_t>(word | unused), at, value.value);
}

// Index, sub-index and four bytes are where they are in all of them.
std::optional<ParameterMessage> Common(const Frame& frame) {
  if (frame.length != 8) return std::nullopt;
  ParameterMessage message;
  message.at = {static_cast<std::uint16_t>(frame.data[1] | frame.data[2] << 8), frame.data[3]};
  for (std::size_t i = 0; i < 4; ++i) {
    message.code |= static_cast<std::uint32_t>(frame.data[4 + i]) << (8 * i);
  }
  return message;
}

void TakeValue(const Frame& frame, ParameterMessage& message, ParameterMessage::Kind kind) {
  message.kind = kind;
  message.value.bytes = 4 - ((frame.data[0] >> kUnusedShift) & 3);
  const int bits = 8 * message.value.bytes;
  message.value.value = bits == 32 ? message.code : message.code & ((1u << bits) - 1);
}

bool IsExpedited(std::uint8_t word, std::uint8_t kind) { return (word & ~0x0c) == kind; }

}  // namespace

Frame NmtFrame(NmtCommand command, std::uint8_t node) {
  Frame frame = Short(kNmtId, static_cast<std::uint8_t>(command), 2);
  frame.data[1] = node;
  return frame;
}

Frame HeartbeatFrame(std::uint8_t node, NmtState state) {
  return Short(kHeartbeatId + node, static_cast<std::uint8_t>(state), 1);
}

Frame WriteRequest(std::uint8_t node, ObjectAt at, ObjectValue value) {
  return WithSize(kParameterRequestId + node, kWriteWord, at, value);
}
Frame ReadRequest(std::uint8_t node, ObjectAt at) {
  return Parameter(kParameterRequestId + node, kReadWord, at, 0);
}
Frame WriteAnswer(std::uint8_t node, ObjectAt at) {
  return Parameter(kParameterAnswerId + node, kWrittenWord, at, 0);
}
Frame ReadAnswer(std::uint8_t node, ObjectAt at, ObjectValue value) {
  return WithSize(kParameterAnswerId + node, kValueWord, at, value);
}
Frame AbortAnswer(std::uint8_t node, ObjectAt at, std::uint32_t code) {
  return Parameter(kParameterAnswerId + node, kAbortWord, at, code);
}

std::string AbortInWords(std::uint32_t code) {
  switch (code) {
    case kNoSuchObject:
      return "it has no such object";
    case kNoSuchSubIndex:
      return "it has no such sub-index";
    case kWrongLength:
      return "the length is another one";
    case kReadOnly:
      return "it can only be read";
    case kCannotBeMapped:
      return "it cannot be mapped into a process message";
    case kValueOutOfRange:
      return "the value is out of its range";
    case kNotInThisState:
      return "not in the state that it is in";
    case kUnknownCommand:
      return "it does not know this command";
    default:
      return fmt::format("abort code {:08X}h", code);
  }
}

std::optional<ParameterMessage> ReadRequestOf(const Frame& frame) {
  std::optional<ParameterMessage> message = Common(frame);
  if (!message) return message;
  const std::uint8_t word = frame.data[0];
  if (IsExpedited(word, kWriteWord))
    TakeValue(frame, *message, ParameterMessage::Kind::kWrite);
  else if (word == kReadWord)
    message->kind = ParameterMessage::Kind::kRead;
  else if (word == kAbortWord)
    message->kind = ParameterMessage::Kind::kAbort;
  return message;
}

std::optional<ParameterMessage> ReadAnswerOf(const Frame& frame) {
  std::optional<ParameterMessage> message = Common(frame);
  if (!message) return message;
  const std::uint8_t word = frame.data[0];
  if (IsExpedited(word, kValueWord))
    TakeValue(frame, *message, ParameterMessage::Kind::kValue);
  else if (word == kWrittenWord)
    message->kind = ParameterMessage::Kind::kWritten;
  else if (word == kAbortWord)
    message->kind = ParameterMessage::Kind::kAbort;
  return message;
}

Frame EmergencyFrame(std::uint8_t node, Emergency emergency) {
  Frame frame = Short(kEmergencyId + node, static_cast<std::uint8_t>(emergency.code), 8);
  frame.data[1] = static_cast<std::uint8_t>(emergency.code >> 8);
  frame.data[2] = emergency.error_register;
  return frame;
}

std::string InWords(Emergency emergency) {
  constexpr std::pair<int, const char*> kClasses[] = {{0x8130, "heartbeat of another node missing"},
                                                      {0x8100, "communication"},
                                                      {0x8000, "supervision"},
                                                      {0x7000, "an additional module"},
                                                      {0x6000, "its software"},
                                                      {0x5000, "its hardware"},
                                                      {0x4000, "temperature"},
                                                      {0x3000, "voltage"},
                                                      {0x2000, "current"},
                                                      {0x1000, "an error of no class"},
                                                      {0x0000, "no error any more"}};
  const char* words = "an error of its maker's";
  if (emergency.code < 0x9000) {
    for (const auto& [from, name] : kClasses) {
      if (emergency.code < from) continue;
      words = name;
      break;
    }
  }
  return fmt::format("{:04X}h {}", emergency.code, words);
}

}  // namespace drycrank::protocol
