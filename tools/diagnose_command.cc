// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <optional>

#include "diagnose/next_test.h"
#include "diagnose/rank.h"
#include "profile/load.h"
#include "record/record.h"
#include "report/diagnosis.h"
#include "study/readings.h"
#include "tools/commands.h"
#include "walk/walk.h"

namespace drycrank::tools {
namespace {

constexpr std::size_t kAsked = 16;  // candidates that the next test is to tell apart
constexpr std::size_t kTests = 3;

struct Options {
  std::string record;
  std::string profile;
  std::string json;
  std::string html;
};

// Was the controller of this record a real one, to which no sensor wire is driven?
bool HasRealController(const std::string& record) {
  std::ifstream file(std::filesystem::path(record) / "record.json");
  const auto json = nlohmann::json::parse(file, nullptr, false);
  const std::string mode = json.is_object() ? json.value("mode", "") : "";
  return mode.ends_with("stand-ins: display only") || mode.ends_with("stand-ins: none");
}

// Outputs and circuits that a person answered no to in a walk: no message may show them.
std::vector<std::string> AnsweredNo(const std::string& record) {
  std::ifstream file(std::filesystem::path(record) / "answers");
  std::vector<std::string> about;
  for (std::string line; std::getline(file, line);) {
    const auto json = nlohmann::json::parse(line, nullptr, false);
    if (json.is_object() && json.value("answer", "") == "no") {
      about.push_back(json.value("about", ""));
    }
  }
  return about;
}

struct Loaded {
  std::optional<profile::Bench> bench;
  std::optional<profile::Scenario> scenario;
};

// The profile a record was made from: that of the command line, or the first it names.
std::string ProfileOf(const Options& options) {
  if (!options.profile.empty()) return options.profile;
  std::ifstream file(std::filesystem::path(options.record) / "record.json");
  const auto json = nlohmann::json::parse(file, nullptr, false);
  if (!json.is_object() || !json.contains("profiles") || json["profiles"].empty()) return "";
  return json["profiles"][0].value("from", "");
}

// A scenario as it was played; of a bench, its walk.
bool Load(const std::string& path, bool real_controller, Loaded& out) {
  if (profile::KindOfFile(path) == "bench") {
    profile::LoadedBench loaded = profile::LoadBench(path);
    if (PrintProblems(loaded.problems)) return false;
    out.bench = std::move(loaded.bench);
    if (out.bench->controller) {
      out.scenario = walk::MakeWalk(*out.bench, !real_controller).scenario;
    }
  } else {
    profile::LoadedScenario loaded = profile::LoadScenario(path);
    if (PrintProblems(loaded.problems)) return false;
    out.bench = std::move(loaded.bench);
    out.scenario = std::move(loaded.scenario);
  }
  if (out.bench->controller) return true;
  fmt::print(stderr, "drycrank diagnose: {} has no controller to predict\n", path);
  return false;
}

// The leading candidates of all groups with their shares: whom the next test is to tell apart.
void Ask(const profile::Bench& bench, diagnose::Predictor& predictor,
         report::DiagnosisReport& out) {
  std::vector<double> shares;
  for (const diagnose::Group& group : out.diagnosis->groups) {
    if (group.share < 0.01) continue;
    for (const diagnose::Candidate& member : group.members) {
      if (out.asked.size() == kAsked) break;
      out.asked.push_back(member);
      shares.push_back(group.share / static_cast<double>(group.members.size()));
    }
  }
  if (out.asked.size() > 1) {
    out.tests = diagnose::NextTests(bench, predictor, out.asked, shares, kTests);
  }
}

std::string WhyNoProfile(const std::string& record) {
  namespace fs = std::filesystem;
  if (!fs::exists(record)) return "there is no folder " + record;
  if (!fs::is_directory(record)) return record + " is a file; give the folder of a walk or run";
  if (!fs::exists(fs::path(record) / "record.json")) {
    return record + " has no record.json: it is not the folder of a walk or run";
  }
  return record + "/record.json names no profile, or is damaged: give --profile FILE, or walk anew";
}

bool HeardController(const profile::Bench& bench, const diagnose::Observation& observed) {
  const std::vector<diagnose::Reading> readings = diagnose::ReadingsOf(bench);
  for (const diagnose::Values& row : observed) {
    for (std::size_t r = 0; r < row.size(); ++r) {
      const profile::SignalRef& at = readings[r].signal;
      const profile::Message& message = profile::MessageAt(bench, {at.bus, at.message});
      if (message.sender == profile::Sender::kController && !std::isnan(row[r])) return true;
    }
  }
  return false;
}

int Diagnose(const Options& options) {
  if (const std::string why = record::WhyNotReadRecord(options.record); !why.empty()) {
    fmt::print(stderr, "drycrank diagnose: {}\n", why);
    return kBadInput;
  }
  const std::string path = ProfileOf(options);
  if (path.empty()) {
    fmt::print(stderr, "drycrank diagnose: {}\n", WhyNoProfile(options.record));
    return kBadInput;
  }
  Loaded loaded;
  const bool real_controller = HasRealController(options.record);
  if (!Load(path, real_controller, loaded)) return kBadInput;
  const profile::Bench& bench = *loaded.bench;

  scenario::Timeline timeline(bench, *loaded.scenario);
  check::Checker checker(bench, *loaded.scenario, timeline);
  study::Readings seen(bench, *loaded.scenario, timeline);
  const record::PlayedRecord played =
      record::PlayRecord(options.record, bench, *loaded.scenario, timeline, checker, &seen);
  PrintProblems(played.problems);
  if (played.steps.empty()) return kBadInput;
  if (seen.situations().empty()) {
    fmt::print(stderr,
               "drycrank diagnose: this record has no step in which everything rests for a second; "
               "a walk has such steps (drycrank walk BENCH)\n");
    return kBadInput;
  }

  if (real_controller && !HeardController(bench, seen.observation())) {
    fmt::print(stderr,
               "drycrank diagnose: the record has no message from the controller: no wire can be "
               "judged. Is it powered? Is the bit rate right? Are CANH and CANL connected? Try "
               "drycrank doctor\n");
    return kBadInput;
  }
  if (real_controller) {
    fmt::print(
        "A real controller: this version drives no sensor wire of it. What it reports is compared "
        "with\nthe bench at rest; sensors on the table must be at the values of that step.\n\n");
  }

  diagnose::Predictor predictor(bench, seen.situations());
  diagnose::Ranker ranker(bench, predictor);
  const diagnose::Diagnosis diagnosis = ranker.Rank(seen.observation());
  report::DiagnosisReport report;
  report.bench = &bench;
  report.situations = &predictor.situations();
  report.readings = &predictor.readings();
  report.diagnosis = &diagnosis;
  report.observed = &seen.observation();
  report.record = options.record;
  report.failed =
      report::FailedExpectations(*loaded.scenario, checker.verdicts(), seen.situations());
  if (!diagnosis.healthy && !diagnosis.groups.empty()) {
    const diagnose::Candidate& best = diagnosis.groups[0].members[0];
    report.clues_for = ranker.For(diagnosis, best, seen.observation());
    report.clues_against = ranker.Against(diagnosis, best, seen.observation());
    Ask(bench, predictor, report);
  }
  fmt::print("{}", report::DiagnosisText(report));
  const auto write = [](const std::string& file, const std::string& text) {
    const std::string problem = WriteFile(file, text);
    if (!problem.empty()) fmt::print(stderr, "drycrank diagnose: {}\n", problem);
    return problem.empty();
  };
  if (!options.json.empty() && !write(options.json, report::DiagnosisJson(report))) {
    return kBenchFailed;
  }
  if (!options.html.empty() && !write(options.html, report::DiagnosisHtml(report))) {
    return kBenchFailed;
  }
  if (!played.problems.empty()) return kBadInput;
  const std::vector<std::string> answered_no = AnsweredNo(options.record);
  for (const std::string& about : answered_no) {
    fmt::print("You answered no to {}, and no reading shows why: take the meter to its wires.\n",
               about);
  }
  const bool nothing = diagnosis.healthy && report.failed.empty() && answered_no.empty();
  return nothing ? kAllMet : kExpectationFailed;
}

}  // namespace

void AddDiagnose(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("diagnose", "Say which single fault explains a whole record");
  command->add_option("record", options->record, "Folder that a walk or a run left behind")
      ->required()
      ->type_name("RECORD");
  command
      ->add_option("--profile", options->profile,
                   "Scenario (of a walk: bench) that was played, when it is no longer where the "
                   "record says")
      ->type_name("FILE");
  command
      ->add_option("--html", options->html,
                   "Write a page: the suspect wires on the drawing, predictions over what was seen")
      ->type_name("FILE");
  command->add_option("--json", options->json, "Write the result as JSON too")->type_name("FILE");
  command->footer(
      "Exit codes: 0 nothing to explain, 1 something is wrong, 2 no readable record.\n"
      "A voltage named as the next test is measured with the key on: read hw-notes/cautions.md.\n\n"
      "Example:\n  drycrank walk profiles/benches/hill_climb.yaml --out out/walk\n"
      "  drycrank diagnose out/walk");
  command->callback([options, &exit_code] { exit_code = Diagnose(*options); });
}

}  // namespace drycrank::tools
