// SPDX-License-Identifier: Apache-2.0
#include "report/report.h"

#include <algorithm>

namespace drycrank::report {

bool AllMet(const Report& report) {
  return std::all_of(report.verdicts.begin(), report.verdicts.end(),
                     [](const check::Verdict& v) { return v.outcome == check::Outcome::kMet; });
}

}  // namespace drycrank::report
