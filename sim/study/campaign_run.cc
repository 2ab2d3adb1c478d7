// SPDX-License-Identifier: Apache-2.0
#include "study/campaign_run.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <utility>

#include "run/runner.h"
#include "standin/trouble_memory.h"
#include "types/nth.h"
#include "types/random.h"

namespace drycrank::study {
namespace {

// The codes that a tester would be told at the end.
class Codes : public run::RunObserver {
 public:
  Codes(const profile::Controller& controller, const standin::Controller& standin)
      : values_{[&standin](std::string_view name) { return standin.ValueIndex(name); },
                [&standin](int index) { return standin.Value(index); }} {
    if (controller.diagnostics) Add(controller.diagnostics->trouble_codes);
    if (controller.j1939) Add(controller.j1939->trouble_codes);
  }

  void OnSample(TimeNs /*t_ns*/) override {
    for (standin::TroubleMemory& memory : memories_) memory.Look(values_);
  }

  std::vector<bool> Stored() const {
    std::vector<bool> stored;
    for (const standin::TroubleMemory& memory : memories_) {
      for (const auto& entry : memory.entries()) stored.push_back(entry.stored);
    }
    return stored;
  }

 private:
  void Add(const std::vector<profile::TroubleCode>& codes) {
    memories_.emplace_back(codes, values_);
  }

  standin::OwnValues values_;
  std::vector<standin::TroubleMemory> memories_;
};

// In the order of TroubleCodesOf.
std::vector<std::string> StoredTexts(const profile::Controller& controller,
                                     const std::vector<bool>& stored) {
  std::vector<std::string> texts;
  const auto codes = TroubleCodesOf(controller);
  for (std::size_t i = 0; i < codes.size(); ++i) {
    if (stored[i]) texts.push_back(codes[i]->text);
  }
  return texts;
}

// One in ten, whichever part of the campaign it is in.
bool IsDrawn(std::uint64_t seed, std::size_t index) { return Random(seed, index).Next() % 10 == 0; }

// To a thousandth, or the power of ten below, of what a good bench may deviate by: digits below
// that are the arithmetic's. Then to six digits.
double Rounded(double value, double sigma) {
  if (!(sigma > 0)) return report::Rounded(value);
  const double per_unit = std::pow(10, 3 - std::floor(std::log10(sigma)));
  return report::Rounded(std::round(value * per_unit) / per_unit);
}

void RoundAndSort(std::vector<report::Effect>& effects) {
  for (report::Effect& effect : effects) {
    const bool measured = !effect.missing && effect.says.empty() && effect.times_sigma > 0;
    const double sigma = measured ? std::abs(effect.deviation) / effect.times_sigma : 0;
    for (double* number : {&effect.deviation, &effect.healthy, &effect.faulty}) {
      *number = Rounded(*number, sigma);
    }
    effect.times_sigma = Rounded(effect.times_sigma, 1);
  }
  std::stable_sort(effects.begin(), effects.end(),
                   [](const auto& a, const auto& b) { return a.times_sigma > b.times_sigma; });
}

}  // namespace

CampaignRun::CampaignRun(const profile::Bench& bench, const profile::Scenario& scenario,
                         std::uint64_t seed, bool play_all)
    : bench_(bench),
      scenario_(scenario),
      seed_(seed),
      faults_(diagnose::SingleFaults(bench)),
      tape_(bench),
      healthy_(Play(scenario, play_all ? nullptr : &tape_)),
      class_of_(faults_.size(), kNoClass) {
  for (std::size_t i = 0; i < healthy_.met.size(); ++i) {
    if (!healthy_.met[i]) failed_when_healthy_.push_back(scenario.expectations[i].name);
  }
  if (!play_all && !scenario.capture) Classify();
}

CampaignRun::~CampaignRun() = default;

void CampaignRun::Classify() {
  pins_ = std::make_unique<diagnose::PinStates>(bench_, scenario_, tape_.begins_ns(), seed_);
  if (!pins_->too_many()) rows_ = pins_->Solve({});
  if (!rows_) return;
  base_ = std::make_unique<Base>(bench_, *pins_, tape_, healthy_, *rows_, HearingBehind({}));
  remake_ = std::make_unique<Remake>(bench_, scenario_, *pins_, *base_);
  // Where a step waits for a signal, another class has steps of its own.
  const bool waits = std::ranges::any_of(
      scenario_.steps, [](const profile::Step& step) { return step.wait_for.has_value(); });
  std::vector<std::vector<plant::Hearing>> hearings;
  const auto key_of = [&](const std::vector<plant::Hearing>& hearing,
                          const diagnose::PinStates::Rows& rows) {
    const auto at = std::ranges::find(hearings, hearing) - hearings.begin();
    if (std::cmp_equal(at, hearings.size())) hearings.push_back(hearing);
    std::vector<std::int64_t> key = pins_->EdgeKey(rows, *rows_);
    key.push_back(at);
    return key;
  };
  std::map<std::vector<std::int64_t>, std::size_t> known{{key_of(base_->hearing, *rows_), 0}};
  classes_.push_back(0);
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    if (!MayBePredicted(faults_[i])) continue;
    const auto rows = pins_->Estimate(faults_[i].faults);
    if (!rows) continue;
    const auto [at, is_new] =
        known.try_emplace(key_of(HearingBehind(faults_[i].faults), *rows), classes_.size());
    if (is_new) classes_.push_back(i);
    if (waits && at->second != kHealthy) continue;
    class_of_[i] = at->second;
  }
}

