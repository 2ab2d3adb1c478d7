// SPDX-License-Identifier: Apache-2.0
#include "diagnose/solve.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "diagnose/size_scale.h"
#include "diagnose/unheard.h"
#include "diagnose/unplayed.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr int kGrid = 13;
constexpr std::size_t kMostKeys = 6, kMostFirst = 6;
constexpr double kNearlyAtFirst = 6, kAlike = 0.01;  // nats
constexpr double kWorthALook = 2;  // nats: what turns is played, and that is dear

}  // namespace

Solver::Solver(Predictor& predictor, const Facts& facts, const Nuisances& nuisances,
               const Weigher& weigher)
    : predictor_(predictor),
      facts_(facts),
      nuisances_(nuisances),
      weigher_(weigher),
      rows_(predictor.healthy_values()),
      columns_(nuisances.Columns({}, rows_)) {
  ChooseSituations();
}

Solver::Solver(const Solver& healthy, std::vector<profile::Fault> base, ValueRows rows,
               Sensitivities columns)
    : predictor_(healthy.predictor_),
      facts_(healthy.facts_),
      nuisances_(healthy.nuisances_),
      weigher_(healthy.weigher_),
      display_(healthy.display_),
      base_(std::move(base)),
      rows_(std::move(rows)),
      columns_(std::move(columns)) {
  ChooseSituations();
}

Hypothesis Solver::Sized(const Hypothesis& hypothesis, double x) const {
  if (hypothesis.quantity == Quantity::kNone) return hypothesis;
  return WithValue(hypothesis, FromScale(hypothesis, x));
}

std::vector<profile::Fault> Solver::FaultsOf(const Hypothesis& hypothesis) const {
  std::vector<profile::Fault> faults = hypothesis.faults;
  faults.insert(faults.end(), base_.begin(), base_.end());
  predictor_.unheard().AddTo(faults);
  return faults;
}

std::set<std::string> Solver::MissingWith(std::span<const profile::Fault> faults) const {
  std::set<std::string> missing = MissingIn(faults);
  const DisplayLook look = predictor_.unheard().LookOf(faults);
  if (look != DisplayLook::kValues) missing.insert(MarkOf(look));
  return missing;
}

// By what each channel's most surprising fact costs, for each fault code that it was seen to have:
// what is out of range tells little of a size. The first situation always.
void Solver::ChooseSituations() {
  codes_.assign(facts_.situations() * facts_.values(), 0);
  const auto code_at = [&](std::size_t situation, std::size_t value) -> double& {
    return codes_[situation * facts_.values() + value];
  };
  for (const Fact& fact : facts_.all()) {
    if (fact.state && !std::isnan(fact.seen)) code_at(fact.situation, fact.value) = fact.seen;
  }
  const auto code_of = [&](const Fact& fact) {
    const int state = fact.state ? -1 : facts_.FaultOf(fact.value);
    return state < 0 ? 0 : code_at(fact.situation, AsSize(state));
  };
  using Worst = std::map<std::tuple<int, bool, double>, std::pair<double, std::size_t>>;
  Worst worst;
  Worst::iterator at = worst.end();
  for (std::size_t f = 0; f < facts_.all().size(); ++f) {
    const Fact& fact = facts_.all()[f];
    const double cost = weigher_.CostAlone(fact, rows_, columns_);
    const std::tuple key{facts_.ChannelOf(fact.value), fact.state, code_of(fact)};
    if (at == worst.end() || at->first != key) at = worst.try_emplace(key).first;
    auto& [most, which] = at->second;
    if (cost <= most) continue;
    most = cost;
    which = f;
  }
  std::vector<std::pair<double, std::size_t>> order;
  for (const auto& [channel, found] : worst) order.push_back(found);
  std::stable_sort(order.rbegin(), order.rend());
  std::set<std::size_t> chosen;
  if (facts_.situations() > 0) chosen.insert(0);
  for (const auto& [cost, f] : order) {
    const Fact& fact = facts_.all()[f];
    if (cost < kWorthALook && key_.size() >= 2) break;
    if (key_.size() < kMostKeys) key_.push_back(f);
    if (chosen.size() < kMostFirst) chosen.insert(fact.situation);
  }
  first_.assign(chosen.begin(), chosen.end());
  key_values_.assign(facts_.values(), false);
  for (const std::size_t f : key_) {
    const Fact& fact = facts_.all()[f];
    key_values_[fact.value] = true;
    if (std::ranges::count(key_situations_, fact.situation) == 0) {
      key_situations_.push_back(fact.situation);
    }
  }
}

