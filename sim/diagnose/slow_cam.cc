// SPDX-License-Identifier: Apache-2.0
#include "diagnose/slow_cam.h"

#include <algorithm>

#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr double kRestS = 0.9;  // as study/readings.cc has it

}  // namespace

AdvanceRange SlowAdvance(std::span<const Situation> situations, int stimulus, std::size_t s,
                         double deg_per_s) {
  const double least_deg = kRestS * deg_per_s;
  const auto sent = [&](std::size_t i) { return Nth(situations[i].stimuli, stimulus); };
  AdvanceRange range{sent(0), sent(0)};
  for (std::size_t i = 1; i <= s; ++i) {
    const double to_deg = sent(i);
    range.low = range.low < to_deg ? std::min(to_deg, range.low + least_deg) : to_deg;
    range.high = range.high > to_deg ? std::max(to_deg, range.high - least_deg) : to_deg;
  }
  return range;
}

}  // namespace drycrank::diagnose
