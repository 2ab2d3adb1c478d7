// SPDX-License-Identifier: Apache-2.0
#include "check/listened.h"

#include <variant>

#include "check/crank.h"
#include "check/judge.h"
#include "scenario/timeline.h"

namespace drycrank::check {

std::vector<Listened> ListenedBy(const profile::Bench& bench, const profile::Scenario& scenario) {
  const scenario::Timeline timeline(bench, scenario);
  const Crank crank;
  const Subject subject{bench, timeline, crank};
  std::vector<Listened> all;
  for (const profile::Expectation& expectation : scenario.expectations) {
    const auto make = [&](const auto& kind) { return MakeJudge(subject, kind); };
    const JudgePtr judge = std::visit(make, expectation.kind);
    Listened& listened = all.emplace_back();
    if (judge == nullptr) continue;
    listened.messages = judge->Messages();
    listened.talk = !judge->Identifiers().empty();
  }
  return all;
}

}  // namespace drycrank::check