bool Solver::ChangesNothing(const ValueRows& rows, Situations situations) const {
  return std::ranges::all_of(situations, [&](std::size_t s) { return rows[s] == rows_[s]; });
}

Solver::Point Solver::At(const Hypothesis& hypothesis, double x, Situations situations,
                         const Sensitivities& columns) const {
  const Hypothesis sized = Sized(hypothesis, x);
  const std::vector<profile::Fault> faults = FaultsOf(sized);
  ValueRows rows = nuisances_.ValuesOf(faults, situations), higher;
  if (!ChangesNothing(rows, situations)) {
    higher = nuisances_.CloseBy(rows, nuisances_.WithSupply(faults), situations);
  }
  return Weigh(sized, x, std::move(rows), higher, situations, columns);
}

Solver::Point Solver::Weigh(const Hypothesis& sized, double x, ValueRows rows,
                            const ValueRows& higher, Situations situations,
                            const Sensitivities& columns) const {
  Point point{x, 0, std::move(rows), false, 0, {}, 0};
  const std::set<std::string> missing = MissingWith(FaultsOf(sized));
  Weighed weighed;
  if (ChangesNothing(point.rows, situations)) {
    weighed = weigher_.Weigh(point.rows, columns, situations, &missing);
  } else {
    Sensitivities own = columns;
    nuisances_.SetSupply(point.rows, higher, own);
    nuisances_.SetShift(point.rows, own);
    weighed = weigher_.Weigh(point.rows, own, situations, &missing);
  }
  point.heard = LogLikeOfDisplay(missing);
  point.log_like = weighed.log_like + point.heard;
  point.glitches = weighed.glitches;
  point.shared = std::move(weighed.shared);
  return point;
}

double Solver::LogLikeOfDisplay(const std::set<std::string>& missing) const {
  return display_ == nullptr ? 0 : display_->LogLike(missing);
}

// REQUIRES: weighed, not screened.
void Solver::Become(const Hypothesis& hypothesis, Point& best, Fit& fit) const {
  fit.hypothesis = Sized(hypothesis, best.x);
  fit.rows = std::move(best.rows);
  fit.missing = MissingWith(FaultsOf(fit.hypothesis));
  fit.log_like = best.log_like - best.heard;
  fit.glitches = best.glitches;
  fit.shared = std::move(best.shared);
}

// What only playing tells is played one situation after the other, for as long as that which is
// left out, were it all as seen, could bring it to `least`.
Solver::Point Solver::Near(const Hypothesis& hypothesis, double x, Situations situations,
                           const Sensitivities& columns, double least, Ceiling* ceiling) const {
  if (least <= kNever) return At(hypothesis, x, situations, columns);
  const Hypothesis sized = Sized(hypothesis, x);
  const std::vector<profile::Fault> faults = FaultsOf(sized);
  Unplayed now(predictor_, faults, situations);
  if (!now.any_left_out && ChangesNothing(now.rows, situations)) {
    return Weigh(sized, x, std::move(now.rows), {}, situations, columns);
  }
  const std::set<std::string> missing = MissingWith(faults);
  if (ceiling != nullptr && missing.empty()) {
    const double at_most = AtMostAt(now, situations, columns, *ceiling);
    if (at_most < least) return {x, at_most, std::move(now.rows), true, 0, {}, 0};
  }
  Unplayed higher(predictor_, nuisances_.WithSupply(faults), situations);
  now.LeaveOutOfEither(higher);
  Sensitivities own = now.any_left_out ? columns : Sensitivities();
  for (const std::size_t s : situations) {
    if (!now.any_left_out) break;
    if (std::ranges::count(now.left_out[s], true) == 0) continue;
    nuisances_.SetSupply(now.rows, higher.rows, own);
    nuisances_.SetShift(now.rows, own);
    const double at_most = weigher_.AtMost(now.rows, own, situations, &missing, now.left_out);
    if (at_most < least) return {x, at_most, std::move(now.rows), false, 0, {}, 0};
    now.Play(predictor_, faults, s, higher);
  }
  return Weigh(sized, x, std::move(now.rows), higher.rows, situations, columns);
}

