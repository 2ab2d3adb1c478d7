// SPDX-License-Identifier: Apache-2.0
#include "tools/most_volts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace drycrank::tools {

std::string WhyNoVolts(const profile::Bench& bench, double volts) {
  constexpr double kAlwaysV = 100, kTimes = 10;
  double highest_v = 0;
  for (const profile::Supply& supply : bench.supplies) {
    highest_v = std::max(highest_v, supply.voltage_v);
  }
  if (std::abs(volts) <= std::max(kAlwaysV, kTimes * highest_v)) return "";
  return fmt::format("{:g} V is no reading of this bench, whose highest supply gives {:g} V: look at the meter's "
                     "range and its unit, and read it again",
                     volts, highest_v);
}

}  // namespace drycrank::tools
