// SPDX-License-Identifier: Apache-2.0
//
// Settings and sizes from the degrees at which was fired.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "diagnose/fired.h"
#include "diagnose/told_suspects.h"
#include "profile/told_controller.h"
#include "types/angle.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

constexpr double kOneSlotDeg = 10;  // off the place of the cylinder that belongs there

// The fewest exchanges of two that make one of the other.
int ExchangesBetween(std::vector<int> order, const std::vector<int>& right) {
  int exchanges = 0;
  for (std::size_t i = 0; i < order.size(); ++i) {
    if (order[i] == right[i]) continue;
    const auto at =
        std::find(order.begin() + static_cast<std::ptrdiff_t>(i), order.end(), right[i]);
    if (at == order.end()) return exchanges;
    std::iter_swap(order.begin() + static_cast<std::ptrdiff_t>(i), at);
    ++exchanges;
  }
  return exchanges;
}

// What a firing order of n cylinders with so many exchanges is one of.
double LogOneOf(std::size_t n, int exchanges) {
  const auto cylinders = static_cast<double>(n);
  const double pairs = std::log(std::max(1.0, cylinders * (cylinders - 1) / 2));
  return -std::min(exchanges * pairs, std::lgamma(cylinders));
}

}  // namespace

// Who was seen to fire at each place of the cycle, the right advance taken for granted; empty: two
// at one place, or one at none.
std::vector<int> Fired::OrderSeen() const {
  const profile::Decoder& d = bench_.controller->decoder;
  std::map<int, double> sparks;
  for (const FiredAt& at : *seen_) sparks.insert(at.sparks_deg.begin(), at.sparks_deg.end());
  std::vector<int> order;
  for (const double angle : d.firing_angles_deg) {
    const auto there = std::ranges::find_if(sparks, [&](const auto& spark) {
      return std::abs(WrapSignedDeg(spark.second - angle + d.advance_deg, cycle_deg_)) <
             kOneSlotDeg;
    });
    if (there == sparks.end()) return {};
    order.push_back(there->first);
    sparks.erase(there);
  }
  return sparks.empty() ? order : std::vector<int>();
}

std::optional<Fired::Solved> Fired::SolveOrder(const Hypothesis& hypothesis) const {
  const std::vector<int> order = OrderSeen();
  const std::vector<int>& right = bench_.controller->decoder.firing_order;
  if (order.empty() || order == right) return std::nullopt;
  Solved solved{hypothesis, LogOneOf(order.size(), ExchangesBetween(order, right))};
  fault::Told told;
  told.firing_order = order;
  solved.hypothesis.faults[0].kind = told;
  return solved;
}

// By the mean of the sparks; m, or less advance, moves them on by as much.
std::optional<Fired::Solved> Fired::SolveShift(const Hypothesis& hypothesis, double sign,
                                               const Plugs& plugs) const {
  const Hypothesis as_right = WithValue(hypothesis, (hypothesis.low + hypothesis.high) / 2);
  Plan plan = PlanOf(as_right.faults);
  ValueRows firing(seen_->size());
  const std::vector<int>& order = bench_.engine.firing_order;
  double sum = 0, count = 0;
  for (const FiredAt& at : *seen_) {
    for (std::size_t i = 0; i < order.size(); ++i) {
      const auto spark = (at.*plugs.seen).find(order[i]);
      if (spark == (at.*plugs.seen).end()) continue;
      sum += WrapSignedDeg(spark->second - plan.due_deg[plugs.first + i], cycle_deg_);
      ++count;
    }
  }
  if (count == 0) return std::nullopt;
  const double value = as_right.value + sign * sum / count;
  if (value < hypothesis.low || value > hypothesis.high) return std::nullopt;
  const double cylinders = static_cast<double>(order.size());
  const double range = hypothesis.high - hypothesis.low;
  double width = kSparkDeg * std::sqrt(2 * std::numbers::pi / cylinders);
  if (alike_deg_ > 0) {
    width = IsOfPlacing(hypothesis.faults[0]) ? 2 * window_deg_
                                              : width * std::max(1.0, range / alike_deg_);
  }
  return Solved{WithValue(hypothesis, value), std::log(std::min(1.0, width / range))};
}

std::optional<Fired::Solved> Fired::Solve(const Hypothesis& hypothesis) const {
  if (seen_ == nullptr) return std::nullopt;
  const profile::Fault& f = hypothesis.faults[0];
  if (IsTakenForTheOtherTurn(f)) return Solved{hypothesis, 0};
  const std::string_view setting = profile::SettingOf(f);
  const Plugs leading;
  if (IsOfPlacing(f)) return SolveShift(hypothesis, f.Is<fault::WheelOffset>() ? 1 : -1, leading);
  if (setting == "firing_order") return SolveOrder(hypothesis);
  if (setting == "advance_deg") return SolveShift(hypothesis, -1, leading);
  if (setting == "trailing_deg") {
    return SolveShift(hypothesis, 1,
                      {&FiredAt::trailing_deg, 2 * bench_.engine.firing_order.size()});
  }
  const profile::Controller& controller = *bench_.controller;
  if (controller.triggers.empty()) return std::nullopt;
  const profile::TriggerChannel& channel = Nth(controller.triggers, controller.decoder.primary);
  if (setting == "offset_deg" && f.at == channel.name) return SolveShift(hypothesis, -1, leading);
  if (f.Is<fault::WheelOffset>() && f.at == TriggerBehind(bench_, channel)) {
    return SolveShift(hypothesis, 1, leading);
  }
  return std::nullopt;
}

}  // namespace drycrank::diagnose
