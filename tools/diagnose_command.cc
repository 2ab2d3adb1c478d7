// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <optional>
#include <span>
#include <variant>
#include <vector>

#include "diagnose/next_test.h"
#include "diagnose/rank.h"
#include "io/bench_meter.h"
#include "profile/bus_nodes.h"
#include "profile/load.h"
#include "record/profile_changes.h"
#include "record/record.h"
#include "report/diagnosis.h"
#include "report/text.h"
#include "study/of_the_cycle.h"
#include "study/play.h"
#include "study/readings.h"
#include "study/strangers.h"
#include "tools/commands.h"
#include "tools/diagnose_questions.h"
#include "tools/measurement_book.h"
#include "tools/mode_words.h"
#include "tools/result_files.h"
#include "tools/said.h"
#include "types/json_text.h"
#include "types/nth.h"
#include "types/plain_text.h"
#include "walk/walk.h"

namespace drycrank::tools {
namespace {

constexpr double kHealthyShare = 0.5;  // readings at the bench speak against a healthy one below
constexpr std::size_t kTests = 3;

struct Options {
  std::string record;
  std::string profile;
  std::string json;
  std::string html;
  std::vector<std::string> measured;
  std::string measurements;  // a file of them
  std::vector<int> take_back;
  std::string by;
  bool ask = false;
  std::string meter;  // to be read instead of typed; empty: none

