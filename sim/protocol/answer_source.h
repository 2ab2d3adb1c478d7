// SPDX-License-Identifier: Apache-2.0
//
// The values and codes that a controller answers a tester with: obd.h and uds.h ask for them, the
// stand-in gives them.
#ifndef DRYCRANK_PROTOCOL_ANSWER_SOURCE_H_
#define DRYCRANK_PROTOCOL_ANSWER_SOURCE_H_

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "profile/on_board.h"

namespace drycrank::protocol {

// Bits of a trouble code's status, ISO 14229-1, annex D.
inline constexpr std::uint8_t kTestFailed = 0x01, kPending = 0x04, kConfirmed = 0x08,
                              kAllStatus = kTestFailed | kPending | kConfirmed;

struct StoredTrouble {
  std::uint16_t code = 0;
  std::uint8_t status = 0;
};

class AnswerSource {
 public:
  virtual ~AnswerSource() = default;
  virtual bool HasPid(int pid) const = 0;
  // In the parameter's unit. REQUIRES: HasPid(pid).
  virtual double PidValue(int pid) const = 0;
  virtual std::span<const StoredTrouble> Troubles() const = 0;
  virtual std::string_view VehicleId() const = 0;  // 17 characters, or none
  virtual void ClearTroubles() = 0;
};

// Writes an answer into memory of fixed size; bytes that do not fit are remembered as `full`.
class AnswerWriter {
 public:
  explicit AnswerWriter(std::span<std::uint8_t> out) : out_(out) {}

  void Byte(std::uint32_t value) {
    if (length_ == out_.size()) {
      full_ = true;
    } else {
      out_[length_++] = static_cast<std::uint8_t>(value & 0xFF);
    }
  }
  // Most significant first.
  void Number(std::uint32_t value, int bytes) {
    for (int i = bytes; i-- > 0;) Byte(value >> (8 * i));
  }
  void Text(std::string_view text) {
    for (const char c : text) Byte(static_cast<std::uint8_t>(c));
  }
  std::size_t length() const { return length_; }
  bool full() const { return full_; }
  void Restart() { length_ = 0, full_ = false; }

 private:
  std::span<std::uint8_t> out_;
  std::size_t length_ = 0;
  bool full_ = false;
};

// ---- parameters, shared by both dialects -------------------------------------------------------

// The nearest raw value of a parameter, held within its bytes; and back.
std::uint32_t EncodePid(const profile::Pid& pid, double value);
double DecodePid(const profile::Pid& pid, std::span<const std::uint8_t> bytes);

// Data of the parameter: 0x00, 0x20, ... say which of the next 32 there are (bit 31 the first),
// 0x01 the number of stored codes and the lamp. False: not supported.
bool WritePid(const AnswerSource& source, int pid, AnswerWriter& out);

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_ANSWER_SOURCE_H_
