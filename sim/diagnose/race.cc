// SPDX-License-Identifier: Apache-2.0
#include "diagnose/race.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "diagnose/suspects.h"
#include "diagnose/told_offsets.h"
#include "diagnose/unknown.h"
#include "profile/told_controller.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

constexpr double kWithinReach = 25;  // nats behind the best at the first look
constexpr double kFarBehind = 35;  // nats behind the best of all that is read: no share of anything
constexpr std::size_t kMostFinished = 80, kOwnColumns = 14;
constexpr double kSameSize = 1e-3, kSameLook = 0.01;  // share; nats
}  // namespace

Race::Race(Predictor& predictor, std::span<const Hypothesis> suspects, const Observation& observed,
           const std::set<int>& without, const RankOptions& options)
    : predictor_(predictor),
      suspects_(suspects),
      observed_(observed),
      facts_(predictor, observed, without),
      nuisances_(predictor, facts_),
      weigher_(predictor, facts_),
      solver_(predictor, facts_, nuisances_, weigher_),
      shown_(predictor, observed),
      fired_(predictor, options.fired),
      edges_(predictor, options.edges),
      strange_(predictor.bench(), options.strangers),
      display_heard_(predictor.bench(), predictor.readings(), observed, options.look) {
  solver_.ListenTo(display_heard_);
}

bool Race::IsLikelier(const Runner& a, const Runner& b) { return a.log_weight > b.log_weight; }

const Sensitivities& Race::ColumnsOf(const Runner& runner) const {
  return runner.columns.is_empty() ? solver_.columns() : runner.columns;
}

double& Race::AreaOfLast(Runner& runner) {
  return runner.wiring.hypothesis.parts.empty() ? runner.wiring.log_area : runner.log_area_of_other;
}

// Chance may make anything of the position: what is not known pays for no more than that either.
double Race::EvidenceOf(const Runner& runner) const {
  const double own = runner.wiring.log_evidence();
  return runner.wiring.hypothesis.kind == kNoise ? std::max(own, disturbed_) : own;
}

void Race::Weigh(Runner& runner) const {
  const Hypothesis& hypothesis = runner.wiring.hypothesis;
  runner.fired = fired_.Judge(hypothesis.faults, runner.wiring.rows);
  runner.edges = edges_.Judge(hypothesis.faults, runner.wiring.rows);
  runner.log_weight = std::log(hypothesis.prior) + (hypothesis.parts.empty() ? 0 : kLogTwoAtOnce) +
                      EvidenceOf(runner) + runner.shown.log_like + runner.shown.log_area +
                      shown_.Spared(runner.shown, runner.wiring.rows) + runner.fired.log_like +
                      runner.edges.log_like + runner.log_area_of_other +
                      strange_.LogLike(hypothesis.faults) +
                      display_heard_.LogLike(runner.wiring.missing);
}

void Race::Healthy() {
  healthy_.wiring.hypothesis.kind = "healthy";
  healthy_.wiring.hypothesis.prior = kPriorHealthy;
  healthy_.shown = shown_.healthy();
  solver_.Finish(healthy_.wiring, solver_.columns(), 0);
  Weigh(healthy_);
  if (edges_.WereSeen()) {
    disturbed_ = AnythingAt(facts_, solver_.rows(), solver_.columns(), facts_.ChannelOf(0));
  }
  unknown_ = std::log(kPriorUnknown) + Unknown(facts_, solver_.rows(), solver_.columns()) +
             shown_.Unknown() + fired_.Unknown(solver_.rows()) + edges_.Unknown() +
             strange_.LogLike({}) / 2 + display_heard_.LogLike({}) / 2;
}

// The display's layouts: tried when it shows anything that it was not sent.
void Race::Layouts() {
  if (shown_.IsRight()) return;
  for (const Hypothesis& suspect : suspects_) {
    if (!IsLayout(suspect)) continue;
    Runner runner = healthy_;
    runner.shown = shown_.Solve(suspect);
    runner.wiring.hypothesis = runner.shown.hypothesis;
    Weigh(runner);
    runners_.push_back(std::move(runner));
  }
}

void Race::AddAsItIs(const Hypothesis& hypothesis, double log_area) {
  Runner runner = healthy_;
  runner.wiring.hypothesis = hypothesis;
  runner.wiring.log_area = log_area;
  runner.wiring.rows = nuisances_.ValuesOf(hypothesis.faults, nuisances_.everywhere());
  WeighAsItIs(runner, solver_.columns());
  runners_.push_back(std::move(runner));
}