std::vector<plant::Hearing> CampaignRun::HearingBehind(
    const std::vector<profile::Fault>& faults) const {
  std::vector<const profile::Fault*> pointers;
  for (const profile::Fault& fault : faults) pointers.push_back(&fault);
  return plant::HearingOf(bench_, pointers);
}

bool CampaignRun::MayBePredicted(const diagnose::Hypothesis& fault) const {
  return std::ranges::all_of(
      fault.faults, [&](const profile::Fault& f) { return Remake::MayBePredicted(bench_, f); });
}

Outcome CampaignRun::Play(const profile::Scenario& scenario, Tape* tape) const {
  run::RunOptions options;
  options.seed = seed_;
  options.edges_only = true;
  run::Runner runner(bench_, scenario, options);
  Outcome outcome{Reported(bench_, scenario), Sparks(bench_, runner)};
  Codes codes(*bench_.controller, *runner.controller());
  runner.AddObserver(&outcome.reported);
  runner.AddObserver(&outcome.sparks);
  runner.AddObserver(&codes);
  if (tape != nullptr) runner.AddObserver(tape);
  runner.Start();
  while (!runner.finished()) runner.RunTo(kNever - 1);
  outcome.met.resize(scenario.expectations.size(), false);
  for (const check::Verdict& verdict : runner.checker().verdicts()) {
    Nth(outcome.met, verdict.expectation) = verdict.outcome == check::Outcome::kMet;
  }
  outcome.stored = codes.Stored();
  return outcome;
}

Outcome CampaignRun::PlayFault(std::size_t index, Tape* tape) const {
  profile::Scenario scenario = scenario_;
  scenario.faults = faults_[index].faults;
  return Play(scenario, tape);
}

report::FaultResult CampaignRun::Try(std::size_t index) const {
  return ResultOf(index, PlayFault(index, nullptr));
}

// Those of the healthy class one by one, those of another together with the one that is played.
std::vector<std::vector<std::size_t>> CampaignRun::Portions(
    const std::vector<std::size_t>& faults) const {
  std::vector<std::vector<std::size_t>> portions;
  std::map<std::size_t, std::size_t> of_class;
  for (const std::size_t i : faults) {
    const std::size_t c = class_of_[i];
    if (c == kNoClass || c == kHealthy) {
      portions.push_back({i});
      continue;
    }
    const auto [at, is_new] = of_class.try_emplace(c, portions.size());
    if (is_new) portions.emplace_back();
    portions[at->second].push_back(i);
  }
  return portions;
}

