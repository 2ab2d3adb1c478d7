// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <cstdio>
#include <filesystem>

#include "io/folder_lock.h"
#include "io/real_clock.h"
#include "profile/load.h"
#include "study/campaign_run.h"
#include "study/play.h"
#include "sweep/person.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "sweep/which_setting.h"
#include "tools/arming.h"
#include "tools/ask_person.h"
#include "tools/commands.h"
#include "tools/display_draw.h"
#include "tools/display_pictures.h"
#include "tools/display_setting.h"
#include "tools/echo_screen.h"
#include "tools/result_files.h"
#include "tools/shown_files.h"
#include "yaml/include.h"

namespace drycrank::tools {
namespace {

constexpr char kProgram[] = "drycrank display sweep";

struct Options {
  std::string bench, out;
  std::uint64_t seed = 1;
  bool echo = false, accept = false, person = false;
  std::string answers, pictures, marks;
  std::vector<std::string> buses;
  ArmingWish arming;
  ReportFiles files;
};

int Fail(const std::string& problem, int code) {
  fmt::print(stderr, "{}: {}\n", kProgram, problem);
  return code;
}

// ---- one sweep --------------------------------------------------------------------------------

io::ResultFile ShownIn(const std::string& folder, const char* name) {
  return {"--out", folder + "/" + name, {sweep::kShownTitle}};
}

class SweepOfBench {
 public:
  explicit SweepOfBench(const Options& options) : options_(options) {}

  int Do() {
    profile::LoadedBench loaded = profile::LoadBench(options_.bench);
    if (!loaded.bench) {
      PrintProblems(loaded.problems);
      return kBadInput;
    }
    std::vector<std::string> read = loaded.files;
    read.insert(read.end(), {options_.answers, options_.marks});
    if (const std::string why = io::WhyNotThere(ResultsOf(options_.files), read, options_.out);
        !why.empty()) {
      return Fail(why, kBadInput);
    }
    if (const std::string why = io::WhyNotReplaced(ShownIn(options_.out, kShownFile));
        !why.empty()) {
      return Fail(why, kBadInput);
    }
    bench_ = std::move(*loaded.bench);
    readouts_ = RequiredReadouts(bench_);
    if (readouts_.empty()) {
      return Fail(fmt::format("{} says of no value that it must be shown; write readouts, or a "
                              "display with gauges",
                              options_.bench),
                  kBadInput);
    }
    if (!bench_.display && !IsReal() && !options_.person && options_.pictures.empty()) {
      return Fail(fmt::format("{} has no display that could be played; give --bus and sweep the "
                              "real one, or --person and read it, or --picture",
                              options_.bench),
                  kBadInput);
    }
    if (const std::string used = lock_.Take(options_.out); !used.empty()) {
      return Fail(used, kBadInput);
    }
    showed_.by = {bench_.name,
                  study::HashOfFiles(loaded.files).substr(0, 16),
                  study::Version(),
                  std::to_string(options_.seed),
                  "",
                  ""};
    if (!options_.pictures.empty()) return ByPictures();
    if (options_.person) return ByPerson();
    return IsReal() ? ByEcho() : ByStandin();
  }

 private:
  bool IsReal() const { return !options_.buses.empty(); }

  int ByStandin() {
    showed_.by.witness = options_.echo ? sweep::kByEcho : sweep::kByStandin;
    sweep::StandinScreen screen(bench_, options_.echo);
    KeepTold(options_.echo);
    Take(sweep::Sweep(bench_, told_, {options_.seed, true}, screen));
    return Finish(sweep::SweepStandin(sweep::AsRequired(bench_), options_.seed, options_.echo));
  }

  int ByEcho() {
    showed_.by.witness = sweep::kByEcho;
    io::RealClock clock;
    OpenInterfaces interfaces = Open(bench_, options_.buses, clock);
    if (!interfaces.problem.empty()) {
      return Fail(interfaces.problem, interfaces.bad_input ? kBadInput : kBenchFailed);
    }
    const Arming arming = Arm(interfaces.by_bus, options_.arming);
    if (!arming.may_drive) return kBadInput;
    CatchStopSignals();
    clock.Start();
    EchoScreen screen(bench_, interfaces.by_bus, clock);
    KeepTold(true);
    const sweep::Swept swept = sweep::Sweep(bench_, told_, {options_.seed, false}, screen);
    Take(swept);
    if (screen.refused() > 0) {
      return Fail(
          fmt::format("a bus did not take {} frames; drycrank doctor says why", screen.refused()),
          kBenchFailed);
    }
    if (!swept.fell_silent_at.empty() && !StopAsked()) Silent(screen);
    sweep::WhatItShowed required =
        sweep::SweepStandin(sweep::AsRequired(bench_), options_.seed, true);
    std::erase_if(required.facts, [](const auto& f) { return f.step == sweep::Step::kPowerOn; });
    return Finish(std::move(required));
  }
  void Silent(EchoScreen& screen) {
    failed_ = true;
    if (screen.last_heard_ns() < 0) {
      fmt::print("The display told nothing at all: no message of it came.\n");
    } else {
      fmt::print("The display fell silent: gone at {:.1f} s, while {} was swept.\n",
                 ToSeconds(screen.last_heard_ns()), showed_stopped_at_);
    }
  }

