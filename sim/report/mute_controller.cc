// SPDX-License-Identifier: Apache-2.0
#include "report/mute_controller.h"

#include <algorithm>
#include <variant>

#include "check/listened.h"
#include "report/summary.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

bool IsOfController(const Report& report, const profile::MessageRef& ref) {
  return profile::MessageAt(*report.bench, ref).sender == profile::Sender::kController;
}

// To messages of the controller on that bus, and to nothing else.
bool ListensToIt(const Report& report, const check::Listened& listened, int bus) {
  const auto its = [&](const profile::MessageRef& ref) {
    return ref.bus == bus && IsOfController(report, ref);
  };
  return !listened.messages.empty() && std::ranges::all_of(listened.messages, its);
}

}  // namespace

bool IsSilence(const Report& report, const check::Verdict& verdict) {
  if (verdict.outcome != check::Outcome::kNotObserved || !UnseenIsFailure(report)) return false;
  const profile::Expectation& e = ExpectationOf(report, verdict);
  const auto* present = std::get_if<profile::expect::MessagePresent>(&e.kind);
  if (present == nullptr || e.means.empty() || !IsOfController(report, present->message)) {
    return false;
  }
  const auto listened = check::ListenedBy(*report.bench, *report.scenario);
  return std::ranges::none_of(report.verdicts, [&](const check::Verdict& other) {
    return check::WasJudged(other.outcome) &&
           ListensToIt(report, Nth(listened, other.expectation), present->message.bus);
  });
}

bool AnySilence(const Report& report) {
  return std::ranges::any_of(report.verdicts, [&](const check::Verdict& verdict) {
    return IsSilence(report, verdict);
  });
}

}  // namespace drycrank::report
