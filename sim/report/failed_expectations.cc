// SPDX-License-Identifier: Apache-2.0
#include "report/failed_expectations.h"

#include <algorithm>
#include <string_view>
#include <variant>

#include "types/nth.h"

namespace drycrank::report {
namespace {

using profile::Expectation;

bool Rests(const Expectation& expectation, std::span<const diagnose::Situation> rested) {
  return expectation.during.empty() ||
         std::ranges::any_of(rested, [&](const diagnose::Situation& situation) {
           return std::ranges::count(expectation.during, situation.name) > 0;
         });
}

// Of how messages come, of what a controller answers, of a person's or a probe's word.
const char* BesidesReadings(const Expectation& expectation) {
  const std::string_view kind = profile::Name(expectation.kind);
  if (kind == "message_present" || kind == "counter" || kind == "checksum" ||
      kind == "only_known_messages" || kind == "no_error_frames") {
    return "it is about how messages come, not about what they carry; look at the bus";
  }
  if (profile::QuestionOf(expectation.kind) != nullptr) {
    return "it is about what the controller answers when it is asked";
  }
  const profile::Needs needs = profile::NeedsOf(expectation.kind);
  if (needs == profile::Needs::kAngles || needs == profile::Needs::kOutputs) {
    return "it is about degrees of the crank, which no reading carries: look at the wheels, their "
           "sensors, and what the controller was told of them";
  }
  if (needs == profile::Needs::kAnswers) return "no message tells of it: take the meter to its wires";
  return nullptr;
}

bool AnyFires(const profile::Scenario& scenario, std::span<const check::Verdict> verdicts,
              check::Outcome outcome) {
  return std::ranges::any_of(verdicts, [&](const check::Verdict& verdict) {
    const Expectation& expectation = Nth(scenario.expectations, verdict.expectation);
    return verdict.outcome == outcome &&
           std::holds_alternative<profile::expect::FiresAt>(expectation.kind);
  });
}

// Sparks are counted from the crank wheel: where they come right, it is where it was told to be.
std::string WhichWheel(const std::string& cam, const profile::Scenario& scenario,
                       std::span<const check::Verdict> verdicts) {
  const std::string own = "no reading carries degrees of the crank: look first at ";
  if (AnyFires(scenario, verdicts, check::Outcome::kFailed)) {
    return own + "the crank wheel, since sparks are off too, then at the wheel of " + cam +
           ", and at the sensors of both";
  }
  if (AnyFires(scenario, verdicts, check::Outcome::kMet)) {
    return own + "the wheel of " + cam + ", how it is mounted, its teeth and its sensor; sparks " +
           "come right, so the crank wheel agrees with what the controller was told of it";
  }
  return own + "the wheel of " + cam + ", then at the crank wheel";
}

constexpr const char* kNoTrailing =
    "no reading tells of sparks: look first at trailing_deg, which the controller may not have "
    "been told, then at the trailing coils' outputs";

std::string WhyNot(const Expectation& expectation, std::span<const diagnose::Situation> rested) {
  if (const char* besides = BesidesReadings(expectation)) return besides;
  if (!Rests(expectation, rested)) return "nothing rests for a second in the steps it is about";
  return "at the end of each step the reading is right again (it is late, or comes and goes), or "
         "off by "
         "no more than supply and sensors may be";
}

// Of a wheel, or of trailing coils that never fire, what to look at first.
std::string WhyNotOf(const check::Verdict& verdict, const profile::Scenario& scenario,
                     std::span<const check::Verdict> verdicts,
                     std::span<const diagnose::Situation> rested) {
  const Expectation& expectation = Nth(scenario.expectations, verdict.expectation);
  if (const auto* edges = std::get_if<profile::expect::CamEdges>(&expectation.kind)) {
    return WhichWheel(edges->cam, scenario, verdicts);
  }
  const auto* fires = std::get_if<profile::expect::FiresAt>(&expectation.kind);
  const bool trailing = fires != nullptr && fires->plug == profile::expect::Plug::kTrailing;
  if (trailing && verdict.outcome == check::Outcome::kNotObserved) return kNoTrailing;
  return WhyNot(expectation, rested);
}

About AboutOf(const Expectation& expectation) {
  namespace expect = profile::expect;
  if (std::holds_alternative<expect::CamEdges>(expectation.kind)) return About::kEdges;
  const bool sparks = std::holds_alternative<expect::FiresAt>(expectation.kind) ||
                      std::holds_alternative<expect::InjectsAt>(expectation.kind);
  return sparks ? About::kSparks : About::kReadings;
}

}  // namespace

std::vector<FailedExpectation> FailedExpectations(const profile::Scenario& scenario,
                                                  std::span<const check::Verdict> verdicts,
                                                  std::span<const diagnose::Situation> rested) {
  std::vector<FailedExpectation> failed;
  for (const check::Verdict& verdict : verdicts) {
    const bool counts = verdict.outcome == check::Outcome::kFailed ||
                        verdict.outcome == check::Outcome::kNotObserved;
    if (!counts) continue;
    const Expectation& expectation = Nth(scenario.expectations, verdict.expectation);
    failed.push_back({expectation.name, verdict.detail,
                      WhyNotOf(verdict, scenario, verdicts, rested), AboutOf(expectation)});
  }
  return failed;
}

}  // namespace drycrank::report
