// SPDX-License-Identifier: Apache-2.0
#include "report/report.h"

#include <algorithm>

namespace drycrank::report {

bool UnseenIsFailure(const Report& report) {
  const bool real = report.controller_real || report.display_real;
  const auto unseen =
      std::ranges::count(report.verdicts, check::Outcome::kNotObserved, &check::Verdict::outcome);
  const bool silent = real && unseen == static_cast<std::ptrdiff_t>(report.verdicts.size());
  return !report.stopped && !report.from_recording && !silent;
}

bool AllMet(const Report& report) {
  return !report.stopped && !report.verdicts.empty() &&
         std::ranges::all_of(report.verdicts, [](const check::Verdict& v) {
           return v.outcome == check::Outcome::kMet;
         });
}

bool AnyFailed(const Report& report) {
  return std::ranges::any_of(report.verdicts, [&](const check::Verdict& v) {
    return v.outcome == check::Outcome::kFailed ||
           (v.outcome == check::Outcome::kNotObserved && UnseenIsFailure(report));
  });
}

}  // namespace drycrank::report
