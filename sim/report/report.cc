// SPDX-License-Identifier: Apache-2.0
#include "report/report.h"

#include <algorithm>

namespace drycrank::report {

bool AllMet(const Report& report) {
  return !report.stopped && !report.verdicts.empty() &&
         std::ranges::all_of(report.verdicts, [](const check::Verdict& v) {
           return v.outcome == check::Outcome::kMet;
         });
}

bool AnyFailed(const Report& report) {
  return std::ranges::any_of(report.verdicts, [&](const check::Verdict& v) {
    return v.outcome == check::Outcome::kFailed ||
           (v.outcome == check::Outcome::kNotObserved && !report.stopped);
  });
}

}  // namespace drycrank::report