// A parabola through the best point and its neighbours, both of them weighed, and points beside the
// top to know its width.
void Solver::ClimbBy(const Hypothesis& hypothesis, Situations situations,
                     const Sensitivities& columns, int rounds, double least, Ceiling& ceiling,
                     std::vector<Point>& points) const {
  const auto try_at = [&](double x) {
    points.push_back(Near(hypothesis, x, situations, columns, least, &ceiling));
  };
  const auto weigh = [&](Point& point) {
    if (point.screened) point = Near(hypothesis, point.x, situations, columns, least);
  };
  const double low = Low(hypothesis), high = High(hypothesis);
  for (int round = 0; round < rounds; ++round) {
    std::sort(points.begin(), points.end(),
              [](const Point& p, const Point& q) { return p.x < q.x; });
    const auto best =
        std::max_element(points.begin(), points.end(),
                         [](const Point& p, const Point& q) { return p.log_like < q.log_like; });
    const auto i = static_cast<std::size_t>(best - points.begin());
    if (i > 0) weigh(points[i - 1]);
    if (i + 1 < points.size()) weigh(points[i + 1]);
    const double x = points[i].x, y = points[i].log_like;
    // The top may lie beyond what was looked at: three times as far out.
    const double width = points.back().x - points.front().x;
    const bool below = i == 0 && x > low, above = i + 1 == points.size() && x < high;
    if (points.size() > 1 && (below || above)) {
      const double out = std::clamp(below ? x - 3 * width : x + 3 * width, low, high);
      try_at(out);
      continue;
    }
    const double left = i > 0 ? points[i - 1].x : x,
                 right = i + 1 < points.size() ? points[i + 1].x : x;
    const double drop_left = i > 0 ? y - points[i - 1].log_like : 0;
    const double drop_right = i + 1 < points.size() ? y - points[i + 1].log_like : 0;
    const bool known_left = i == 0 || drop_left < 1.5 || x - left < 1e-6 * (high - low);
    const bool known_right =
        i + 1 == points.size() || drop_right < 1.5 || right - x < 1e-6 * (high - low);
    if (known_left && known_right) return;
    // The top of the parabola where there are two neighbours; then halfway down either side.
    double vertex = x;
    if (i > 0 && i + 1 < points.size()) {
      const double h1 = x - left, h2 = right - x;
      const double curve = drop_left / h1 + drop_right / h2;
      if (curve > 0) vertex = x + 0.5 * (drop_left * h2 / h1 - drop_right * h1 / h2) / curve;
    }
    if (std::abs(vertex - x) > 0.02 * (right - left)) try_at(std::clamp(vertex, low, high));
    const double at = points.back().log_like > y ? points.back().x : x;
    for (const auto& [end, drop] : {std::pair{left, drop_left}, std::pair{right, drop_right}}) {
      if (end == at || drop < 1.5) continue;
      // Where a parabola would have fallen by one nat.
      const double share = std::clamp(std::sqrt(1 / std::max(drop, 1.0)), 0.1, 0.7);
      try_at(at + share * (end - at));
    }
  }
}

std::optional<Fit> Solver::FirstLook(const Hypothesis& hypothesis, double least) const {
  Ceiling ceiling;
  if (!MovesAKey(hypothesis) || !CouldReach(hypothesis, least, ceiling)) return std::nullopt;
  Fit fit;
  if (hypothesis.quantity == Quantity::kNone) {
    Point point = Near(hypothesis, 0, first_, columns_, least, &ceiling);
    if (point.log_like < least) return std::nullopt;
    fit.hypothesis = hypothesis;
    fit.missing = MissingWith(FaultsOf(hypothesis));
    fit.rows = std::move(point.rows);
    fit.log_like = point.log_like - point.heard;
    return fit;
  }
  // The grid; what lies between two ends that differ is looked at, and nothing else.
  const double low = Low(hypothesis), high = High(hypothesis);
  std::vector<Point> grid;
  for (int i = 0; i < kGrid; ++i) {
    const double x = low + (high - low) * i / (kGrid - 1);
    grid.push_back(Near(hypothesis, x, first_, columns_, least, &ceiling));
  }
  std::vector<Point> points = grid;
  for (std::size_t i = 1; i < grid.size(); ++i) {
    Between(hypothesis, grid[i - 1], grid[i], least, ceiling, points);
  }
  const auto is_likely = [&](const Point& point) { return point.log_like >= least; };
  if (std::ranges::none_of(points, is_likely)) return std::nullopt;
  ClimbBy(hypothesis, first_, columns_, 3, least, ceiling, points);
  std::sort(points.begin(), points.end(), [](const Point& a, const Point& b) { return a.x < b.x; });
  std::vector<std::pair<double, double>> seen;
  std::size_t best = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    seen.emplace_back(points[i].x, points[i].log_like);
    if (points[i].log_like > points[best].log_like) best = i;
  }
  fit.hypothesis = Sized(hypothesis, points[best].x);
  fit.missing = MissingWith(FaultsOf(fit.hypothesis));
  fit.rows = std::move(points[best].rows);
  fit.log_like = points[best].log_like - points[best].heard;
  fit.log_area = LogArea(seen, low, high);
  const double left = best > 0 ? points[best].x - seen[best - 1].first : 0;
  const double right = best + 1 < seen.size() ? seen[best + 1].first - points[best].x : 0;
  fit.step = std::max({left, right, 1e-9 * (high - low)});
  NoteAsLikely(points, best, kNearlyAtFirst, fit);
  return fit;
}

