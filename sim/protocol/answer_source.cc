// SPDX-License-Identifier: Apache-2.0
#include "protocol/answer_source.h"

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::protocol {
namespace {

constexpr int kPidsPerBitmap = 32, kLastPid = 0xFF, kMonitorStatus = 0x01;

bool Supports(const AnswerSource& source, int pid);

std::uint32_t BitmapAfter(const AnswerSource& source, int first) {
  std::uint32_t bits = 0;
  for (int i = 1; i <= kPidsPerBitmap; ++i) {
    if (Supports(source, first + i)) bits |= 1u << (kPidsPerBitmap - i);
  }
  return bits;
}

// A bitmap is there when it, or one behind it, has anything in it; the first always is.
bool Supports(const AnswerSource& source, int pid) {
  if (pid < 0 || pid > kLastPid) return false;
  if (pid == 0 || pid == kMonitorStatus) return true;
  if (pid % kPidsPerBitmap != 0) return source.HasPid(pid);
  for (int later = pid + 1; later <= kLastPid; ++later) {
    if (later % kPidsPerBitmap != 0 && source.HasPid(later)) return true;
  }
  return false;
}

std::uint32_t MonitorStatus(const AnswerSource& source) {
  const auto troubles = source.Troubles();
  const auto stored = std::count_if(troubles.begin(), troubles.end(), [](const StoredTrouble& t) {
    return (t.status & kConfirmed) != 0;
  });
  const auto count = static_cast<std::uint32_t>(std::min<std::ptrdiff_t>(stored, 0x7F));
  return (count > 0 ? 0x80u | count : 0u) << 24;
}

}  // namespace

std::uint32_t EncodePid(const profile::Pid& pid, double value) {
  const double top = std::ldexp(1.0, 8 * pid.bytes) - 1;
  const double raw = std::round((value - pid.offset) / pid.scale);
  if (!(raw > 0)) return 0;  // also what is not a number
  return static_cast<std::uint32_t>(std::min(raw, top));
}

double DecodePid(const profile::Pid& pid, std::span<const std::uint8_t> bytes) {
  double raw = 0;
  for (std::size_t i = 0; i < AsSize(pid.bytes) && i < bytes.size(); ++i) {
    raw = raw * 256 + bytes[i];
  }
  return raw * pid.scale + pid.offset;
}

bool WritePid(const AnswerSource& source, int pid, AnswerWriter& out) {
  if (!Supports(source, pid)) return false;
  if (pid % kPidsPerBitmap == 0) {
    out.Number(BitmapAfter(source, pid), 4);
  } else if (pid == kMonitorStatus) {
    out.Number(MonitorStatus(source), 4);
  } else {
    const profile::Pid& known = *profile::FindPid(pid);
    out.Number(EncodePid(known, source.PidValue(pid)), known.bytes);
  }
  return true;
}

}  // namespace drycrank::protocol
