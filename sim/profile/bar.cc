// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/readout.h"

namespace drycrank::profile {

// The nudge makes a whole number of what is one in decimals only.
int LitSegments(const Bar& bar, double value) {
  constexpr double kNudge = 1e-9;
  const double passed = (value - bar.low) / (bar.high - bar.low) * bar.segments;
  const double held = std::clamp(passed, 0.0, static_cast<double>(bar.segments));
  switch (bar.lights) {
    case SegmentLights::kHalf:
      return static_cast<int>(std::floor(held + 0.5 + kNudge));
    case SegmentLights::kBegun:
      return static_cast<int>(std::ceil(held - kNudge));
    case SegmentLights::kFilled:
      break;
  }
  return static_cast<int>(std::floor(held + kNudge));
}

std::string BarText(const Bar& bar, int lit) { return fmt::format("{} of {}", lit, bar.segments); }

}  // namespace drycrank::profile
