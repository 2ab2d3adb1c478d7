// SPDX-License-Identifier: Apache-2.0
#include "record/motion_file.h"

#include <array>
#include <charconv>
#include <cstddef>

#include "record/edge_block.h"
#include "types/nth.h"

namespace drycrank::record {
namespace {

constexpr double kMostRpm = 20000, kMostTurns = 1e12, kLongestS = 1e6;
constexpr std::array<std::string_view, 5> kKinds = {"hold", "ramp", "sine", "crank", "back"};

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
  const auto within = [](double value, double low, double high) {
    return value >= low && value <= high;  // false for what is no number
  };
  const bool speeds = within(s.speed_rpm, 0, kMostRpm) && within(s.to_rpm, 0, kMostRpm) &&
                      within(s.amplitude_rpm, 0, kMostRpm);
  const bool swings = s.kind != SegmentKind::kSine || s.amplitude_rpm <= s.speed_rpm;
  const bool lasts = s.kind != SegmentKind::kBack || s.duration_s > 0;
  return speeds && swings && lasts && motion.begin_ns >= 0 && motion.begin_ns <= kLastEdgeNs &&
         within(static_cast<double>(motion.begin.turns), 0, kMostTurns) &&
         within(motion.begin.deg, 0, 359.9999999999999) && within(s.duration_s, 0, kLongestS) &&
         within(s.period_s, 1e-3, kLongestS) && within(s.ripple, 0, 0.9) &&
         within(s.per_turn, 0.5, 24);
}

}  // namespace

void AppendMotion(const CrankMotion& motion, fmt::memory_buffer& out) {
  const Segment& s = motion.segment;
  fmt::format_to(fmt::appender(out), "{},{},{},{},{},{},{},{},{},{},{}", motion.begin_ns,
                 motion.begin.turns, motion.begin.deg, Nth(kKinds, s.kind), s.speed_rpm, s.to_rpm,
                 s.duration_s, s.amplitude_rpm, s.period_s, s.ripple, s.per_turn);
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
