// SPDX-License-Identifier: Apache-2.0
#include "diagnose/race.h"

#include <algorithm>
#include <cmath>

#include "diagnose/other_curve.h"
#include "diagnose/suspects.h"
#include "diagnose/unknown.h"
#include "profile/devices.h"

namespace drycrank::diagnose {
namespace {

// What nobody has thought of may look like something on the list, however sure that is. Of 600 worlds
// (tests/bench/diagnosis_bench, seeds 10001 to 10600) 26 of the 457 surest answers were wrong, 5.7 %;
// taken somewhat less, or no repair would be named (Narrowed::kNamed) before a meter was asked.
constexpr double kLeastUnknown = 0.04;
// And what is like nothing on the list is on it all the same in 8 of 27 such cases, two at once mostly.
constexpr double kMostUnknown = 0.7;
constexpr double kMoreThanNoise = 10;  // nats
constexpr double kWithinReach = 25;    // nats behind the best at the first look
constexpr double kFarBehind = 35;  // nats behind the best of all that is read: no share of anything
constexpr std::size_t kMostFinished = 80, kOwnColumns = 14;
constexpr int kRounds = 5, kLastRounds = 3, kTurns = 4;
constexpr double kLeastShare = 1e-4;
constexpr double kComesAndGoes = 0.2;  // as often as that it stays: common practice, no source
constexpr std::size_t kFirsts = 3, kSecondsFinished = 6;
constexpr double kSecondsWithin = 20, kLeastGain = 5;
// Two given faults at once, over what their priors as single faults say.
const double kLogTwoAtOnce = std::log(2 * kPriorDouble / (kPriorSingle * kPriorSingle));

bool IsWiring(const Hypothesis& h) {
  return h.kind != "comes and goes" && h.kind != kOtherCurve &&
         !h.faults[0].Is<profile::fault::Layout>();
}

Hypothesis Both(const Hypothesis& a, const Hypothesis& b) {
  Hypothesis both = a;
  both.kind = "two faults";
  both.prior = a.prior * b.prior * std::exp(kLogTwoAtOnce);
  both.faults.insert(both.faults.end(), b.faults.begin(), b.faults.end());
  return both;
}

}  // namespace

Race::Race(Predictor& predictor, std::span<const Hypothesis> suspects, const Observation& observed)
    : predictor_(predictor),
      suspects_(suspects),
      facts_(predictor, observed),
      nuisances_(predictor, facts_),
      weigher_(predictor, facts_),
      solver_(predictor, facts_, nuisances_, weigher_),
      shown_(predictor, observed) {}

bool Race::IsLikelier(const Runner& a, const Runner& b) { return a.log_weight > b.log_weight; }

const Sensitivities& Race::ColumnsOf(const Runner& runner) const {
  return runner.columns.is_empty() ? solver_.columns() : runner.columns;
}

void Race::Weigh(Runner& runner) const {
  runner.log_weight = std::log(runner.wiring.hypothesis.prior) + runner.wiring.log_evidence() +
                      runner.shown.log_like + runner.shown.log_area + runner.log_area_of_other;
}

void Race::Healthy() {
  healthy_.wiring.hypothesis.kind = "healthy";
  healthy_.wiring.hypothesis.prior = kPriorHealthy;
  healthy_.shown = shown_.healthy();
  solver_.Finish(healthy_.wiring, solver_.columns(), 0);
  Weigh(healthy_);
  unknown_ = std::log(kPriorUnknown) + Unknown(facts_, solver_.rows(), solver_.columns()) +
             shown_.Unknown();
}

// The display's layouts: tried when it shows anything that it was not sent.
void Race::Layouts() {
  if (shown_.IsRight()) return;
  for (const Hypothesis& suspect : suspects_) {
    if (!suspect.faults[0].Is<profile::fault::Layout>()) continue;
    Runner runner = healthy_;
    runner.shown = shown_.Solve(suspect);
    runner.wiring.hypothesis = runner.shown.hypothesis;
    Weigh(runner);
    runners_.push_back(std::move(runner));
  }
}

void Race::SetOwnColumns(Runner& runner) const {
  runner.columns = nuisances_.Columns(runner.wiring.hypothesis.faults, runner.wiring.rows);
}

// The log likelihood with which a wiring would be far behind the lead, its size known.
double Race::LeastOf(const Runner& runner, double lead) const {
  return lead - kFarBehind - std::log(runner.wiring.hypothesis.prior) - runner.shown.log_like -
         runner.shown.log_area - runner.log_area_of_other;
}

// A first look at those of one kind, then all that is read for those within reach.
void Race::TryAll() {
  std::vector<Runner> looked;
  double best = -1e300;
  for (const Hypothesis& suspect : suspects_) {
    if (suspect.faults[0].Is<profile::fault::Layout>()) continue;
    if (suspect.kind == kOtherCurve) continue;
    const double least = best - kWithinReach - std::log(suspect.prior) - shown_.healthy().log_like -
                         shown_.healthy().log_area;
    std::optional<Fit> fit = solver_.FirstLook(suspect, least);
    if (!fit) continue;
    Runner runner{std::move(*fit), shown_.healthy(), {}, 0, 0};
    Weigh(runner);
    best = std::max(best, runner.log_weight);
    looked.push_back(std::move(runner));
  }
  std::stable_sort(looked.begin(), looked.end(), IsLikelier);
  std::size_t finished = 0;
  double lead = -1e300;
  for (const Runner& runner : runners_) lead = std::max(lead, runner.log_weight);
  for (Runner& runner : looked) {
    if (runner.log_weight < best - kWithinReach || finished++ >= kMostFinished) break;
    if (!solver_.Finish(runner.wiring, solver_.columns(), kRounds, LeastOf(runner, lead))) continue;
    Weigh(runner);
    lead = std::max(lead, runner.log_weight);
    runners_.push_back(std::move(runner));
  }
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
}

// Each setting of a sensor has faults of its own.
void Race::OtherCurves() {
  for (const Hypothesis& suspect : suspects_) {
    if (suspect.kind != kOtherCurve) continue;
    const auto& sensors = predictor_.bench().sensors;
    const int sensor = profile::IndexOf(sensors, suspect.faults[0].at);
    const auto other = OtherCurveOf(predictor_, facts_, sensors[static_cast<std::size_t>(sensor)]);
    if (!other) continue;
    Runner runner = healthy_;
    runner.wiring.hypothesis = suspect;
    runner.wiring.hypothesis.faults = Lasting(*other, predictor_.situations());
    for (std::size_t s = 0; s < runner.wiring.rows.size(); ++s) {
      const std::size_t one[] = {s};
      runner.wiring.rows[s] = nuisances_.ValuesOf(other->faults[s], one)[s];
    }
    runner.wiring.log_area = other->log_area;
    WeighAsItIs(runner);
    runners_.push_back(std::move(runner));
  }
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
}

// At this size, with the healthy bench's sensitivities but for its shift.
void Race::WeighAsItIs(Runner& runner) const {
  runner.columns = solver_.columns();
  nuisances_.SetShift(runner.wiring.rows, runner.columns);
  const Weighed weighed =
      weigher_.Weigh(runner.wiring.rows, runner.columns, nuisances_.everywhere());
  runner.wiring.log_like = weighed.log_like;
  runner.wiring.shared = weighed.shared;
  Weigh(runner);
}

// Does any of them, or health, leave no more than noise?
bool Race::IsExplained() const {
  const auto leaves_noise = [&](const Runner& runner) {
    const double expected =
        weigher_.Expected(runner.wiring.rows, ColumnsOf(runner), nuisances_.everywhere());
    return runner.wiring.log_like > expected - kMoreThanNoise;
  };
  return leaves_noise(healthy_) || std::ranges::any_of(runners_, leaves_noise);
}

void Race::Singles() {
  TryAll();
  if (!IsExplained()) OtherCurves();
  // The leading ones with sensitivities of their own.
  for (std::size_t i = 0; i < runners_.size() && i < kOwnColumns; ++i) {
    Runner& runner = runners_[i];
    if (!IsWiring(runner.wiring.hypothesis)) continue;
    SetOwnColumns(runner);
    solver_.Finish(runner.wiring, runner.columns, kLastRounds);
    Weigh(runner);
  }
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
}

// A fault that is there in the steps that it explains better than health does; which they are is
// paid for, a factor of two for each that it could have changed. No runner: always or never.
Race::Runner Race::InSomeSteps(const Hypothesis& hypothesis, const ValueRows& rows) const {
  std::vector<double> gain(facts_.situations(), 0);
  for (const Fact& fact : facts_.all()) {
    if (rows[fact.situation] == solver_.rows()[fact.situation]) continue;
    gain[fact.situation] += weigher_.CostAlone(fact, solver_.rows(), solver_.columns()) -
                            weigher_.CostAlone(fact, rows, solver_.columns());
  }
  Runner runner = healthy_;
  runner.wiring.hypothesis = hypothesis;
  runner.wiring.hypothesis.kind = "comes and goes";
  runner.wiring.hypothesis.prior *= kComesAndGoes;
  std::size_t there = 0, could = 0;
  for (std::size_t s = 0; s < rows.size(); ++s) {
    if (rows[s] == solver_.rows()[s]) continue;
    ++could;
    if (gain[s] <= 0) continue;
    ++there;
    runner.wiring.rows[s] = rows[s];
    auto& during = runner.wiring.hypothesis.faults[0].during;
    const std::string& step = predictor_.situations()[s].name;
    if (std::ranges::count(during, step) == 0) during.push_back(step);
  }
  if (there == 0 || there == could) runner.wiring.hypothesis.faults.clear();
  runner.wiring.log_area = -static_cast<double>(could) * std::log(2);
  return runner;
}

void Race::ComingAndGoing() {
  for (const Hypothesis& suspect : suspects_) {
    const bool wire = suspect.kind == "wire open" || suspect.kind == "contact open";
    if (!wire || !solver_.MovesAKey(suspect)) continue;
    const ValueRows rows = nuisances_.ValuesOf(suspect.faults, nuisances_.everywhere());
    Runner runner = InSomeSteps(suspect, rows);
    if (runner.wiring.hypothesis.faults.empty()) continue;
    WeighAsItIs(runner);
    runners_.push_back(std::move(runner));
  }
}

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
  Runner pair{first.wiring, first.shown, {}, 0, 0};
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
    if (fault.Is<profile::fault::Layout>()) continue;
    if (suspect.kind == kOtherCurve) continue;
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
}

