// SPDX-License-Identifier: Apache-2.0
#include "record/motion_file.h"

#include <array>
#include <charconv>
#include <cmath>

namespace drycrank::record {
namespace {

constexpr std::array<std::string_view, 4> kKinds = {"hold", "ramp", "sine", "crank"};

template <class Number>
bool Take(std::string_view& rest, Number& value) {
  const auto comma = rest.find(',');
  const std::string_view text = rest.substr(0, comma);
  rest = comma == std::string_view::npos ? std::string_view() : rest.substr(comma + 1);
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc() && end == text.data() + text.size();
}

bool TakeKind(std::string_view& rest, SegmentKind& kind) {
  const auto comma = rest.find(',');
  for (std::size_t i = 0; i < kKinds.size(); ++i) {
    if (comma == std::string_view::npos || rest.substr(0, comma) != kKinds[i]) continue;
    kind = static_cast<SegmentKind>(i);
    rest = rest.substr(comma + 1);
    return true;
  }
  return false;
}

// What the equations can be asked with.
bool IsSound(const CrankMotion& motion) {
  const Segment& s = motion.segment;
  for (const double value : {s.speed_rpm, s.to_rpm, s.duration_s, s.amplitude_rpm}) {
    if (!std::isfinite(value) || value < 0) return false;
  }
  return motion.begin_ns >= 0 && motion.begin.deg >= 0 && motion.begin.deg < 360 &&
         s.period_s > 0 && s.ripple >= 0 && s.ripple <= 0.9 && s.per_turn > 0;
}

}  // namespace

void AppendMotion(const CrankMotion& motion, fmt::memory_buffer& out) {
  const Segment& s = motion.segment;
  fmt::format_to(fmt::appender(out), "{},{},{},{},{},{},{},{},{},{},{}", motion.begin_ns,
                 motion.begin.turns, motion.begin.deg, kKinds[static_cast<std::size_t>(s.kind)],
                 s.speed_rpm, s.to_rpm, s.duration_s, s.amplitude_rpm, s.period_s, s.ripple,
                 s.per_turn);
}

std::optional<CrankMotion> ParseMotion(std::string_view line) {
  CrankMotion motion;
  Segment& s = motion.segment;
  const bool read = Take(line, motion.begin_ns) && Take(line, motion.begin.turns) &&
                    Take(line, motion.begin.deg) && TakeKind(line, s.kind) &&
                    Take(line, s.speed_rpm) && Take(line, s.to_rpm) && Take(line, s.duration_s) &&
                    Take(line, s.amplitude_rpm) && Take(line, s.period_s) && Take(line, s.ripple) &&
                    Take(line, s.per_turn);
  if (!read || !line.empty() || !IsSound(motion)) return std::nullopt;
  return motion;
}

}  // namespace drycrank::record
