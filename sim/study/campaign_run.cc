// SPDX-License-Identifier: Apache-2.0
#include "study/campaign_run.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <fstream>

#include "run/runner.h"
#include "standin/trouble_memory.h"
#include "types/nth.h"
#include "types/random.h"

namespace drycrank::study {
namespace {

constexpr double kShareOfProof = 0.1;

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

  std::vector<std::string> Stored() const {
    std::vector<std::string> stored;
    for (const standin::TroubleMemory& memory : memories_) {
      for (const auto& entry : memory.entries()) {
        if (entry.stored) stored.push_back(entry.code->text);
      }
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

void SortAndRound(std::vector<report::Effect>& effects) {
  std::stable_sort(effects.begin(), effects.end(),
                   [](const auto& a, const auto& b) { return a.times_sigma > b.times_sigma; });
  for (report::Effect& effect : effects) {
    for (double* number :
         {&effect.deviation, &effect.healthy, &effect.faulty, &effect.times_sigma}) {
      *number = report::Rounded(*number);
    }
  }
}

}  // namespace

CampaignRun::CampaignRun(const profile::Bench& bench, const profile::Scenario& scenario,
                         std::uint64_t seed)
    : bench_(bench),
      scenario_(scenario),
      seed_(seed),
      faults_(diagnose::SingleFaults(bench)),
      healthy_(Play(scenario)),
      same_(bench, scenario, faults_) {
  for (std::size_t i = 0; i < faults_.size(); ++i) shared_.push_back(std::make_unique<Shared>());
  for (std::size_t i = 0; i < healthy_.met.size(); ++i) {
    if (!healthy_.met[i]) failed_when_healthy_.push_back(scenario.expectations[i].name);
  }
}

CampaignRun::Outcome CampaignRun::Play(const profile::Scenario& scenario) const {
  run::RunOptions options;
  options.seed = seed_;
  run::Runner runner(bench_, scenario, options);
  Outcome outcome{Reported(bench_, scenario), Sparks(bench_, runner), {}, {}};
  Codes codes(*bench_.controller, *runner.controller());
  runner.AddObserver(&outcome.reported);
  runner.AddObserver(&outcome.sparks);
  runner.AddObserver(&codes);
  runner.Start();
  while (!runner.finished()) runner.RunTo(runner.NextDueNs());
  outcome.met.resize(scenario.expectations.size(), false);
  for (const check::Verdict& verdict : runner.checker().verdicts()) {
    Nth(outcome.met, verdict.expectation) = verdict.outcome == check::Outcome::kMet;
  }
  outcome.codes = codes.Stored();
  return outcome;
}

bool CampaignRun::IsPredicted(std::size_t index) const {
  return same_.IsAsHealthy(index) || same_.FirstLike(index) != index;
}

// A tenth, whichever part of the campaign it is in.
bool CampaignRun::IsProof(std::size_t index) const {
  return IsPredicted(index) && Random(seed_, index).Uniform() < kShareOfProof;
}

report::FaultResult CampaignRun::Try(std::size_t index) const {
  report::FaultResult predicted = Predicted(index);
  if (!IsPredicted(index)) return predicted;
  ++predicted_;
  if (!IsProof(index)) return predicted;
  ++played_too_;
  report::FaultResult played = PlayFault(index);
  if (report::FaultLine(played) != report::FaultLine(predicted)) ++differed_;
  return played;
}

// By the one that is played for all that are like it; for itself when it is that one.
report::FaultResult CampaignRun::Predicted(std::size_t index) const {
  if (same_.IsAsHealthy(index)) return ResultOf(index, healthy_);
  const std::size_t first = same_.FirstLike(index);
  Shared& shared = *shared_[first];
  std::call_once(shared.played, [&] { shared.result = PlayFault(first); });
  report::FaultResult result = shared.result;
  result.index = index;
  result.kind = faults_[index].kind;
  result.words = diagnose::Describe(bench_, faults_[index]);
  return result;
}

report::FaultResult CampaignRun::PlayFault(std::size_t index) const {
  profile::Scenario scenario = scenario_;
  scenario.faults = faults_[index].faults;
  return ResultOf(index, Play(scenario));
}

report::FaultResult CampaignRun::ResultOf(std::size_t index, const Outcome& outcome) const {
  report::FaultResult result;
  result.index = index;
  result.kind = faults_[index].kind;
  result.words = diagnose::Describe(bench_, faults_[index]);
  Differences differences = Compare(scenario_, healthy_.reported, outcome.reported);
  result.controller = std::move(differences.controller);
  result.display = std::move(differences.display);
  result.effects = std::move(differences.effects);
  if (auto late = CompareSparks(bench_, scenario_, healthy_.sparks, outcome.sparks)) {
    result.effects.push_back(*late);
  }
  SortAndRound(result.effects);
  for (const std::string& code : outcome.codes) {
    if (std::ranges::count(healthy_.codes, code) == 0) {
      result.controller.push_back("stores code " + code);
    }
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