  int ByPerson() {
    std::optional<std::vector<sweep::Reading>> readings;
    if (options_.answers.empty()) {
      readings = AskThere();
    } else {
      readings = ReadAnswersFile();
    }
    if (!readings) return kBadInput;
    return ByReadings(*readings, std::string(sweep::kByPerson) +
                                     (options_.arming.by.empty() ? "" : ": " + options_.arming.by));
  }
  int ByPictures() {
    const auto seen = SeePictures(bench_, options_.pictures, options_.marks, options_.out);
    if (!seen) return kBadInput;
    const int code = ByReadings(seen->readings, sweep::kByPictures);
    for (const std::string& doubt : seen->doubts) fmt::print("in doubt: {}\n", doubt);
    return code;
  }
  int ByReadings(const std::vector<sweep::Reading>& readings, std::string witness) {
    const sweep::PersonSaw saw = sweep::TakeReadings(bench_, readings);
    showed_.by.witness = std::move(witness);
    showed_.facts = saw.facts;
    not_shown_ = saw.not_shown;
    sweep::WhatItShowed required;
    required.by = showed_.by;
    required.facts = saw.required;
    return Finish(std::move(required));
  }
  std::optional<std::vector<sweep::Reading>> ReadAnswersFile() const {
    yaml::Problems problems;
    yaml::Files files(problems);
    const auto text = files.ReadText(options_.answers, {options_.answers, 0, 0});
    if (PrintProblems(problems.Sorted({options_.answers})) || !text) return std::nullopt;
    sweep::ReadAnswers read = sweep::ParseReadings(readouts_, options_.answers, *text);
    if (PrintProblems(read.problems)) return std::nullopt;
    return std::move(read.readings);
  }
  std::optional<std::vector<sweep::Reading>> AskThere() const {
    if (!IsReal()) {
      Fail(
          "somebody must see the display while it is driven: give --bus, or --answers with what "
          "was read",
          kBadInput);
      return std::nullopt;
    }
    io::RealClock clock;
    OpenInterfaces interfaces = Open(bench_, options_.buses, clock);
    if (!interfaces.problem.empty()) {
      Fail(interfaces.problem, kBadInput);
      return std::nullopt;
    }
    const Arming arming = Arm(interfaces.by_bus, options_.arming);
    if (!arming.may_drive) return std::nullopt;
    CatchStopSignals();
    clock.Start();
    EchoScreen screen(bench_, interfaces.by_bus, clock);
    return AskPerson(bench_, readouts_, screen);
  }

  // ---- what comes of it ----

  // By echo only what the display tells can be swept.
  void KeepTold(bool by_echo) {
    for (const profile::Readout& r : readouts_) {
      if (!by_echo || sweep::IsTold(sweep::EchoOf(bench_, r.name))) {
        told_.push_back(r);
      } else {
        not_shown_.push_back(r.name + ": no message of the display tells it");
      }
    }
  }
  void Take(const sweep::Swept& swept) {
    showed_.facts = swept.facts;
    showed_stopped_at_ = swept.fell_silent_at;
    std::erase_if(showed_.facts,
                  [&](const auto& fact) { return fact.readout == swept.fell_silent_at; });
    for (const std::string& name : swept.not_shown) {
      not_shown_.push_back(name + ": the display had fallen silent");
    }
  }
  static void KeepReadouts(const sweep::WhatItShowed& showed, sweep::WhatItShowed& required) {
    std::erase_if(required.facts, [&](const sweep::ShownFact& f) {
      return std::ranges::find(showed.facts, f.readout, &sweep::ShownFact::readout) ==
             showed.facts.end();
    });
  }

  int Finish(sweep::WhatItShowed required) {
    const std::string file = options_.out + "/" + kShownFile;
    if (const std::string problem = WriteFile(file, sweep::TextOf(showed_)); !problem.empty()) {
      return Fail(problem, kBenchFailed);
    }
    fmt::print("{}: {} readouts, {} facts, seen by {}\n", file, readouts_.size() - CountNotShown(),
               showed_.facts.size(), showed_.by.witness);
    KeepReadouts(showed_, required);
    required.by = showed_.by;
    sweep::Comparison judged = sweep::CompareWithRequired(required, showed_);
    fmt::print("Against what must be shown:\n{}", sweep::ComparisonText(judged));
    const std::string accepted_file = options_.out + "/" + kAcceptedFile;
    std::error_code none;
    if (std::filesystem::exists(accepted_file, none)) {
      const auto accepted = ReadShownOf(accepted_file);
      if (!accepted) return kBadInput;
      judged = sweep::Compare(*accepted, showed_);
      fmt::print("Against what {} has accepted:\n{}", accepted->by.accepted_by,
                 sweep::ComparisonText(judged));
    }
    for (const std::string& what : not_shown_) fmt::print("not shown: {}\n", what);
    if (const std::string problem = WriteComparison(judged, options_.files, bench_.name);
        !problem.empty()) {
      return Fail(problem, kBenchFailed);
    }
    if (!judged.changes.empty() || failed_) return kExpectationFailed;
    return not_shown_.empty() && !StopAsked() ? kAllMet : kNotShown;
  }
  std::size_t CountNotShown() const {
    std::size_t missing = 0;
    for (const profile::Readout& r : readouts_) {
      const bool there = std::ranges::find(showed_.facts, r.name, &sweep::ShownFact::readout) !=
                         showed_.facts.end();
      if (!there) ++missing;
    }
    return missing;
  }

