// SPDX-License-Identifier: Apache-2.0
#include "proofread/ripple.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "proofread/arming.h"
#include "proofread/told.h"
#include "proofread/wheel_words.h"
#include "standin/pattern.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

constexpr double kStep = 0.001;

double CompressionsPerTurn(const profile::Engine& engine) {
  const auto cylinders = static_cast<double>(engine.firing_order.size());
  return engine.strokes == 2 ? cylinders : cylinders / 2;
}

const profile::TriggerChannel& Primary(const profile::Bench& bench) {
  return Nth(bench.controller->triggers, bench.controller->decoder.primary);
}

// What lobes of an input that adapts leave of it.
double RippleArmed(const profile::Bench& bench) {
  const int last = static_cast<int>(std::lround(kMostRipple / kStep));
  for (int step = 1; step <= last; ++step) {
    if (!EachLobeArms(bench, Primary(bench), step * kStep)) return (step - 1) * kStep;
  }
  return kMostRipple;
}

Diagnostic TooLow(const profile::Bench& bench, double borne) {
  const profile::TriggerChannel& primary = Primary(bench);
  const auto weak = WeakestLobe(bench, primary, bench.engine.compression_ripple);
  const double share = weak ? weak->share : 0;
  return {primary.written.Of("arm_share", primary.place),
          fmt::format("an arm_share of {:g} bears a speed ripple of {:.3f} while cranking; the "
                      "engine's is {:g} "
                      "({}): the lobe of tooth {} is then {:.2f} times as high as one of the three "
                      "before it, no "
                      "edge is seen there, and the place is lost, or a wrong one is found: sparks "
                      "may come at a wrong degree",
                      primary.arm_share, borne, bench.engine.compression_ripple,
                      At(bench.engine.written.Of("compression_ripple", bench.engine.place)),
                      weak ? weak->tooth : 0, share),
          fmt::format("set {:.2f} or less", std::max(0.0, std::floor(share * 100 - 1) / 100))};
}

}  // namespace

double SteadyDeg(const profile::Engine& engine, double deg, double ripple) {
  constexpr double kRad = std::numbers::pi / 180;
  const double per_turn = CompressionsPerTurn(engine);
  return deg + ripple / (per_turn * kRad) * std::sin(per_turn * deg * kRad);
}

FarthestRatio FarthestAt(const profile::Bench& bench, double ripple) {
  const double cycle_deg = bench.engine.cycle_deg();
  const std::vector<double> edges_deg = standin::ActiveEdgesDeg(Primary(bench), cycle_deg);
  const auto n = static_cast<int>(edges_deg.size());
  const auto edge_deg = [&](int i) {  // i from -2 on
    return i < 0 ? Nth(edges_deg, (i + 2 * n) % n) - cycle_deg * (1 + (-i - 1) / n)
                 : Nth(edges_deg, i);
  };
  FarthestRatio farthest;
  for (int i = 0; i < n; ++i) {
    const double a = edge_deg(i - 2), b = edge_deg(i - 1), c = edge_deg(i);
    const double at_a = SteadyDeg(bench.engine, a, ripple),
                 at_b = SteadyDeg(bench.engine, b, ripple);
    const double ratio = (SteadyDeg(bench.engine, c, ripple) - at_b) / (at_b - at_a);
    const double off = ratio / ((c - b) / (b - a));
    const double factor = std::max(off, 1 / off);
    if (factor > farthest.factor) farthest = {factor, c};
  }
  return farthest;
}

double RippleTold(const profile::Bench& bench) {
  const double widest = 1 + bench.controller->decoder.ratio_tolerance;
  const int last = static_cast<int>(std::lround(kMostRipple / kStep));
  for (int step = 1; step <= last; ++step) {
    if (FarthestAt(bench, step * kStep).factor > widest) return (step - 1) * kStep;
  }
  return kMostRipple;
}

double RippleBorne(const profile::Bench& bench) {
  return std::min(RippleTold(bench), RippleArmed(bench));
}

void CompareRipple(const profile::Bench& bench, Compared& out) {
  const profile::Controller& k = *bench.controller;
  if (k.triggers.empty() || Primary(bench).wheel.teeth.empty()) return;
  if (bench.engine.firing_order.empty()) return;
  const profile::TriggerChannel& primary = Primary(bench);
  const double borne = RippleBorne(bench);
  const bool any = borne >= kMostRipple;
  out.facts.push_back(
      fmt::format("trigger channel '{}': its teeth are told apart while cranking with a speed "
                  "ripple of {}; the "
                  "engine's is {:g}",
                  primary.name, any ? "any size" : fmt::format("up to {:.3f}", borne),
                  bench.engine.compression_ripple));
  if (bench.engine.compression_ripple <= borne) return;
  const double armed = RippleArmed(bench), told = RippleTold(bench);
  // A wheel of which a lobe never arms is said by itself.
  if (armed < bench.engine.compression_ripple && EachLobeArms(bench, primary, 0))
    out.disagreements.push_back(TooLow(bench, armed));
  if (told >= bench.engine.compression_ripple) return;
  const FarthestRatio there = FarthestAt(bench, bench.engine.compression_ripple);
  out.disagreements.push_back(
      {k.decoder.written.Of("ratio_tolerance", k.decoder.place),
       fmt::format(
           "a ratio_tolerance of {:g} bears a speed ripple of {:.3f} while cranking; the "
           "engine's is {:g} ({}): at {:.0f} deg of the cycle an interval of the {} is off by "
           "{:.2f} times, and the place is lost",
           k.decoder.ratio_tolerance, told, bench.engine.compression_ripple,
           At(bench.engine.written.Of("compression_ripple", bench.engine.place)), there.deg,
           WheelWords(primary.wheel), there.factor),
       fmt::format("set at least {:.2f}, or a wheel of more teeth",
                   std::ceil((there.factor - 1) * 100) / 100)});
}

}  // namespace drycrank::proofread