void Race::Doubles() {
  // Of the leading ones those that differ in what they predict.
  std::vector<Runner> firsts;
  for (const Runner& runner : runners_) {
    if (firsts.size() == kFirsts) break;
    if (!IsWiring(runner.wiring.hypothesis)) continue;
    const auto same = [&](const Runner& other) { return Alike(other, runner); };
    if (same(healthy_) || std::ranges::any_of(firsts, same)) continue;
    firsts.push_back(runner);
  }
  for (const Runner& first : firsts) {
    if (IsWorthASecond(first)) AddSecond(first);
  }
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
}

bool Race::Alike(const Runner& a, const Runner& b) const {
  return shown_.Alike(a.shown, b.shown) &&
         weigher_.Alike(a.wiring.rows, b.wiring.rows, ColumnsOf(a), &a.wiring.missing,
                        &b.wiring.missing);
}

Candidate Race::CandidateOf(const Runner& runner, double share) {
  Candidate candidate{runner.wiring.hypothesis, {}, runner.log_weight, share, 0};
  candidate.predicted = predictor_.Predict(runner.wiring.hypothesis.faults);
  // The supply and the sensors as they fit best.
  const Sensitivities& columns = ColumnsOf(runner);
  const Eigen::VectorXd moved = columns.Times(runner.wiring.shared);
  for (const Fact& fact : facts_.all()) {
    if (fact.block < 0) continue;
    Prediction& predicted = candidate.predicted[fact.situation][fact.reading];
    if (predicted.is_value()) {
      predicted = Prediction::Value(predicted.low() + moved[fact.block]);
    }
  }
  shown_.Fill(runner.shown, candidate.predicted);
  candidate.surprises = weigher_.Surprises(runner.wiring.rows, columns, runner.wiring.shared,
                                           &runner.wiring.missing) +
                        runner.shown.glitches;
  return candidate;
}

