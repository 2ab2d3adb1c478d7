// SPDX-License-Identifier: Apache-2.0
#include "tests/study/nodal_world.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace drycrank::study {
namespace {

namespace expect = profile::expect;
using check::Outcome;

constexpr double kHeardS = 0.1;           // after what settles, until a message has come for sure
constexpr double kWorstBeforeEnd = 0.02;  // s: where in a step its report is taken to lie

// How far a report is from violating what is expected.
struct Margin {
  double margin = 0, wanted = 0, tolerance = 0;
  bool met = false;
};
Margin MarginOf(const expect::Follows& follows, const std::vector<double>& stimuli,
                double reported) {
  const double wanted = stimuli[static_cast<std::size_t>(follows.target.stimulus)];
  const double margin = follows.target.tolerance - std::abs(reported - wanted);
  return {margin, wanted, follows.target.tolerance, margin >= 0};
}
Margin MarginOf(const profile::Condition& condition, double reported) {
  if (condition.compare == profile::Compare::kAbove) {
    const double margin = reported - condition.value;
    return {margin, condition.value, 0, margin > 0};
  }
  if (condition.compare != profile::Compare::kEqual)
    throw std::logic_error("a condition not known");
  const double margin = reported == condition.value ? 0 : -std::abs(reported - condition.value);
  return {margin, condition.value, 0, margin == 0};
}

profile::SignalRef SignalOf(const profile::Expectation& expectation) {
  if (const auto* follows = std::get_if<expect::Follows>(&expectation.kind)) return follows->signal;
  return std::get<expect::Always>(expectation.kind).condition.signal;
}

Margin MarginOf(const profile::Expectation& expectation, const std::vector<double>& stimuli,
                double reported) {
  if (const auto* follows = std::get_if<expect::Follows>(&expectation.kind)) {
    return MarginOf(*follows, stimuli, reported);
  }
  return MarginOf(std::get<expect::Always>(expectation.kind).condition, reported);
}

bool IsJudged(const profile::Expectation& expectation, const profile::Step& step) {
  const auto& during = expectation.during;
  if (!during.empty() && std::ranges::count(during, step.name) == 0) return false;
  return step.for_s >= expectation.settle_s + kHeardS;
}

}  // namespace

NodalWorld::NodalWorld(const profile::Bench& bench, const profile::Scenario& scenario)
    : bench_(bench), scenario_(scenario) {
  std::vector<double> now;
  for (const profile::Stimulus& stimulus : bench.stimuli) now.push_back(stimulus.initial);
  TimeNs t_ns = 0;
  for (const profile::Step& step : scenario.steps) {
    for (const profile::Drive& drive : step.drives) {
      if (drive.kind != profile::DriveKind::kHold) throw std::logic_error("a drive that moves");
      now[static_cast<std::size_t>(drive.stimulus)] = drive.to;
    }
    stimuli_.push_back(now);
    const TimeNs end_ns = t_ns + FromSeconds(step.for_s);
    steps_.push_back({step.name, t_ns, end_ns, ""});
    t_ns = end_ns;
  }
}

check::Verdict NodalWorld::Judge(std::size_t e,
                                 const std::vector<support::ControllerReports>& reports) const {
  const profile::Expectation& expectation = scenario_.expectations[e];
  check::Verdict verdict;
  verdict.expectation = static_cast<int>(e);
  for (std::size_t s = 0; s < steps_.size(); ++s) {
    if (!IsJudged(expectation, scenario_.steps[s])) continue;
    const auto reported = support::Received(bench_, SignalOf(expectation), reports[s]);
    if (!reported) continue;
    const Margin margin = MarginOf(expectation, stimuli_[s], *reported);
    const TimeNs t_ns = steps_[s].end_ns - FromSeconds(kWorstBeforeEnd);
    if (verdict.judged == 0 || margin.margin < verdict.margin) {
      verdict.margin = margin.margin;
      verdict.allowed = margin.tolerance;
      verdict.worst_ns = t_ns;
    }
    if (verdict.judged == 0) verdict.outcome = Outcome::kMet;
    if (!margin.met) verdict.outcome = Outcome::kFailed;
    ++verdict.judged;
    verdict.evidence.points.push_back({t_ns, *reported, margin.wanted, margin.tolerance});
  }
  return verdict;
}

std::vector<check::Verdict> NodalWorld::Verdicts(const Cut& cut) const {
  std::vector<support::ControllerReports> reports(steps_.size());
  for (std::size_t s = 0; s < steps_.size(); ++s) {
    const bool judged = std::ranges::any_of(
        scenario_.expectations, [&](const auto& e) { return IsJudged(e, scenario_.steps[s]); });
    if (judged) reports[s] = support::ReportsOf(bench_, {cut}, stimuli_[s]);
  }
  std::vector<check::Verdict> verdicts;
  for (std::size_t e = 0; e < scenario_.expectations.size(); ++e) {
    verdicts.push_back(Judge(e, reports));
  }
  return verdicts;
}

bool AnyViolated(const std::vector<check::Verdict>& verdicts) {
  return std::ranges::any_of(verdicts, [](const check::Verdict& verdict) {
    return verdict.outcome == Outcome::kFailed || verdict.outcome == Outcome::kNotObserved;
  });
}

}  // namespace drycrank::study