  bool Adds() const {
    return ask || !measured.empty() || !measurements.empty() || !take_back.empty();
  }
};

std::string ModeOf(const std::string& record) {
  std::ifstream file(std::filesystem::path(record) / "record.json");
  return TextIn(nlohmann::json::parse(file, nullptr, false), "mode");
}

// Outputs and circuits that a person answered no to in a walk: no message may show them.
std::vector<std::string> AnsweredNo(const std::string& record) {
  std::ifstream file(std::filesystem::path(record) / "answers");
  std::vector<std::string> about;
  for (std::string line; std::getline(file, line);) {
    const auto json = nlohmann::json::parse(line, nullptr, false);
    const std::string answer = TextIn(json, "answer");
    if (answer == "no" || answer == "dark" || answer == "dashes") {
      about.push_back(fmt::format("{} to {}", answer, TextIn(json, "about")));
    }
  }
  return about;
}

// What the person saw of a display that only listens; the last word counts.
std::optional<diagnose::DisplayLook> LookIn(const std::string& record) {
  std::ifstream file(std::filesystem::path(record) / "answers");
  std::optional<diagnose::DisplayLook> look;
  for (std::string line; std::getline(file, line);) {
    const auto json = nlohmann::json::parse(line, nullptr, false);
    if (TextIn(json, "about") != profile::kDisplayQuestion) continue;
    look.reset();
    const std::string answer = TextIn(json, "answer");
    if (answer == "yes") look = diagnose::DisplayLook::kValues;
    if (answer == "dashes") look = diagnose::DisplayLook::kDashes;
    if (answer == "dark") look = diagnose::DisplayLook::kDark;
  }
  return look;
}

bool HasListeningDisplay(const profile::Bench& bench) {
  return std::ranges::any_of(bench.buses, profile::HasListeningDisplay);
}

struct Loaded {
  std::optional<profile::Bench> bench;
  std::optional<profile::Scenario> scenario;
  std::vector<std::string> files;
};

nlohmann::json HeadOf(const std::string& record) {
  std::ifstream file(std::filesystem::path(record) / "record.json");
  return nlohmann::json::parse(file, nullptr, false);
}

// The capture that turned crank and cams in that run; empty: the bench's own wheels did.
std::string CaptureIn(const std::string& record) {
  const auto json = HeadOf(record);
  if (!json.is_object() || !json.contains("played") || !json["played"].is_array()) return "";
  return json["played"].empty() ? "" : TextIn(json["played"][0], "from");
}

// The profile a record was made from: that of the command line, or the first it names.
std::string ProfileOf(const Options& options) {
  if (!options.profile.empty()) return options.profile;
  const auto json = HeadOf(options.record);
  if (!json.is_object() || !json.contains("profiles") || !json["profiles"].is_array()) return "";
  return json["profiles"].empty() ? "" : TextIn(json["profiles"][0], "from");
}

walk::Walk WalkOf(const profile::Bench& bench, bool real_controller, bool outputs) {
  return walk::MakeWalk(bench, real_controller ? walk::ReachOfReal(bench, outputs) : walk::Reach{});
}

// A scenario as it was played; of a bench, its walk.
bool Load(const std::string& path, bool real_controller, bool outputs, Loaded& out) {
  if (profile::KindOfFile(path) == "bench") {
    profile::LoadedBench loaded = profile::LoadBench(path);
    if (PrintProblems(loaded.problems)) return false;
    out.bench = std::move(loaded.bench);
    out.files = std::move(loaded.files);
    if (out.bench->controller) {
      out.scenario = WalkOf(*out.bench, real_controller, outputs).scenario;
    }
  } else {
    profile::LoadedScenario loaded = profile::LoadScenario(path);
    if (PrintProblems(loaded.problems)) return false;
    out.bench = std::move(loaded.bench);
    out.files = std::move(loaded.files);
    out.scenario = std::move(loaded.scenario);
  }
  if (out.bench->controller) return true;
  fmt::print(stderr, "drycrank diagnose: {} has no controller to predict\n", path);
  return false;
}

// Is what predicts now what was walked then? Else what differs, and what to do.
std::vector<std::string> NotesOf(const std::string& record, const std::vector<std::string>& files) {
  std::vector<std::string> notes =
      record::ProfileChanges(record, files, study::Version(), false);
  if (notes.empty()) return notes;
  notes.push_back(fmt::format(
      "What each fault would give is worked out with the files and the program as they are now. "
      "Walk again, or put the file back as it was (a copy is in {}/profiles).",
      record));
  return notes;
}

struct Line {
  std::string said;
  std::string where;  // "readings.txt:3" or "--measured \"CMP.3=0.72 V\""
};

// Those of the command line, then those of the file: one a line, # begins a comment.
std::vector<Line> LinesOf(const Options& options, std::string& problem) {
  std::vector<Line> lines;
  for (const std::string& said : options.measured) lines.push_back({said, ""});
  if (options.measurements.empty()) return lines;
  std::ifstream file(options.measurements);
  if (!file) problem = fmt::format("there is no file {}", options.measurements);
  std::string text;
  for (int number = 1; std::getline(file, text); ++number) {
    text = text.substr(0, text.find('#'));
    while (!text.empty() && std::string_view(" \t\r").find(text.back()) != std::string_view::npos) {
      text.pop_back();
    }
    if (text.empty()) continue;
    lines.push_back({text, fmt::format("{}:{}", options.measurements, number)});
  }
  return lines;
}

// All that is wrong with them, before any is kept.
bool AreReadable(const diagnose::MeasuredModel& model, const std::vector<Line>& lines) {
  bool readable = true;
  for (const Line& line : lines) {
    const Said said = ReadSaid(model, line.said);
    if (said.problem.empty()) continue;
    readable = false;
    if (line.where.empty()) {
      fmt::print(stderr, "drycrank diagnose: --measured \"{}\": {}\n", OneLine(line.said),
                 said.problem);
    } else {
      fmt::print(stderr, "{}:{}: {}\n", line.where, said.column, said.problem);
    }
  }
  return readable;
}

int Fail(const std::string& problem, int code = kBadInput) {
  fmt::print(stderr, "drycrank diagnose: {}\n", problem);
  return code;
}

// What the command line takes back and gives. kAllMet, or the exit code.
int TakeGiven(const Options& options, Case& at_bench) {
  std::string problem;
  const std::vector<Line> lines = LinesOf(options, problem);
  if (!problem.empty()) return Fail(problem);
  if (!AreReadable(at_bench.model(), lines)) return kBadInput;
  for (const int number : options.take_back) {
    problem = at_bench.book().TakeBack(number, options.by);
    if (!problem.empty()) return Fail(problem);
  }
  for (const Line& line : lines) {
    const auto& kept = at_bench.book().readings();
    if (std::ranges::find(kept, line.said, &KeptReading::said) != kept.end()) continue;
    problem = at_bench.book().Add(line.said, options.by);
    if (!problem.empty()) return Fail(problem, kBenchFailed);
  }
  problem = at_bench.Weigh();
  return problem.empty() ? kAllMet : Fail(problem);
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
  io::BenchMeter meter;
  if (!options.meter.empty()) {
    if (!options.ask) return Fail("--meter is read where --ask asks: give both");
    if (const std::string why = meter.SetAddress(options.meter); !why.empty()) return Fail("--meter " + why);
  }
  if (const std::string why = record::WhyNotReadRecord(options.record); !why.empty()) {
    fmt::print(stderr, "drycrank diagnose: {}\n", why);
    return kBadInput;
  }
  if (const std::string capture = CaptureIn(options.record); !capture.empty()) {
    return Fail(fmt::format(
        "crank and cams of this run were those of {}: what should have been reported nobody can "
        "predict; lay it under the bench with drycrank match, and diagnose a walk",
        OneLine(capture)));
  }
  const std::string path = ProfileOf(options);
  if (path.empty()) {
    fmt::print(stderr, "drycrank diagnose: {}\n", WhyNoProfile(options.record));
    return kBadInput;
  }
  std::vector<std::string> inputs{path, options.measurements};
  const std::string misplaced = io::WhyNotThere(
      {{"--json", options.json, kJsonMark}, {"--html", options.html, kPageMark}}, inputs);
  if (!misplaced.empty()) return Fail(misplaced);
  Loaded loaded;
  const std::string mode = ModeOf(options.record);
  const bool real_controller = WasReal(mode, "controller"), driven = WereOutputsDriven(mode);
  if (!Load(path, real_controller, driven, loaded)) return kBadInput;
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
  if (real_controller && driven) {
    fmt::print(
        "A real controller: of its wires those were driven in whose place an output of the bench "
        "stood.\nSensors that nothing drives must be at the values of that step.\n\n");
  } else if (real_controller) {
    fmt::print(
        "A real controller: no sensor wire of it was driven. What it reports is compared "
        "with\nthe bench at rest; sensors on the table must be at the values of that step.\n\n");
  }

  diagnose::Predictor predictor(bench, seen.situations());
  diagnose::Ranker ranker(bench, predictor);
  // What it may have been told wrong is weighed where something of the cycle is not as it should
  // be.
  const bool cycle_failed = study::FailedOfTheCycle(bench, *loaded.scenario, checker.verdicts());
  const std::vector<diagnose::Stranger> strangers =
      study::InvolvedStrangers(seen.strangers(), *loaded.scenario, checker.verdicts());
  const diagnose::EdgesSeen edges = seen.edges();
  const std::optional<diagnose::DisplayLook> look =
      HasListeningDisplay(bench) ? LookIn(options.record) : std::nullopt;
  const diagnose::RankOptions weighed{.doubles = true,
                                      .fired = cycle_failed ? &seen.fired() : nullptr,
                                       .edges = &edges,
                                       .strangers = strangers,
                                       .look = look};
  const diagnose::Diagnosis diagnosis = ranker.Rank(seen.observation(), weighed);
  MeasurementBook book;
  if (const std::string problem = book.Open(options.record, options.Adds()); !problem.empty()) {
    return Fail(problem);
  }
  Case at_bench(bench, predictor, seen.observation(), diagnosis, book);
  if (const int code = TakeGiven(options, at_bench); code != kAllMet) return code;
  if (book.of_before() > 0) {
    fmt::print("{} of an earlier record in this folder: not used.\n\n",
               report::Counted(AsSize(book.of_before()), "reading"));
  }
  report::DiagnosisReport report;
  report.bench = &bench;
  report.situations = &predictor.situations();
  report.readings = &predictor.readings();
  report.diagnosis = &diagnosis;
  diagnose::AfterReadings after;
  report.observed = &seen.observation();
  report.record = options.record;
  report.failed =
      report::FailedExpectations(*loaded.scenario, checker.verdicts(), seen.situations());
  report.columns = Columns();
  report.notes = NotesOf(options.record, loaded.files);
  report.look = look;
  // Whom readings may speak against: of a healthy bench they must have spoken first.
  const bool suspects =
      !diagnosis.groups.empty() && (!diagnosis.healthy || options.ask || !at_bench.given().empty());
  // The shares as the readings leave them: one set for all that is said.
  const auto set_shares = [&] {
    report.given = at_bench.given();
    report.before = report.given.empty() ? nullptr : &diagnosis;
    report.after = report.given.empty() ? nullptr : &after;
    after = diagnose::WithReadings(diagnosis, at_bench.narrowed());
    report.diagnosis = report.after == nullptr ? &diagnosis : &after.diagnosis;
    report.clues_for.clear(), report.clues_against.clear();
    if (!suspects || report.diagnosis->groups.empty()) return;
    const diagnose::Candidate& best = report.diagnosis->groups[0].members[0];
    report.clues_for = ranker.For(diagnosis, best, seen.observation());
    report.clues_against = ranker.Against(diagnosis, best, seen.observation());
  };
  const auto set_left = [&] {
    set_shares();
    report.model = &at_bench.model();
    report.narrowed = &at_bench.narrowed();
    report.tests = suspects ? at_bench.Tests(kTests) : std::vector<diagnose::NextTest>();
  };
  std::string cut_short;
  if (options.ask && suspects) {
    set_shares();
    fmt::print("{}", report::DiagnosisText(report));
    CatchStopSignals();
    cut_short = AskAtTheBench(at_bench, options.by, report.columns,
                              options.meter.empty() ? nullptr : &meter);
    set_left();
  } else {
    set_left();
    fmt::print("{}", report::DiagnosisText(report));
  }
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
  if (!cut_short.empty()) return Fail(cut_short, kNotShown);
  const std::vector<std::string> answered_no = AnsweredNo(options.record);
  for (const std::string& about : answered_no) {
    if (look && about.ends_with(std::string(" to ") + profile::kDisplayQuestion)) continue;
    fmt::print("You answered {}, and no reading shows why: take the meter to its wires.\n", about);
  }
  const bool measured_right =
      at_bench.given().empty() || at_bench.narrowed().healthy_share >= kHealthyShare;
  const bool nothing =
      report.diagnosis->healthy && report.failed.empty() && answered_no.empty() && measured_right;
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
  command
      ->add_option("--measured", options->measured,
                   "A reading at the bench, kept in RECORD: CMP.3=0.72 V, CLT.1-CLT.2=2,5 kohm, "
                   "BT.1=420 mA; may be given several times")
      ->type_name("READING")
      ->allow_extra_args(false);
  command->add_option("--measurements", options->measurements, "A file of readings, one a line")
      ->type_name("FILE");
  command
      ->add_option("--take-back", options->take_back,
                   "A reading that was wrong, by its number; it stays in the book, crossed out")
      ->type_name("N")
      ->allow_extra_args(false);
  command->add_option("--by", options->by, "Who has measured")->type_name("NAME");
  command->add_flag(
      "--ask", options->ask,
      "Ask at the terminal: next test, reading, what is left, until one repair is named");
  command
      ->add_option("--meter", options->meter,
                   "With --ask: read this meter (SCPI on TCP) when the probes are put and Enter is pressed")
      ->type_name("HOST:PORT");
  command->footer(
      "Volts: key on, engine still (or @ STEP), wire side of the plug, against the battery's minus "
      "or "
      "a second place.\nOhms: key off, battery off, the controller's plugs pulled; without CLT: "
      "that one "
      "too; with ECU: left on;\nacross the two wires of a bus: all plugs on, unless you say without. "
      "Device CLT.1-CLT.2: at the device's own pins. Amperes: the meter "
      "in "
      "series. Also: wiggle CLT: yes;\nunplug CLT: SIGNAL=VALUE; bridge ECU.5-BT.2: yes; cannot "
      "CLT.1.\n\n"
      "Exit codes: 0 nothing to explain, 1 something is wrong, 2 no readable record or reading,\n"
      "4 --ask ended before one repair was named.\n"
      "A voltage named as the next test is measured with the key on: read hw-notes/cautions.md.\n\n"
      "Example:\n  drycrank walk profiles/benches/hill_climb.yaml --out out/walk\n"
      "  drycrank diagnose out/walk\n"
      "  drycrank diagnose out/walk --measured \"CLT.1=4.98 V\" --by \"A. Fitter\"\n"
      "  drycrank diagnose out/walk --ask\n"
      "  drycrank diagnose out/walk --ask --meter 192.168.1.30:5025 --by \"A. Fitter\"");
  command->callback([options, &exit_code] { exit_code = Diagnose(*options); });
}

}  // namespace drycrank::tools
