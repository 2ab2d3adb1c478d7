// SPDX-License-Identifier: Apache-2.0
#include "report/report.h"

#include <algorithm>

namespace drycrank::report {

bool AllMet(const Report& report) {
  return std::all_of(report.verdicts.begin(), report.verdicts.end(),
                     [](const check::Verdict& v) { return v.outcome == check::Outcome::kMet; });
}

bool AnyFailed(const Report& report) {
  return std::any_of(report.verdicts.begin(), report.verdicts.end(), [](const check::Verdict& v) {
    return v.outcome == check::Outcome::kFailed || v.outcome == check::Outcome::kNotObserved;
  });
}

}  // namespace drycrank::report
