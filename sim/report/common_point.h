// SPDX-License-Identifier: Apache-2.0
//
// One cause, many failures: a splice at which nothing is proven while several expectations fail
// whose wires end there. By the wiring schedule and the verdicts alone; what the fault was is not
// known here.
#ifndef DRYCRANK_REPORT_COMMON_POINT_H_
#define DRYCRANK_REPORT_COMMON_POINT_H_

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "report/report.h"

namespace drycrank::report {

struct CommonPoint {
  std::string splice;
  std::size_t failures = 0;  // expectations not met that need a wire there; three or more
  // The circuits that join it to the controller's sensor grounds and reference outputs.
  std::vector<std::string> feeds;
};

// The splice with the most failures, if it has three or more circuits and not one of them is
// proven; of equals, the first in the bench.
std::optional<CommonPoint> CommonPointOf(const Report& report);

// "12 of the 19 failures have one point in common: S_GND. Nothing that meets there is proven."
std::string CommonPointInWords(const Report& report, const CommonPoint& point);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_COMMON_POINT_H_
