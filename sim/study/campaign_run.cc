// SPDX-License-Identifier: Apache-2.0
#include "study/campaign_run.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <fstream>

#include "run/runner.h"
#include "standin/trouble_memory.h"
#include "types/nth.h"

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
      healthy_(Play(scenario)) {
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

report::FaultResult CampaignRun::Try(std::size_t index) const {
  const diagnose::Hypothesis& fault = faults_[index];
  profile::Scenario scenario = scenario_;
  scenario.faults = fault.faults;
  const Outcome outcome = Play(scenario);

  report::FaultResult result;
  result.index = index;
  result.kind = fault.kind;
  result.words = diagnose::Describe(bench_, fault);
  Differences differences = Compare(scenario, healthy_.reported, outcome.reported);
  result.controller = std::move(differences.controller);
  result.display = std::move(differences.display);
  result.effects = std::move(differences.effects);
  if (auto late = CompareSparks(bench_, scenario, healthy_.sparks, outcome.sparks)) {
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
      result.checker.push_back(scenario.expectations[i].name);
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
