// SPDX-License-Identifier: Apache-2.0
//
// Sizes between two that were looked at: those that give just what was seen of a number (solve.h). An
// input that is out of range reports a fallback, whatever the size: only where it is read does a value
// pass what was seen of it, and where that ends is found by halves.
#include <algorithm>
#include <cmath>

#include "diagnose/size_scale.h"
#include "diagnose/solve.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr int kFalsiSteps = 8, kHalves = 8, kSurprises = 2;
constexpr double kSurprising = 8;              // nats: more than any error makes of a number
constexpr double kSilent = -1, kNoValue = -2;  // beside the fault codes

}  // namespace

// Nothing: it is no number, or its input was out of range.
std::optional<Solver::Target> Solver::TargetOf(std::size_t f) const {
  const Fact& fact = facts_.all()[f];
  if (fact.block < 0) return std::nullopt;
  Target target{fact, 0, std::vector<bool>(facts_.values(), false)};
  target.wanted[fact.value] = true;
  const int state = facts_.FaultOf(fact.value);
  if (state < 0) return target;
  const auto code = AsSize(state);
  target.wanted[code] = true;
  target.code = codes_[fact.situation * facts_.values() + code];
  if (target.code != 0) return std::nullopt;
  return target;
}

Solver::TargetAt Solver::At(const Target& target, double x, const ValueRows& rows) const {
  const ControllerValues& row = rows[target.fact.situation];
  const Prediction p = facts_.At(rows, target.fact);
  const int state = facts_.FaultOf(target.fact.value);
  TargetAt at{x, 0, target.code, false};
  if (row.empty()) {
    at.code = kSilent;
  } else if (!p.is_value()) {
    at.code = kNoValue;
  } else if (state >= 0) {
    at.code = Nth(row, state).low();
  }
  at.is_read = at.code == target.code;
  if (at.is_read) at.off = p.low() - target.fact.seen;
  return at;
}

Solver::TargetAt Solver::At(const Target& target, const Hypothesis& hypothesis, double x) const {
  const std::size_t one[] = {target.fact.situation};
  return At(target, x, nuisances_.ValuesOf(FaultsOf(Sized(hypothesis, x)), one, &target.wanted));
}

// REQUIRES: both are read, one off to each side.
double Solver::Falsi(const Target& target, const Hypothesis& hypothesis, TargetAt a,
                     TargetAt b) const {
  double x = a.x;
  int kept = 0;
  for (int i = 0; i < kFalsiSteps && std::abs(b.x - a.x) > 1e-5; ++i) {
    x = (a.x * b.off - b.x * a.off) / (b.off - a.off);
    const TargetAt now = At(target, hypothesis, x);
    if (!now.is_read || std::abs(now.off) < target.fact.noise / 3) break;
    if (now.off * b.off > 0) {
      b = now;
      if (kept == -1) a.off /= 2;
      kept = -1;
    } else {
      a = now;
      if (kept == 1) b.off /= 2;
      kept = 1;
    }
  }
  return x;
}

// Towards the end of what is read, for as long as that comes no farther from what was seen; that end
// where an end of the input's table was seen, which all sizes up to there give.
std::optional<double> Solver::SizeWhereRead(const Target& target, const Hypothesis& hypothesis,
                                            TargetAt read, TargetAt not_read) const {
  const double noise = target.fact.noise;
  for (int i = 0; i < kHalves; ++i) {
    const TargetAt now = At(target, hypothesis, (read.x + not_read.x) / 2);
    if (!now.is_read) {
      not_read = now;
      continue;
    }
    if (now.off * read.off < 0) return Falsi(target, hypothesis, read, now);
    if (std::abs(now.off) > std::abs(read.off) + noise) return std::nullopt;
    read = now;
  }
  return std::abs(read.off) < noise ? std::optional(read.x) : std::nullopt;
}

std::optional<double> Solver::SizeOf(const Target& target, const Hypothesis& hypothesis, TargetAt a,
                                     TargetAt b) const {
  if (a.is_read && b.is_read) {
    if (a.off * b.off >= 0) return std::nullopt;
    return Falsi(target, hypothesis, a, b);
  }
  if (a.is_read) return SizeWhereRead(target, hypothesis, a, b);
  if (b.is_read) return SizeWhereRead(target, hypothesis, b, a);
  // Too low at one end and too high at the other: read somewhere between.
  for (int i = 0; i < kHalves && a.code != b.code; ++i) {
    const TargetAt now = At(target, hypothesis, (a.x + b.x) / 2);
    if (now.is_read) {
      const auto below = SizeWhereRead(target, hypothesis, now, a);
      return below ? below : SizeWhereRead(target, hypothesis, now, b);
    }
    (now.code == a.code ? a : b) = now;
  }
  return std::nullopt;
}

// Where a key fact passes what was seen of it, the size that gives just that.
void Solver::Between(const Hypothesis& hypothesis, const Point& a, const Point& b, double least,
                     Ceiling& ceiling, std::vector<Point>& points) const {
  for (const std::size_t f : key_) {
    const auto target = TargetOf(f);
    if (!target) continue;
    const auto x = SizeOf(*target, hypothesis, At(*target, a.x, a.rows), At(*target, b.x, b.rows));
    if (x) points.push_back(Near(hypothesis, *x, first_, columns_, least, &ceiling));
  }
}

// Among what it moves at some size, where that is known.
std::optional<Solver::Target> Solver::MostSurprising(const ValueRows& rows,
                                                     const Sensitivities& columns,
                                                     const Ceiling& ceiling) const {
  double most = kSurprising;
  std::optional<Target> found;
  for (std::size_t f = 0; f < facts_.all().size(); ++f) {
    const Fact& fact = facts_.all()[f];
    const bool moved = ceiling.moved.empty() || ceiling.moved[fact.situation][fact.value];
    if (!moved || fact.state || fact.block < 0) continue;
    const double cost = weigher_.CostAlone(fact, rows, columns);
    if (cost <= most) continue;
    auto target = TargetOf(f);
    if (!target) continue;
    most = cost;
    found.emplace(std::move(*target));
  }
  return found;
}

void Solver::BySurprise(const Hypothesis& hypothesis, const Sensitivities& columns, double least,
                        Ceiling& ceiling, std::vector<Point>& points) const {
  if (hypothesis.quantity != Quantity::kOhm) return;
  for (int i = 0; i < kSurprises; ++i) {
    std::ranges::sort(points, {}, &Point::x);
    const auto best = std::ranges::max_element(points, {}, &Point::log_like);
    const auto target = MostSurprising(best->rows, columns, ceiling);
    if (!target) return;
    std::vector<TargetAt> at;
    for (const Point& point : points) at.push_back(At(*target, point.x, point.rows));
    if (at.front().x > Low(hypothesis)) {
      at.insert(at.begin(), At(*target, hypothesis, Low(hypothesis)));
    }
    if (at.back().x < High(hypothesis)) at.push_back(At(*target, hypothesis, High(hypothesis)));
    bool any = false;
    for (std::size_t k = 1; k < at.size(); ++k) {
      const auto x = SizeOf(*target, hypothesis, at[k - 1], at[k]);
      if (!x) continue;
      points.push_back(Near(hypothesis, *x, nuisances_.everywhere(), columns, least, &ceiling));
      any = true;
    }
    if (!any) return;
  }
}

}  // namespace drycrank::diagnose