// What the angles of the sparks tell the size of: the advance, the order, the primary's wheel.
void Race::MovedSparks() {
  if (fired_.IsRight(solver_.rows())) return;
  for (const Hypothesis& suspect : suspects_) {
    const auto solved = fired_.Solve(suspect);
    if (solved) AddAsItIs(solved->hypothesis, solved->log_area);
  }
}

// What the edges of the wheels tell the size of, or which tooth.
void Race::MovedEdges() {
  if (edges_.IsRight()) return;
  for (const Hypothesis& suspect : suspects_) {
    for (const Edges::Solved& solved : edges_.Solve(suspect)) {
      AddAsItIs(solved.hypothesis, solved.log_area);
    }
  }
}

// What the angles of the cams tell the size of.
void Race::MovedCams() {
  for (const Hypothesis& suspect : suspects_) {
    if (profile::SettingOf(suspect.faults[0]) != "offset_deg") continue;
    for (const double told : ToldOffsetsOf(predictor_, facts_, solver_.rows(), suspect)) {
      AddAsItIs(WithValue(suspect, told), LogAreaOfOffset(suspect));
    }
  }
}

// Messages of a bus that nobody ever heard.
std::set<std::string> Race::NeverCame(const std::string& bus) const {
  const profile::Bench& bench = predictor_.bench();
  std::set<std::string> all, came;
  for (std::size_t r = 0; r < predictor_.readings().size(); ++r) {
    const profile::SignalRef& at = predictor_.readings()[r].signal;
    if (Nth(bench.buses, at.bus).name != bus) continue;
    const std::string& message = profile::MessageAt(bench, {at.bus, at.message}).name;
    all.insert(message);
    const auto heard = [&](const Values& row) { return !std::isnan(row[r]); };
    if (std::ranges::any_of(observed_, heard)) came.insert(message);
  }
  for (const std::string& message : came) all.erase(message);
  return all;
}

// What a runner's missing messages would carry does not come.
void Race::LeaveOut(const Runner& runner, PredictedRows& predicted) const {
  if (runner.wiring.missing.empty()) return;
  const profile::Bench& bench = predictor_.bench();
  for (std::size_t r = 0; r < predictor_.readings().size(); ++r) {
    const profile::SignalRef& at = predictor_.readings()[r].signal;
    const std::string& message = profile::MessageAt(bench, {at.bus, at.message}).name;
    if (!runner.wiring.missing.contains(message)) continue;
    for (Predictions& row : predicted) row[r] = Prediction::None();
  }
}

