// SPDX-License-Identifier: Apache-2.0
//
// Two faults at once: the likeliest single ones first, and the best of each channel that is wrong,
// since two faults mostly spoil channels of their own; on top of each of them every suspect once
// more.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <string>

#include "diagnose/race.h"
#include "profile/told_controller.h"

namespace drycrank::diagnose {
namespace {

constexpr int kTurns = 4;
constexpr std::size_t kFirsts = 3, kSecondsFinished = 6, kMostChannels = 4, kMostAlternatives = 7,
                      kMostWheels = 6;
constexpr double kWrongChannel = 8, kAsGood = 3;  // nats
constexpr double kSecondsWithin = 20, kLeastGain = 5;

// Which faults, whatever their sizes.
std::vector<std::string> NameOf(const Hypothesis& h) {
  std::vector<std::string> names;
  for (const profile::Fault& f : h.faults) {
    names.push_back(fmt::format("{} {} {} {}", f.kind.index(), std::min(f.at, f.with),
                                std::max(f.at, f.with), profile::SettingOf(f)));
  }
  std::ranges::sort(names);
  names.erase(std::unique(names.begin(), names.end()), names.end());
  return names;
}

}  // namespace

// What a second fault could gain at best, were nothing left unexplained, against its prior.
bool Race::IsWorthASecond(const Runner& first) const {
  const double expected =
      weigher_.Expected(first.wiring.rows, ColumnsOf(first), nuisances_.everywhere());
  double likeliest = 0;
  for (const Hypothesis& suspect : suspects_) likeliest = std::max(likeliest, suspect.prior);
  const double gain = expected - first.wiring.log_like + std::log(likeliest) + kLogTwoAtOnce;
  const double lead = std::max({runners_.front().log_weight, healthy_.log_weight, unknown_});
  return first.log_weight + gain > lead - kLeastGain;
}

// Both sizes by turns, each with the other as it is.
Race::Runner Race::Pair(const Runner& first, const Solver& on_first, Fit second) const {
  on_first.Finish(second, ColumnsOf(first), kRounds);
  Runner pair{first.wiring, first.shown, {}, {}, {}, 0, 0};
  Hypothesis one = first.wiring.hypothesis;
  const bool sized = one.quantity != Quantity::kNone;
  for (int turn = 0; turn < (sized ? kTurns : 1); ++turn) {
    if (turn > 0) {
      const Solver again(solver_, pair.wiring.hypothesis.faults, pair.wiring.rows, pair.columns);
      again.Finish(second, pair.columns, kLastRounds);
    }
    const Solver on_second(solver_, second.hypothesis.faults, second.rows, ColumnsOf(first));
    pair.columns = nuisances_.Columns(Both(one, second.hypothesis).faults, second.rows);
    pair.wiring.hypothesis = one;
    on_second.Finish(pair.wiring, pair.columns, kLastRounds);
    one = pair.wiring.hypothesis;
  }
  pair.log_area_of_other = second.log_area;
  pair.wiring.missing.insert(second.missing.begin(), second.missing.end());
  pair.wiring.hypothesis = Both(one, second.hypothesis);
  Weigh(pair);
  return pair;
}

// Every suspect once more on top of this one.
void Race::AddSecond(const Runner& first) {
  const Hypothesis& one = first.wiring.hypothesis;
  const Solver on_top(solver_, one.faults, first.wiring.rows, ColumnsOf(first));
  std::vector<std::pair<double, Fit>> looked;
  double best = -1e300;
  for (const Hypothesis& suspect : suspects_) {
    const profile::Fault& fault = suspect.faults[0];
    if (!IsSolved(suspect)) continue;
    if (fault.kind.index() == one.faults[0].kind.index() && fault.at == one.faults[0].at) continue;
    const double least = best - kSecondsWithin - std::log(suspect.prior);
    std::optional<Fit> fit = on_top.FirstLook(suspect, least);
    if (!fit) continue;
    const double weight = fit->log_evidence() + std::log(suspect.prior);
    best = std::max(best, weight);
    looked.emplace_back(weight, std::move(*fit));
  }
  std::stable_sort(looked.begin(), looked.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  for (std::size_t i = 0; i < looked.size() && i < kSecondsFinished; ++i) {
    if (looked[i].first < looked[0].first - kSecondsWithin) break;
    runners_.push_back(Pair(first, on_top, std::move(looked[i].second)));
  }
  ComingAndGoing(first, on_top);
  OtherCurves(first, on_top);
}

void Race::Doubles() {
  // Of the leading ones those that differ in what they predict.
  std::vector<Runner> firsts;
  for (const Runner& runner : runners_) {
    if (firsts.size() == kFirsts) break;
    if (IsLayout(runner.wiring.hypothesis)) continue;
    const auto same = [&](const Runner& other) { return Alike(other, runner, kAlikeChi2); };
    if (IsLikeHealthy(runner) || std::ranges::any_of(firsts, same)) continue;
    firsts.push_back(runner);
  }
  if (!runners_.empty() && IsWorthASecond(runners_.front())) FirstsByChannel(firsts);
  for (const Runner& first : firsts) {
    if (IsWorthASecond(first)) AddSecond(first);
  }
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
  WithAWheel();
  Alternatives();
  DropRepeated();
}

// The likeliest wires by the readings alone, whatever the edges say, that differ in what they predict.
std::vector<Race::Runner> Race::WiresByReadings() const {
  const auto by_readings = [](const Runner& runner) {
    return std::log(runner.wiring.hypothesis.prior) + runner.wiring.log_evidence() +
           runner.shown.log_like + runner.shown.log_area;
  };
  std::vector<Runner> singles;
  for (const Runner& runner : runners_) {
    const Hypothesis& hypothesis = runner.wiring.hypothesis;
    const bool is_wire =
        hypothesis.parts.empty() && IsSolved(hypothesis) && edges_.Solve(hypothesis).empty();
    if (is_wire && !IsLikeHealthy(runner)) singles.push_back(runner);
  }
  std::ranges::stable_sort(singles, std::greater<>(), by_readings);
  std::vector<Runner> wires;
  for (Runner& runner : singles) {
    if (wires.size() == kFirsts) break;
    const auto same = [&](const Runner& other) { return Alike(other, runner, kAlikeChi2); };
    if (std::ranges::none_of(wires, same)) wires.push_back(std::move(runner));
  }
  return wires;
}

// What gives the edges, the likeliest first.
std::vector<Edges::Solved> Race::WheelsByEdges() const {
  std::vector<std::pair<double, Edges::Solved>> solved;
  for (const Hypothesis& suspect : suspects_) {
    for (const Edges::Solved& one : edges_.Solve(suspect)) {
      const double like = edges_.Judge(one.hypothesis.faults, solver_.rows()).log_like;
      solved.emplace_back(std::log(one.hypothesis.prior) + like + one.log_area, one);
    }
  }
  std::ranges::stable_sort(solved, std::greater<>(), [](const auto& one) { return one.first; });
  std::vector<Edges::Solved> wheels;
  for (std::size_t i = 0; i < std::min(solved.size(), kMostWheels); ++i) {
    wheels.push_back(std::move(solved[i].second));
  }
  return wheels;
}

// Where edges are off: a wheel by the edges, beside a wire by the readings.
void Race::WithAWheel() {
  if (edges_.IsRight()) return;
  const std::vector<Edges::Solved> wheels = WheelsByEdges();
  for (const Runner& wire : WiresByReadings()) {
    for (const Edges::Solved& wheel : wheels) {
      Runner pair = wire;
      pair.wiring.hypothesis = Both(wire.wiring.hypothesis, wheel.hypothesis);
      pair.wiring.rows =
          nuisances_.ValuesOf(pair.wiring.hypothesis.faults, nuisances_.everywhere());
      pair.log_area_of_other = wheel.log_area;
      WeighAsItIs(pair, ColumnsOf(wire));
      runners_.push_back(std::move(pair));
    }
  }
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
}

// Channels that a healthy bench does not explain, the worst first.
std::vector<int> Race::WrongChannels() const {
  std::map<int, double> costs;
  for (const Fact& fact : facts_.all()) {
    const double cost = weigher_.CostAlone(fact, solver_.rows(), solver_.columns());
    double& most = costs[facts_.ChannelOf(fact.value)];
    most = std::max(most, cost);
  }
  std::vector<std::pair<double, int>> order;
  for (const auto& [channel, cost] : costs) {
    if (cost > kWrongChannel) order.emplace_back(cost, channel);
  }
  std::stable_sort(order.begin(), order.end(), std::greater<>());
  std::vector<int> wrong;
  for (const auto& [cost, channel] : order) wrong.push_back(channel);
  return wrong;
}

// Two faults mostly spoil channels of their own: the best of each wrong channel, the others that
// are wrong left out.
void Race::FirstsByChannel(std::vector<Runner>& firsts) const {
  const std::vector<int> wrong = WrongChannels();
  if (wrong.size() < 2) return;
  for (std::size_t i = 0; i < std::min(wrong.size(), kMostChannels); ++i) {
    std::set<int> others(wrong.begin(), wrong.end());
    others.erase(wrong[i]);
    std::optional<Runner> best = Race(predictor_, suspects_, observed_, others).BestOfAll();
    if (!best) continue;
    best->shown = healthy_.shown;
    if (IsSolved(best->wiring.hypothesis)) {
      SetOwnColumns(*best);
      solver_.Finish(best->wiring, best->columns, kLastRounds);
      Weigh(*best);
    } else {
      WeighAsItIs(*best, solver_.columns());
    }
    const auto same = [&](const Runner& other) { return Alike(other, *best, kAlikeChi2); };
    if (!IsLikeHealthy(*best) && std::ranges::none_of(firsts, same))
      firsts.push_back(std::move(*best));
  }
}

std::optional<Race::Runner> Race::BestOfAll() {
  Healthy();
  ComingAndGoing(healthy_, solver_);
  Singles();
  for (const Runner& runner : runners_) {
    if (!IsLikeHealthy(runner)) return runner;
  }
  return std::nullopt;
}

// What looks the same as the part of a pair that is not `kept`, the other as it is.
std::vector<Fit> Race::LikeTheOther(const Runner& pair, std::size_t kept) const {
  const Hypothesis &keep = pair.wiring.hypothesis.parts[kept],
                   &other = pair.wiring.hypothesis.parts[1 - kept];
  const ValueRows rows = nuisances_.ValuesOf(keep.faults, nuisances_.everywhere());
  const Solver on_kept(solver_, keep.faults, rows, ColumnsOf(pair));
  std::vector<Fit> found;
  const auto as_it_is = on_kept.FirstLook(other);
  if (!as_it_is) return found;
  for (const Hypothesis& suspect : suspects_) {
    if (!IsSolved(suspect) || NameOf(suspect) == NameOf(other)) continue;
    std::optional<Fit> fit = on_kept.FirstLook(suspect, as_it_is->log_like - kAsGood);
    if (!fit || !on_kept.Finish(*fit, ColumnsOf(pair), kLastRounds)) continue;
    found.push_back(std::move(*fit));
  }
  const auto weight = [](const Fit& fit) {
    return fit.log_evidence() + std::log(fit.hypothesis.prior);
  };
  std::ranges::stable_sort(found, std::greater<>(), weight);
  if (found.size() > kMostAlternatives) found.resize(kMostAlternatives);
  return found;
}

// Of the likeliest pair what looks the same as either of its two, and as both: all of it is one
// group.
void Race::Alternatives() {
  if (runners_.empty() || runners_.front().wiring.hypothesis.parts.size() != 2) return;
  const Runner lead = runners_.front();
  Fit first, second;
  first.hypothesis = lead.wiring.hypothesis.parts[0];
  first.log_area = lead.wiring.log_area;
  second.hypothesis = lead.wiring.hypothesis.parts[1];
  second.log_area = lead.log_area_of_other;
  std::vector<Fit> firsts = LikeTheOther(lead, 1), seconds = LikeTheOther(lead, 0);
  firsts.push_back(std::move(first));
  seconds.push_back(std::move(second));
  for (const Fit& one : firsts) {
    for (const Fit& other : seconds) {
      Runner pair = lead;
      pair.wiring.hypothesis = Both(one.hypothesis, other.hypothesis);
      pair.wiring.rows =
          nuisances_.ValuesOf(pair.wiring.hypothesis.faults, nuisances_.everywhere());
      pair.wiring.log_area = one.log_area;
      pair.log_area_of_other = other.log_area;
      WeighAsItIs(pair, ColumnsOf(lead));
      runners_.push_back(std::move(pair));
    }
  }
}

// The same two, found from either of them: the likelier stays.
void Race::DropRepeated() {
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
  std::set<std::vector<std::string>> known;
  std::erase_if(runners_, [&](const Runner& runner) {
    return !known.insert(NameOf(runner.wiring.hypothesis)).second;
  });
}

}  // namespace drycrank::diagnose
