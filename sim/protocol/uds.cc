// SPDX-License-Identifier: Apache-2.0
#include "protocol/uds.h"

#include <algorithm>

#include "protocol/obd.h"

namespace drycrank::protocol {
namespace {

constexpr std::uint8_t kClear = 0x14, kReadCodes = 0x19, kReadByIdentifier = 0x22,
                       kTesterPresent = 0x3E;
constexpr std::uint8_t kNumberByMask = 0x01, kListByMask = 0x02, kSuppress = 0x80;
constexpr std::uint32_t kAllGroups = 0xFFFFFF, kEmissionsGroup = 0xFFFF33;
constexpr std::uint32_t kVinIdentifier = 0xF190, kObdVinIdentifier = 0xF802;
constexpr std::uint8_t kIso14229Format = 0x01;

// Each returns 0, or why not.
std::uint8_t AnswerRead(const AnswerSource& source, std::span<const std::uint8_t> ids,
                        AnswerWriter& out) {
  if (ids.empty() || ids.size() % 2 != 0) return kWrongLength;
  out.Byte(kReadByIdentifier + kAnswerOffset);
  for (std::size_t i = 0; i < ids.size(); i += 2) {
    const auto id = static_cast<std::uint32_t>(ids[i] << 8 | ids[i + 1]);
    if ((id == kVinIdentifier || id == kObdVinIdentifier) && !source.VehicleId().empty()) {
      out.Number(id, 2);
      out.Text(source.VehicleId());
    } else if (id >> 8 == 0xF4) {
      AnswerWriter probe{std::span<std::uint8_t>()};
      if (!WritePid(source, static_cast<int>(id & 0xFF), probe)) continue;
      out.Number(id, 2);
      WritePid(source, static_cast<int>(id & 0xFF), out);
    }
  }
  return out.length() == 1 ? kOutOfRange : 0;
}

std::uint8_t AnswerReadCodes(const AnswerSource& source, std::span<const std::uint8_t> rest,
                             AnswerWriter& out) {
  if (rest.empty()) return kWrongLength;
  const std::uint8_t function = rest[0] & 0x7F;
  if (function != kNumberByMask && function != kListByMask) return kSubFunctionNotSupported;
  if (rest.size() != 2) return kWrongLength;
  const std::uint8_t mask = rest[1];
  out.Byte(kReadCodes + kAnswerOffset);
  out.Byte(function);
  out.Byte(kAllStatus);
  const auto troubles = source.Troubles();
  const auto has = [mask](const StoredTrouble& t) { return (t.status & mask & kAllStatus) != 0; };
  if (function == kNumberByMask) {
    out.Byte(kIso14229Format);
    out.Number(static_cast<std::uint32_t>(std::ranges::count_if(troubles, has)), 2);
    return 0;
  }
  for (const StoredTrouble& t : troubles) {
    if (!has(t)) continue;
    out.Number(static_cast<std::uint32_t>(t.code) << 8, 3);
    out.Byte(t.status);
  }
  return 0;
}

std::uint8_t AnswerClear(AnswerSource& source, std::span<const std::uint8_t> rest,
                         AnswerWriter& out) {
  if (rest.size() != 3) return kWrongLength;
  const auto group = static_cast<std::uint32_t>(rest[0] << 16 | rest[1] << 8 | rest[2]);
  if (group != kAllGroups && group != kEmissionsGroup) return kOutOfRange;
  source.ClearTroubles();
  out.Byte(kClear + kAnswerOffset);
  return 0;
}

std::uint8_t AnswerPresent(std::span<const std::uint8_t> rest, AnswerWriter& out) {
  if (rest.size() != 1) return kWrongLength;
  if ((rest[0] & 0x7F) != 0) return kSubFunctionNotSupported;
  out.Byte(kTesterPresent + kAnswerOffset);
  out.Byte(0);
  return 0;
}

std::uint8_t Dispatch(AnswerSource& source, std::span<const std::uint8_t> request,
                      AnswerWriter& out) {
  const auto rest = request.subspan(1);
  switch (request[0]) {
    case kReadByIdentifier:
      return AnswerRead(source, rest, out);
    case kReadCodes:
      return AnswerReadCodes(source, rest, out);
    case kClear:
      return AnswerClear(source, rest, out);
    case kTesterPresent:
      return AnswerPresent(rest, out);
    default:
      return kServiceNotSupported;
  }
}

}  // namespace

std::size_t AnswerUds(AnswerSource& source, std::span<const std::uint8_t> request, bool functional,
                      std::span<std::uint8_t> out) {
  if (request.empty()) return 0;
  AnswerWriter writer(out);
  std::uint8_t refusal = Dispatch(source, request, writer);
  if (refusal == 0 && writer.full()) refusal = kTooLong;
  if (refusal == 0) {
    const bool has_function = request[0] == kReadCodes || request[0] == kTesterPresent;
    return has_function && (request[1] & kSuppress) != 0 ? 0 : writer.length();
  }
  const bool silent = refusal == kServiceNotSupported || refusal == kSubFunctionNotSupported ||
                      refusal == kOutOfRange;
  if (functional && silent) return 0;
  writer.Restart();
  writer.Byte(kNegative);
  writer.Byte(request[0]);
  writer.Byte(refusal);
  return writer.length();
}

std::size_t WritePending(std::uint8_t service, std::span<std::uint8_t> out) {
  AnswerWriter writer(out);
  writer.Byte(kNegative);
  writer.Byte(service);
  writer.Byte(kResponsePending);
  return writer.length();
}

}  // namespace drycrank::protocol