void Race::Group(Diagnosis& diagnosis) {
  // Shares of what is known, and of what is not.
  double top = healthy_.log_weight;
  for (const Runner& runner : runners_) top = std::max(top, runner.log_weight);
  double known = std::exp(healthy_.log_weight - top);
  for (const Runner& runner : runners_) known += std::exp(runner.log_weight - top);
  const double unknown = 1 / (1 + known * std::exp(top - unknown_));
  diagnosis.unknown_share = std::clamp(unknown, kLeastUnknown, kMostUnknown);
  const auto share_of = [&](double log_weight) {
    return (1 - diagnosis.unknown_share) * std::exp(log_weight - top) / known;
  };
  diagnosis.healthy_share = share_of(healthy_.log_weight);
  // Best first: each joins health, or the first group whose best member it cannot be told from.
  std::vector<const Runner*> leads;
  for (const Runner& runner : runners_) {
    const double share = share_of(runner.log_weight);
    if (share < 1e-12 && leads.size() >= 3) break;
    if (Alike(healthy_, runner)) {
      diagnosis.healthy_share += share;
      continue;
    }
    const auto home = std::find_if(leads.begin(), leads.end(),
                                   [&](const Runner* lead) { return Alike(*lead, runner); });
    if (home == leads.end() && (share < kLeastShare && leads.size() >= 3)) continue;
    if (home == leads.end() && leads.size() == kMostGroups) continue;
    const auto which = static_cast<std::size_t>(home - leads.begin());
    if (home == leads.end()) {
      leads.push_back(&runner);
      diagnosis.groups.emplace_back();
    }
    diagnosis.groups[which].share += share;
    diagnosis.groups[which].members.push_back(CandidateOf(runner, share));
  }
  std::stable_sort(diagnosis.groups.begin(), diagnosis.groups.end(),
                   [](const auto& a, const auto& b) { return a.share > b.share; });
}

Diagnosis Race::Run(const RankOptions& options) {
  Diagnosis diagnosis;
  diagnosis.healthy_prediction = predictor_.healthy();
  shown_.Fill(shown_.healthy(), diagnosis.healthy_prediction);
  Healthy();
  Layouts();
  ComingAndGoing();
  Singles();
  if (options.doubles) Doubles();
  Group(diagnosis);
  const double first = diagnosis.groups.empty() ? 0 : diagnosis.groups[0].share;
  diagnosis.healthy = diagnosis.healthy_share >= std::max(first, diagnosis.unknown_share);
  diagnosis.explained = !diagnosis.healthy && first >= diagnosis.unknown_share &&
                        diagnosis.groups[0].members[0].surprises == 0;
  return diagnosis;
}

}  // namespace drycrank::diagnose
