// SPDX-License-Identifier: Apache-2.0
#include "sweep/gone_again.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "sweep/echo.h"

namespace drycrank::sweep {
namespace {

constexpr std::size_t kMostTimes = 3;

double Told(double s) { return std::floor(s / kEchoGrainS + 1e-9); }

}  // namespace

std::optional<double> GoneMeasured(double must_s, const MeasureGone& measure,
                                   const std::function<bool()>& again) {
  std::vector<double> all;
  while (true) {
    const auto gone_s = measure();
    if (!gone_s || Told(*gone_s) == Told(must_s)) return gone_s;
    all.push_back(*gone_s);
    if (all.size() == kMostTimes) break;
    if (!again()) return all.front();
  }
  std::ranges::sort(all);
  return all[all.size() / 2];
}

}  // namespace drycrank::sweep