// As often as that a message is not sent: a node too many, or one that sends under a name of its
// own.
void Race::StrangeNodes() {
  if (!strange_.Any() || suspects_.empty()) return;
  double prior = 0;
  for (const Hypothesis& suspect : suspects_) {
    if (suspect.kind == "message missing") prior = suspect.prior;
  }
  if (prior == 0) prior = kPriorSingle / static_cast<double>(suspects_.size());
  for (const Hypothesis& node : strange_.Nodes(prior)) {
    Runner runner = healthy_;
    runner.wiring.hypothesis = node;
    if (strange_.FillsBus(node.faults[0])) runner.wiring.missing = NeverCame(node.faults[0].at);
    WeighAsItIs(runner, solver_.columns());
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

// In which they are looked at: those without a size cost least, and show what a size must come
// near.
std::vector<const Hypothesis*> Race::CheapFirst() const {
  std::vector<const Hypothesis*> order;
  for (const Hypothesis& suspect : suspects_) {
    if (IsSolved(suspect)) order.push_back(&suspect);
  }
  std::stable_partition(order.begin(), order.end(),
                        [](const Hypothesis* h) { return h->quantity == Quantity::kNone; });
  return order;
}

// All within reach at a first look, likeliest first, and of what is as likely the first of the
// list.
std::vector<Race::Runner> Race::FirstLooks() const {
  std::vector<std::pair<const Hypothesis*, Runner>> looked;
  double best = -1e300;
  for (const Hypothesis* suspect : CheapFirst()) {
    const double least = best - kWithinReach - std::log(suspect->prior) -
                         shown_.healthy().log_like - shown_.healthy().log_area;
    std::optional<Fit> fit = solver_.FirstLook(*suspect, least);
    if (!fit) continue;
    Runner runner{std::move(*fit), shown_.healthy(), {}, {}, {}, 0, 0};
    Weigh(runner);
    best = std::max(best, runner.log_weight);
    looked.emplace_back(suspect, std::move(runner));
  }
  std::ranges::sort(looked, [](const auto& a, const auto& b) {
    return IsLikelier(a.second, b.second) || (!IsLikelier(b.second, a.second) && a.first < b.first);
  });
  std::vector<Runner> within;
  for (auto& [suspect, runner] : looked) {
    if (runner.log_weight < best - kWithinReach || within.size() == kMostFinished) break;
    within.push_back(std::move(runner));
  }
  return within;
}

bool Race::LookedAlike(const Fit& a, const Fit& b) {
  const Hypothesis &one = a.hypothesis, &other = b.hypothesis;
  const double larger = std::max(std::abs(one.value), std::abs(other.value));
  return one.quantity != Quantity::kNone && one.kind == other.kind &&
         std::abs(one.value - other.value) <= kSameSize * larger &&
         std::abs(a.log_like - b.log_like) < kSameLook &&
         std::abs(a.log_area - b.log_area) < kSameLook;
}

// As another that looked the same: two places of one wire. False: as none of them.
bool Race::FinishAsAnother(Fit& fit, std::span<const std::pair<Fit, std::size_t>> finished) const {
  return std::ranges::any_of(finished, [&](const auto& other) {
    return LookedAlike(fit, other.first) &&
           solver_.FinishAs(runners_[other.second].wiring, solver_.columns(), fit);
  });
}

// All that is read, for those within reach.
void Race::TryAll() {
  double lead = -1e300;
  for (const Runner& runner : runners_) lead = std::max(lead, runner.log_weight);
  std::vector<std::pair<Fit, std::size_t>> finished;  // as at the first look; runners
  for (Runner& runner : FirstLooks()) {
    Fit look = runner.wiring;
    const bool known = FinishAsAnother(runner.wiring, finished);
    if (!known && !solver_.Finish(runner.wiring, solver_.columns(), kRounds,
                                  LeastOf(runner, lead))) {
      continue;
    }
    Weigh(runner);
    lead = std::max(lead, runner.log_weight);
    if (!known) finished.emplace_back(std::move(look), runners_.size());
    runners_.push_back(std::move(runner));
  }
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
}

void Race::Singles() {
  TryAll();
  OtherCurves(healthy_, solver_);
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
  // The leading ones with sensitivities of their own.
  const double lead = runners_.empty() ? 0 : runners_.front().log_weight;
  for (std::size_t i = 0; i < runners_.size() && i < kOwnColumns; ++i) {
    Runner& runner = runners_[i];
    if (!IsSolved(runner.wiring.hypothesis)) continue;
    if (runner.log_weight < lead - kFarBehind) continue;
    SetOwnColumns(runner);
    solver_.Finish(runner.wiring, runner.columns, kLastRounds);
    Weigh(runner);
  }
  std::stable_sort(runners_.begin(), runners_.end(), IsLikelier);
}

Diagnosis Race::Run(const RankOptions& options) {
  Diagnosis diagnosis;
  diagnosis.healthy_prediction = predictor_.healthy();
  shown_.Fill(shown_.healthy(), diagnosis.healthy_prediction);
  Healthy();
  Layouts();
  MovedSparks();
  MovedCams();
  MovedEdges();
  StrangeNodes();
  ComingAndGoing(healthy_, solver_);
  Singles();
  OhmsComingAndGoing();
  if (options.doubles) Doubles();
  Group(diagnosis);
  const double first = diagnosis.groups.empty() ? 0 : diagnosis.groups[0].share;
  diagnosis.healthy = diagnosis.healthy_share >= std::max(first, diagnosis.unknown_share);
  // A bench that surprises is not healthy, however unlikely the rest.
  if (diagnosis.healthy && SurprisesOf(healthy_) > 0) {
    diagnosis.unknown_share += diagnosis.healthy_share;
    diagnosis.healthy_share = 0;
    diagnosis.healthy = false;
  }
  if (!diagnosis.healthy) diagnosis.like_healthy.clear();
  diagnosis.explained = !diagnosis.healthy && first >= diagnosis.unknown_share &&
                        diagnosis.groups[0].members[0].surprises == 0;
  return diagnosis;
}

}  // namespace drycrank::diagnose