bool Solver::Finish(Fit& fit, const Sensitivities& columns, int rounds, double least) const {
  const Hypothesis hypothesis = fit.hypothesis;
  const double first_area = fit.log_area;
  const std::vector<std::size_t>& everywhere = nuisances_.everywhere();
  Ceiling ceiling;
  if (hypothesis.quantity == Quantity::kNone) {
    Point point = Near(hypothesis, 0, everywhere, columns, least, &ceiling);
    const bool likely = point.log_like >= least;
    if (likely) Become(hypothesis, point, fit);
    return likely;
  }
  const double low = Low(hypothesis), high = High(hypothesis);
  const double x = ToScale(hypothesis, hypothesis.value);
  std::vector<Point> points;
  std::vector<double> tried = {x, x - fit.step, x + fit.step};
  tried.insert(tried.end(), fit.as_likely.begin(), fit.as_likely.end());
  for (const double at : tried) {
    const double in = std::clamp(at, low, high);
    const bool known = std::ranges::any_of(points, [&](const Point& p) { return p.x == in; });
    if (!known) points.push_back(Near(hypothesis, in, everywhere, columns, least, &ceiling));
  }
  BySurprise(hypothesis, columns, least, ceiling, points);
  const auto is_likely = [&](const Point& point) { return point.log_like >= least; };
  if (std::ranges::none_of(points, is_likely)) return false;
  ClimbBy(hypothesis, everywhere, columns, rounds, least, ceiling, points);
  FindEnds(hypothesis, columns, least, ceiling, points);
  std::ranges::sort(points, {}, &Point::x);
  std::vector<std::pair<double, double>> seen;
  for (const Point& point : points) seen.emplace_back(point.x, point.log_like);
  const std::size_t best = BestOf(hypothesis, points);
  NoteAsLikely(points, best, kNearly, fit);
  const double top = points[best].log_like;
  Become(hypothesis, points[best], fit);
  // What lies beyond these points is as likely as it was at the first look.
  double edge = -1e300;
  if (seen.front().first > low) edge = std::max(edge, seen.front().second);
  if (seen.back().first < high) edge = std::max(edge, seen.back().second);
  const double own = LogArea(seen, low, high);
  fit.log_area = top - edge > 3 ? own : std::max(own, first_area);
  fit.step = std::max(fit.step / 4, 1e-6 * (high - low));
  return true;
}

bool Solver::FinishAs(const Fit& mate, const Sensitivities& columns, Fit& fit) const {
  const double x = ToScale(mate.hypothesis, mate.hypothesis.value);
  const double likely = mate.log_like + LogLikeOfDisplay(mate.missing);
  Point point = Near(fit.hypothesis, x, nuisances_.everywhere(), columns, likely - kAlike);
  if (!(std::abs(point.log_like - likely) < kAlike)) return false;
  Become(fit.hypothesis, point, fit);
  fit.log_area = mate.log_area;
  fit.step = mate.step;
  fit.as_likely = mate.as_likely;
  fit.x_low = mate.x_low;
  fit.x_high = mate.x_high;
  return true;
}

}  // namespace drycrank::diagnose
