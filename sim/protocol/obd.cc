// SPDX-License-Identifier: Apache-2.0
#include "protocol/obd.h"

#include <algorithm>

#include "types/nth.h"

namespace drycrank::protocol {
namespace {

constexpr std::uint8_t kCurrentData = 0x01, kStoredCodes = 0x03, kClearCodes = 0x04,
                       kPendingCodes = 0x07, kVehicleInformation = 0x09, kVin = 0x02;
constexpr std::uint8_t kReadByIdentifier = 0x22, kReadCodes = 0x19, kByStatusMask = 0x02;
constexpr std::uint32_t kPidIdentifiers = 0xF400;
constexpr std::size_t kMaxPids = 6;

void AnswerCurrentData(const AnswerSource& source, std::span<const std::uint8_t> pids,
                       AnswerWriter& out) {
  if (pids.empty() || pids.size() > kMaxPids) return;
  out.Byte(kCurrentData + kAnswerOffset);
  for (const std::uint8_t pid : pids) {
    // Whether it is supported is not known before it is written; its number goes first.
    AnswerWriter probe{std::span<std::uint8_t>()};
    if (!WritePid(source, pid, probe)) continue;
    out.Byte(pid);
    WritePid(source, pid, out);
  }
  if (out.length() == 1) out.Restart();
}

void AnswerCodes(const AnswerSource& source, std::uint8_t service, AnswerWriter& out) {
  const std::uint8_t wanted = service == kStoredCodes ? kConfirmed : kPending;
  const auto troubles = source.Troubles();
  const auto has = [wanted](const StoredTrouble& t) { return (t.status & wanted) != 0; };
  const auto count = std::min<std::ptrdiff_t>(0xFF, std::ranges::count_if(troubles, has));
  out.Byte(service + kAnswerOffset);
  out.Byte(static_cast<std::uint32_t>(count));
  std::ptrdiff_t left = count;
  for (const StoredTrouble& t : troubles) {
    if (has(t) && left-- > 0) out.Number(t.code, 2);
  }
}

void AnswerVehicleInformation(const AnswerSource& source, std::uint8_t type, AnswerWriter& out) {
  const bool has_vin = !source.VehicleId().empty();
  if (type == 0) {
    out.Byte(kVehicleInformation + kAnswerOffset);
    out.Byte(type);
    out.Number(has_vin ? 1u << 30 : 0u, 4);  // type 02 is the second bit from the top
  } else if (type == kVin && has_vin) {
    out.Byte(kVehicleInformation + kAnswerOffset);
    out.Byte(type);
    out.Byte(1);  // number of items
    out.Text(source.VehicleId());
  }
}

}  // namespace

const char* NegativeText(std::uint8_t code) {
  switch (code) {
    case kServiceNotSupported:
      return "service not supported";
    case kSubFunctionNotSupported:
      return "sub-function not supported";
    case kWrongLength:
      return "wrong length or format";
    case kTooLong:
      return "the answer would be too long";
    case kOutOfRange:
      return "not one of its parameters";
    case kResponsePending:
      return "answer pending";
    default:
      return "refused";
  }
}

std::size_t AnswerObd(AnswerSource& source, std::span<const std::uint8_t> request, bool functional,
                      std::span<std::uint8_t> out) {
  if (request.empty()) return 0;
  AnswerWriter writer(out);
  const std::uint8_t service = request[0];
  std::uint8_t refusal = kSubFunctionNotSupported;
  switch (service) {
    case kCurrentData:
      AnswerCurrentData(source, request.subspan(1), writer);
      break;
    case kStoredCodes:
    case kPendingCodes:
      AnswerCodes(source, service, writer);
      break;
    case kClearCodes:
      source.ClearTroubles();
      writer.Byte(kClearCodes + kAnswerOffset);
      break;
    case kVehicleInformation:
      if (request.size() == 2) AnswerVehicleInformation(source, request[1], writer);
      break;
    default:
      refusal = kServiceNotSupported;
  }
  if (writer.length() == 0 && !functional) {
    writer.Byte(kNegative);
    writer.Byte(service);
    writer.Byte(refusal);
  }
  return writer.length();
}

std::optional<Negative> ReadNegative(std::span<const std::uint8_t> answer) {
  if (answer.size() < 3 || answer[0] != kNegative) return std::nullopt;
  return Negative{answer[1], answer[2]};
}

std::optional<double> ReadPid(std::span<const std::uint8_t> answer, const profile::Pid& pid) {
  if (answer.empty()) return std::nullopt;
  const bool uds = answer[0] == kReadByIdentifier + kAnswerOffset;
  if (!uds && answer[0] != kCurrentData + kAnswerOffset) return std::nullopt;
  auto rest = answer.subspan(1);
  while (!rest.empty()) {
    if (uds && rest.size() < 2) return std::nullopt;
    if (uds && rest[0] != kPidIdentifiers >> 8) return std::nullopt;
    const int number = uds ? rest[1] : rest[0];
    rest = rest.subspan(uds ? 2 : 1);
    const profile::Pid* known = profile::FindPid(number);
    if (known == nullptr) return std::nullopt;  // its length is not known
    const auto bytes = AsSize(known->bytes);
    if (rest.size() < bytes) return std::nullopt;
    if (number == pid.pid) return DecodePid(pid, rest.first(bytes));
    rest = rest.subspan(bytes);
  }
  return std::nullopt;
}

bool CodeList::Has(std::uint16_t code) const {
  for (std::size_t i = 0; i < size(); ++i) {
    if ((*this)[i] == code) return true;
  }
  return false;
}

std::optional<CodeList> ReadCodes(std::span<const std::uint8_t> answer) {
  if (answer.size() < 2) return std::nullopt;
  if (answer[0] == kStoredCodes + kAnswerOffset || answer[0] == kPendingCodes + kAnswerOffset) {
    const std::size_t bytes = 2u * answer[1];
    if (answer.size() < 2 + bytes) return std::nullopt;
    return CodeList{answer.subspan(2, bytes), 2};
  }
  if (answer[0] == kReadCodes + kAnswerOffset && answer[1] == kByStatusMask && answer.size() >= 3) {
    const std::size_t codes = (answer.size() - 3) / 4;
    return CodeList{answer.subspan(3, 4 * codes), 4};
  }
  return std::nullopt;
}

std::size_t RequestFor(const profile::Question& question, std::span<std::uint8_t> out) {
  AnswerWriter writer(out);
  const bool uds = question.over == profile::Dialect::kUds;
  if (question.pid >= 0) {
    writer.Byte(uds ? kReadByIdentifier : kCurrentData);
    const auto pid = static_cast<std::uint32_t>(question.pid);
    writer.Number(uds ? kPidIdentifiers | pid : pid, uds ? 2 : 1);
  } else if (uds) {
    writer.Byte(kReadCodes);
    writer.Byte(kByStatusMask);
    writer.Byte(kConfirmed);
  } else {
    writer.Byte(kStoredCodes);
  }
  return writer.length();
}

}  // namespace drycrank::protocol
