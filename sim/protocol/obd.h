// SPDX-License-Identifier: Apache-2.0
//
// SAE J1979 on CAN (ISO 15765-4): a request is the service and what is asked for, the answer
// repeats both with 40 added to the service.
//
//   01 0C            -> 41 0C 1A F8        current data; up to six parameters
//   03, 07           -> 43 02 01 18 02 34  stored, pending trouble codes: how many, two bytes each
//   04               -> 44                 clear them
//   09 02            -> 49 02 01 "..."     vehicle identification number, 17 characters
//   what is unknown: nothing to a request to all, 7F service 11 (or 12) to one of its own
#ifndef DRYCRANK_PROTOCOL_OBD_H_
#define DRYCRANK_PROTOCOL_OBD_H_

#include <cstdint>
#include <optional>
#include <span>

#include "protocol/answer_source.h"

namespace drycrank::protocol {

inline constexpr std::uint8_t kAnswerOffset = 0x40, kNegative = 0x7F;
inline constexpr std::uint8_t kServiceNotSupported = 0x11, kSubFunctionNotSupported = 0x12,
                              kWrongLength = 0x13, kTooLong = 0x14, kOutOfRange = 0x31,
                              kResponsePending = 0x78;
const char* NegativeText(std::uint8_t code);

// The answer's length in `out`; 0: none is given. `functional`: the request was to all controllers.
std::size_t AnswerObd(AnswerSource& source, std::span<const std::uint8_t> request, bool functional,
                      std::span<std::uint8_t> out);
// Does the service belong to SAE J1979 (01..0A), or to ISO 14229?
inline bool IsObdService(std::uint8_t service) { return service <= 0x0A; }

// ---- the tester's side -------------------------------------------------------------------------

// 7F service code: refused, or not yet ready.
struct Negative {
  std::uint8_t service = 0, code = 0;
};
std::optional<Negative> ReadNegative(std::span<const std::uint8_t> answer);

// The parameter out of an answer to `01` (one or several) or UDS `22 F4..`.
std::optional<double> ReadPid(std::span<const std::uint8_t> answer, const profile::Pid& pid);

// Codes out of an answer to 03, 07, or UDS 19 02.
struct CodeList {
  std::span<const std::uint8_t> bytes;
  std::size_t stride = 2;

  std::size_t size() const { return bytes.size() / stride; }
  std::uint16_t operator[](std::size_t index) const {
    return static_cast<std::uint16_t>(bytes[index * stride] << 8 | bytes[index * stride + 1]);
  }
  bool Has(std::uint16_t code) const;
};
std::optional<CodeList> ReadCodes(std::span<const std::uint8_t> answer);

// The request that asks this, in `out` of at least 8 bytes; its length.
std::size_t RequestFor(const profile::Question& question, std::span<std::uint8_t> out);

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_OBD_H_
