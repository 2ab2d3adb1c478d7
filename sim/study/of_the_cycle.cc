// SPDX-License-Identifier: Apache-2.0
#include "study/of_the_cycle.h"

#include <algorithm>
#include <optional>
#include <string>
#include <variant>

#include "types/nth.h"
#include "types/output_event.h"

namespace drycrank::study {
namespace {

// What it wants to see act; none: nothing of the kind.
std::optional<OutputKind> ActsFor(const profile::ExpectationKind& kind) {
  namespace expect = profile::expect;
  if (std::get_if<expect::InjectsAt>(&kind) != nullptr) return OutputKind::kInjector;
  if (const auto* order = std::get_if<expect::Order>(&kind)) return order->output;
  const auto* fires = std::get_if<expect::FiresAt>(&kind);
  if (fires == nullptr) return std::nullopt;
  const bool trailing = fires->plug == expect::Plug::kTrailing;
  return trailing ? OutputKind::kTrailingCoil : OutputKind::kCoil;
}

}  // namespace

bool AsksForWhatIsNotTold(const profile::Controller& controller,
                          const profile::ExpectationKind& kind) {
  const std::optional<OutputKind> acts = ActsFor(kind);
  if (acts == OutputKind::kTrailingCoil) return !controller.decoder.trailing_deg.has_value();
  return acts == OutputKind::kInjector && controller.decoder.injection_ms <= 0;
}

bool IsOfTheCycle(const profile::Bench& bench, const profile::Expectation& e) {
  namespace expect = profile::expect;
  const profile::Needs needs = profile::NeedsOf(e.kind);
  if (needs == profile::Needs::kAngles || needs == profile::Needs::kOutputs ||
      needs == profile::Needs::kTurns) {
    return true;
  }
  const auto* follows = std::get_if<expect::Follows>(&e.kind);
  const profile::Condition* condition = profile::ConditionOf(e.kind);
  if (follows == nullptr && condition == nullptr) return false;
  if (condition != nullptr && condition->looks_at != profile::LooksAt::kReported) return true;
  const std::string& carries =
      profile::SignalAt(bench, follows != nullptr ? follows->signal : condition->signal).carries;
  return carries == "sync_state" || carries == "engine_speed" || carries.starts_with("cam_angle.");
}

bool FailedOfTheCycle(const profile::Bench& bench, const profile::Scenario& scenario,
                      std::span<const check::Verdict> verdicts) {
  return std::ranges::any_of(verdicts, [&](const check::Verdict& verdict) {
    return verdict.outcome != check::Outcome::kMet &&
           IsOfTheCycle(bench, Nth(scenario.expectations, verdict.expectation));
  });
}

}  // namespace drycrank::study