  const Options& options_;
  profile::Bench bench_;
  std::vector<profile::Readout> readouts_, told_;
  io::FolderLock lock_;
  sweep::WhatItShowed showed_;
  std::string showed_stopped_at_;
  std::vector<std::string> not_shown_;
  bool failed_ = false;
};

// ---- accepting --------------------------------------------------------------------------------

int Accept(const Options& options) {
  if (options.arming.by.empty()) {
    return Fail("who has looked at it? Give --by NAME", kBadInput);
  }
  auto showed = ReadShownOf(options.out + "/" + kShownFile);
  if (!showed) return kBadInput;
  io::FolderLock lock;
  if (const std::string used = lock.Take(options.out); !used.empty()) return Fail(used, kBadInput);
  showed->by.accepted_by = options.arming.by;
  const std::string file = options.out + "/" + kAcceptedFile;
  if (const std::string why = io::WhyNotReplaced(ShownIn(options.out, kAcceptedFile));
      !why.empty()) {
    return Fail(why, kBadInput);
  }
  if (const std::string problem = WriteFile(file, sweep::TextOf(*showed)); !problem.empty()) {
    return Fail(problem, kBenchFailed);
  }
  fmt::print("{}: accepted by {}, {} facts\n", file, options.arming.by, showed->facts.size());
  return kAllMet;
}

void AddSweep(CLI::App& display, int& exit_code) {
  auto o = std::make_shared<Options>();
  CLI::App* command = display.add_subcommand(
      "sweep", "Send it every value that tells something, and write down what it showed");
  command->add_option("bench", o->bench, "Bench")->required()->type_name("BENCH");
  command->add_option("--out", o->out, "Folder for shown.csv and accepted.csv")
      ->required()
      ->type_name("DIR");
  command->add_option("--seed", o->seed, "Chooses where all other values rest")
      ->check(IsSeed())
      ->type_name("N");
  command->add_flag("--echo", o->echo,
                    "See the stand-in by what it tells on the bus, as a real one would be seen");
  command
      ->add_option("--bus", o->buses, "Sweep the real display there, by what it tells on the bus")
      ->type_name("BUS=INTERFACE");
  command->add_flag("--person", o->person, "A person reads it: one question a page");
  command->add_option("--answers", o->answers, "What a person read, question by question; CSV")
      ->type_name("FILE");
  command
      ->add_option("--picture", o->pictures,
                   "Read it from pictures of the same questions: page1_question1.png or .jpg ...")
      ->type_name("DIR");
  command->add_option("--marks", o->marks, "Where the readouts stand on the pictures; YAML")
      ->type_name("FILE");
  command->add_flag("--accept", o->accept,
                    "Sweep nothing: what DIR has was looked at and is right; --by says who looked");
  AddArmingOptions(*command, o->arming);
  command->add_option("--json", o->files.json, "Write the comparison as JSON")->type_name("FILE");
  command->add_option("--junit", o->files.junit, "Write it as JUnit XML")->type_name("FILE");
  command->footer(
      "What is sent comes from what must be shown (readouts of the bench), never from what was\n"
      "set. shown.csv has one fact a line, sorted; keep accepted.csv in version control.\n"
      "Exit codes: 1 it shows something else than accepted, or where nothing is accepted, than\n"
      "what must be shown; 4 something could not be seen; 0 neither. hw-notes/displays.md.\n\n"
      "Examples:\n"
      "  drycrank display sweep profiles/benches/hill_climb.yaml --out out/display\n"
      "  drycrank display sweep profiles/benches/hill_climb.yaml --out out/display --accept --by "
      "\"R. "
      "Fitter\"\n"
      "  drycrank display sweep my_bench.yaml --out out/display --picture photographs --marks "
      "marks.yaml");
  command->callback([o, &exit_code] {
    o->person = o->person || !o->answers.empty();
    exit_code = o->accept ? Accept(*o) : SweepOfBench(*o).Do();
  });
}

}  // namespace

void AddDisplay(CLI::App& app, int& exit_code) {
  CLI::App* command = app.add_subcommand(
      "display", "A display: sweep it, draw it, and find the setting that is wrong");
  command->require_subcommand(1);
  command->footer(
      "hw-notes/displays.md shows how a display is taken over.\n"
      "Two results: drycrank compare. On paper: drycrank proofread.\n\n"
      "Example:\n"
      "  drycrank display sweep profiles/benches/hill_climb.yaml --out out/display");
  AddSweep(*command, exit_code);
  AddDisplaySetting(*command, exit_code);
  AddDisplayDraw(*command, exit_code);
}

}  // namespace drycrank::tools