std::vector<report::FaultResult> CampaignRun::TryPortion(
    const std::vector<std::size_t>& portion) const {
  std::vector<report::FaultResult> results;
  const std::size_t c = class_of_[portion.front()];
  if (c == kHealthy) {
    results.push_back(Predicted(portion.front(), *base_));
    return results;
  }
  if (c == kNoClass || portion == std::vector{classes_[c]}) {
    results.push_back(Try(portion.front()));
    return results;
  }
  const std::size_t first = classes_[c];
  Tape tape(bench_);
  const Outcome played = PlayFault(first, &tape);
  const auto rows = pins_->Solve(faults_[first].faults);
  std::optional<Base> base;
  if (rows) {
    base.emplace(bench_, *pins_, tape, played, *rows, HearingBehind(faults_[first].faults));
  }
  for (const std::size_t i : portion) {
    results.push_back(i == first ? ResultOf(i, played) : base ? Predicted(i, *base) : Try(i));
  }
  return results;
}

report::FaultResult CampaignRun::Predicted(std::size_t index, const Base& base) const {
  const auto rows = pins_->Solve(faults_[index].faults);
  const auto outcome =
      rows ? remake_->Predict(base, faults_[index].faults, *rows) : std::optional<Outcome>();
  if (!outcome) return Try(index);
  report::FaultResult result = ResultOf(index, *outcome);
  result.made = report::Made::kPredicted;
  return IsDrawn(seed_, index) ? report::Compared(result, Try(index)) : result;
}

report::FaultResult CampaignRun::ResultOf(std::size_t index, const Outcome& outcome) const {
  const diagnose::Hypothesis& fault = faults_[index];
  report::FaultResult result;
  result.index = index;
  result.kind = fault.kind;
  result.words = diagnose::Describe(bench_, fault);
  Differences differences = Compare(scenario_, healthy_.reported, outcome.reported);
  result.controller = std::move(differences.controller);
  result.display = std::move(differences.display);
  result.effects = std::move(differences.effects);
  if (auto late = CompareSparks(bench_, scenario_, healthy_.sparks, outcome.sparks)) {
    result.effects.push_back(*late);
  }
  RoundAndSort(result.effects);
  const auto known = StoredTexts(*bench_.controller, healthy_.stored);
  for (const std::string& code : StoredTexts(*bench_.controller, outcome.stored)) {
    if (std::ranges::count(known, code) == 0) result.controller.push_back("stores code " + code);
  }
  for (std::size_t i = 0; i < outcome.met.size(); ++i) {
    if (healthy_.met[i] && !outcome.met[i]) {
      result.checker.push_back(scenario_.expectations[i].name);
    }
  }
  using report::NoticedBy;
  result.noticed_by = !result.controller.empty() ? NoticedBy::kController
                      : !result.display.empty()  ? NoticedBy::kDisplay
                      : !result.checker.empty()  ? NoticedBy::kChecker
                                                 : NoticedBy::kNobody;
  return result;
}

std::vector<std::size_t> PartOf(std::size_t faults, std::size_t part, std::size_t parts) {
  std::vector<std::size_t> indices;
  for (std::size_t i = part - 1; i < faults; i += parts) indices.push_back(i);
  return indices;
}

// FNV-1a, 64 bits (Fowler, Noll, Vo): against mistakes, not against malice.
std::string HashOfFiles(const std::vector<std::string>& files) {
  std::uint64_t hash = 0xcbf29ce484222325u;
  const auto add = [&](char c) { hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3u; };
  for (const std::string& name : files) {
    std::ifstream file(name, std::ios::binary);
    if (!file) return "";
    for (std::istreambuf_iterator<char> c(file), end; c != end; ++c) add(*c);
    add('\0');
  }
  return fmt::format("{:016x}", hash);
}

}  // namespace drycrank::study
