// SPDX-License-Identifier: Apache-2.0
//
// One cause, many failures: the splice behind a failed feed (a sensor ground or a 5 V of the
// controller) that explains three failures or more.
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
  std::size_t failures = 0;        // that the feed explains; three or more
  std::vector<std::string> feeds;  // the failed circuit
};

// The one with the most failures; of equals, the first in the bench.
std::optional<CommonPoint> CommonPointOf(const Report& report);

// "12 of the 19 failures come from one point: S_GND, behind sensor_ground. Look there first."
std::string CommonPointInWords(const Report& report, const CommonPoint& point);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_COMMON_POINT_H_
