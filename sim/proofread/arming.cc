// SPDX-License-Identifier: Apache-2.0
#include "proofread/arming.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <variant>
#include <vector>

#include "check/edge_places.h"
#include "profile/turning_wheel.h"
#include "proofread/ripple.h"
#include "proofread/told.h"
#include "trigger/wheel_edges.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

constexpr int kLobesKept = 3;

struct Lobe {
  int tooth = 0;
  double begin_deg = 0, end_deg = 0;  // crank
};

// Those towards which the input arms, over one turn of the wheel.
std::vector<Lobe> LobesOf(const profile::Bench& bench, const profile::Trigger& trigger,
                          const profile::TriggerChannel& channel) {
  const bool reversed = check::LeadsReversed(bench, trigger, channel);
  const bool positive = channel.edge == profile::ActiveEdge::kFalling;
  std::vector<Lobe> lobes;
  for (const auto& edge : trigger::WheelEdges(profile::TurningWheelOf(trigger, bench.engine))) {
    if (edge.metal != (positive != reversed)) continue;
    const double begin_deg = edge.crank_deg - edge.lead_deg;
    lobes.push_back({edge.tooth, begin_deg, begin_deg + edge.lobe_deg});
  }
  return lobes;
}

const profile::Trigger* CoilAt(const profile::Bench& bench,
                               const profile::TriggerChannel& channel) {
  const int at = check::TriggerAt(bench, channel);
  if (at < 0 || channel.conditioning != profile::Conditioning::kZeroCrossing) return nullptr;
  const profile::Trigger& trigger = Nth(bench.triggers, at);
  const bool coil = std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup);
  return coil ? &trigger : nullptr;
}

Diagnostic Lost(const profile::Bench& bench, const profile::TriggerChannel& channel,
                const WeakLobe& weak) {
  const profile::Trigger& coil = *CoilAt(bench, channel);
  const bool primary =
      &Nth(bench.controller->triggers, bench.controller->decoder.primary) == &channel;
  const double most = std::floor(weak.share * 100 - 1) / 100;
  return {
      channel.written.Of("arm_share", channel.place),
      fmt::format(
          "trigger channel '{}' arms at {:g} of the highest of three lobes before; that of "
          "tooth {} is {:.1f} deg long, one before it {:.1f} deg, so it is {:.2f} times as high "
          "({}): no edge is seen there, {}",
          channel.name, channel.arm_share, weak.tooth, weak.deg, weak.before_deg, weak.share,
          At(coil.written.Of("wheel", coil.place)),
          primary ? "and no place is found, or a wrong one: sparks may come at a wrong degree"
                  : "in no turn of it"),
      fmt::format("set arm_share to {:.2f} or less, or a wheel whose teeth are alike",
                  std::max(0.0, most))};
}

}  // namespace

std::optional<WeakLobe> WeakestLobe(const profile::Bench& bench,
                                    const profile::TriggerChannel& channel, double ripple) {
  const profile::Trigger* coil = CoilAt(bench, channel);
  if (coil == nullptr) return std::nullopt;
  const std::vector<Lobe> lobes = LobesOf(bench, *coil, channel);
  if (lobes.empty()) return std::nullopt;
  const double turn_deg = profile::TurningWheelOf(*coil, bench.engine).turn_deg;
  const int n = static_cast<int>(lobes.size());
  const auto lobe_at = [&](int i) {  // from -3 on, over turns
    const int turn = (i + kLobesKept * n) / n - kLobesKept;
    Lobe lobe = Nth(lobes, (i + kLobesKept * n) % n);
    lobe.begin_deg += turn * turn_deg;
    lobe.end_deg += turn * turn_deg;
    return lobe;
  };
  const auto lasts = [&](const Lobe& lobe) {
    return SteadyDeg(bench.engine, lobe.end_deg, ripple) -
           SteadyDeg(bench.engine, lobe.begin_deg, ripple);
  };
  WeakLobe weakest{1e300, 0, 0, 0};
  const int all = n * static_cast<int>(std::lround(bench.engine.cycle_deg() / turn_deg));
  for (int i = 0; i < all; ++i) {
    const Lobe lobe = lobe_at(i);
    for (int back = 1; back <= kLobesKept; ++back) {
      const Lobe before = lobe_at(i - back);
      const double share = lasts(before) / lasts(lobe);
      if (share >= weakest.share) continue;
      weakest = {share, lobe.tooth, lobe.end_deg - lobe.begin_deg,
                 before.end_deg - before.begin_deg};
    }
  }
  return weakest;
}

bool EachLobeArms(const profile::Bench& bench, const profile::TriggerChannel& channel,
                  double ripple) {
  if (channel.arm_share <= 0) return true;
  const auto weak = WeakestLobe(bench, channel, ripple);
  return !weak || weak->share >= channel.arm_share;
}

void CompareArming(const profile::Bench& bench, Compared& out) {
  for (const profile::TriggerChannel& channel : bench.controller->triggers) {
    if (EachLobeArms(bench, channel, 0)) continue;
    out.disagreements.push_back(Lost(bench, channel, *WeakestLobe(bench, channel, 0)));
  }
}

}  // namespace drycrank::proofread
