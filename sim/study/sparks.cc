// SPDX-License-Identifier: Apache-2.0
#include "study/sparks.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

namespace drycrank::study {
namespace {

constexpr TimeNs kSettleNs = kNsPerS;
constexpr int kFewest = 3;
constexpr double kSteady = 0.9;  // length of the mean vector; 1: all at one angle
constexpr double kSigmaDeg = 1;  // common practice for a wheel and its sensor, no source

double FiringDeg(const profile::Engine& engine, int cylinder) {
  for (std::size_t i = 0; i < engine.firing_order.size(); ++i) {
    if (engine.firing_order[i] == cylinder) return engine.firing_angles_deg[i];
  }
  return 0;
}

}  // namespace

void Sparks::OnStep(std::size_t step, TimeNs t_ns) {
  step_ = step;
  step_begin_ns_ = t_ns;
}

void Sparks::OnOutput(const standin::OutputEvent& event) {
  const engine::Motion& motion = runner_->plant().motion();
  if (!IsCoil(event.kind) || event.on) return;
  if (event.t_ns < step_begin_ns_ + kSettleNs || event.t_ns < motion.begin_ns()) return;
  const double cycle_deg = bench_.engine.cycle_deg();
  const double after_deg =
      motion.AngleAt(event.t_ns).InCycle(cycle_deg) - FiringDeg(bench_.engine, event.cylinder);
  const double angle = after_deg / cycle_deg * 2 * std::numbers::pi;
  Fired& fired = fired_[{step_, event.cylinder, event.kind == OutputKind::kTrailingCoil}];
  ++fired.count;
  fired.sine += std::sin(angle);
  fired.cosine += std::cos(angle);
}

std::optional<double> Sparks::Fired::MeanDeg(double cycle_deg) const {
  if (count < kFewest || std::hypot(sine, cosine) < kSteady * count) return std::nullopt;
  return std::atan2(sine, cosine) / (2 * std::numbers::pi) * cycle_deg;
}

std::optional<report::Effect> CompareSparks(const profile::Bench& bench,
                                            const profile::Scenario& scenario,
                                            const Sparks& healthy, const Sparks& other) {
  const double cycle_deg = bench.engine.cycle_deg();
  std::optional<report::Effect> worst;
  for (const auto& [where, fired] : healthy.fired()) {
    const auto due_deg = fired.MeanDeg(cycle_deg);
    if (!due_deg) continue;
    report::Effect effect;
    effect.value = fmt::format("{} of cylinder {} after top dead centre",
                               where.trailing ? "trailing spark" : "spark", where.cylinder);
    effect.unit = "deg";
    effect.situation = scenario.steps[where.step].name;
    const auto at = other.fired().find(where);
    const auto is_deg = at == other.fired().end() ? std::nullopt : at->second.MeanDeg(cycle_deg);
    effect.missing = !is_deg;
    if (is_deg) {
      effect.deviation = WrapSignedDeg(*is_deg - *due_deg, cycle_deg);
      effect.healthy = *due_deg;
      effect.faulty = *is_deg;
    }
    effect.times_sigma =
        effect.missing ? report::kMissingSigmas : std::abs(effect.deviation) / kSigmaDeg;
    if (effect.times_sigma < report::kLeastEffect) continue;
    if (!worst || effect.times_sigma > worst->times_sigma + 1e-6) worst = effect;
  }
  return worst;
}

}  // namespace drycrank::study
