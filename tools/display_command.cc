// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cstdio>
#include <filesystem>

#include "io/folder_lock.h"
#include "io/real_clock.h"
#include "profile/load.h"
#include "study/campaign_run.h"
#include "study/play.h"
#include "sweep/alike.h"
#include "sweep/either_side.h"
#include "sweep/person.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "sweep/where_not_so.h"
#include "sweep/which_setting.h"
#include "tools/arming.h"
#include "tools/commands.h"
#include "tools/display_accept.h"
#include "tools/display_draw.h"
#include "tools/display_ended.h"
#include "tools/display_setting.h"
#include "tools/echo_screen.h"
#include "tools/person_sweep.h"
#include "tools/result_files.h"
#include "tools/shown_files.h"
#include "types/unit.h"

namespace drycrank::tools {
namespace {

constexpr char kProgram[] = "drycrank display sweep";

struct Options {
  std::string bench, out;
  std::uint64_t seed = 1;
  bool echo = false, accept = false, overwrite = false, person = false;
  std::string age;
  PersonWish wish;
  ReportFiles files;
};

int Fail(const std::string& problem, int code) {
  fmt::print(stderr, "{}: {}\n", kProgram, problem);
  return code;
}

// ---- one sweep --------------------------------------------------------------------------------

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
    read.insert(read.end(), {options_.wish.answers, options_.wish.marks});
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
    if (!bench_.display && !IsReal() && !options_.person) {
      return Fail(fmt::format("{} has no display that could be played; give --bus and sweep the "
                              "real one, or --person and read it, or --picture",
                              options_.bench),
                  kBadInput);
    }
    if (const std::string used = lock_.Take(options_.out); !used.empty()) {
      return Fail(used, kBadInput);
    }
    showed_.by = {bench_.name,
                  study::HashOfFiles(loaded.files).substr(0, kHashDigits),
                  study::Version(),
                  std::to_string(options_.seed),
                  "",
                  ""};
    if (options_.person) return ByPerson();
    return IsReal() ? ByEcho() : ByStandin();
  }

 private:
  bool IsReal() const { return !options_.wish.buses.empty(); }

  int ByStandin() {
    showed_.by.witness = options_.echo ? sweep::kByEcho : sweep::kByStandin;
    sweep::StandinScreen screen(bench_, options_.echo);
    KeepTold(options_.echo);
    Take(sweep::Sweep(bench_, told_, {options_.seed, true}, screen), "");
    return Finish(sweep::SweepStandin(sweep::AsRequired(bench_), options_.seed, options_.echo));
  }

  int ByEcho() {
    showed_.by.witness = sweep::kByEcho;
    io::RealClock clock;
    OpenInterfaces interfaces = Open(bench_, options_.wish.buses, clock);
    if (!interfaces.problem.empty()) {
      return Fail(interfaces.problem, interfaces.bad_input ? kBadInput : kBenchFailed);
    }
    const Arming arming = Arm(interfaces.by_bus, options_.wish.arming);
    if (!arming.may_drive) return kBadInput;
    CatchStopSignals();
    clock.Start();
    EchoScreen screen(bench_, interfaces.by_bus, clock);
    KeepTold(true);
    const sweep::Swept swept = sweep::Sweep(bench_, told_, {options_.seed, false}, screen);
    const HowItEnded end = EndOf(swept, screen);
    if (!end.sentence.empty()) fmt::print("{}\n", end.sentence);
    Take(swept, end.why, &screen);
    for (const std::string& name : screen.Unsteady()) {
      parts_not_shown_.push_back(name + ": it still moved 30 s after its value was sent");
    }
    if (RequiredSwitching(bench_)) {
      not_shown_.push_back("going on and off: a display on the bus is not switched by a sweep");
    }
    showed_.by.smoothed = screen.Smoothed();
    const int code = Finish(sweep::SweepStandinAsSeen(sweep::AsRequired(bench_), options_.seed,
                                                      true, false, showed_));
    if (screen.refused() == 0 || code == kBadInput) return code;
    const int failed = Fail("a bus did not take a frame; drycrank doctor says why", kBenchFailed);
    return code == kExpectationFailed ? code : failed;
  }

  int ByPerson() {
    const bool by_pictures = !options_.wish.pictures.empty() || !options_.wish.camera.empty();
    PersonWish wish = options_.wish;
    wish.out = options_.out;
    wish.bench_hash = showed_.by.bench_hash;
    const PersonRead read = ReadByPerson(bench_, readouts_, wish);
    if (read.exit_code != 0) {
      return read.problem.empty() ? read.exit_code : Fail(read.problem, read.exit_code);
    }
    const std::string& who = options_.wish.arming.by;
    const int code = ByReadings(
        read,
        by_pictures ? sweep::kByPictures
                    : std::string(sweep::kByPerson) + (who.empty() ? "" : ": " + who),
        by_pictures);
    for (const std::string& doubt : read.doubts) fmt::print("in doubt: {}\n", doubt);
    if (!next_step_.empty()) fmt::print("next: {}\n", next_step_);
    return code;
  }
  int ByReadings(const PersonRead& read, std::string witness, bool by_pictures) {
    const sweep::PersonSaw saw = sweep::TakeReadings(bench_, read.readings);
    showed_.by.witness = std::move(witness);
    showed_.by.not_shown = sweep::NotAnswered(saw, by_pictures);
    showed_.facts = saw.facts;
    said_not_shown_ = NotShownLines(bench_, read, saw);
    next_step_ = NextStep(options_.wish, saw);
    not_shown_ = read.not_shown;
    not_shown_.insert(not_shown_.end(), saw.not_shown.begin(), saw.not_shown.end());
    sweep::WhatItShowed required;
    required.by = showed_.by;
    required.facts = saw.required;
    return Finish(std::move(required));
  }

  // ---- what comes of it ----

  // By echo only what the display tells can be swept.
  void KeepTold(bool by_echo) {
    for (const profile::Readout& r : readouts_) {
      const sweep::Echo echo = sweep::EchoOf(bench_, r.name);
      if (by_echo && !sweep::IsTold(echo)) {
        not_shown_.push_back(r.name + ": no message of the display tells it");
        continue;
      }
      told_.push_back(r);
      const std::string parts = by_echo ? sweep::PartsNotTold(echo, r) : std::string();
      if (parts.empty()) continue;
      parts_not_shown_.push_back(
          fmt::format("{}: no message of the display tells {}", r.name, parts));
    }
  }
  void Take(const sweep::Swept& swept, const std::string& why_ended,
            const EchoScreen* screen = nullptr) {
    showed_.facts = swept.facts;
    showed_.by.ended = EndedIn(swept, why_ended, screen);
    for (const sweep::Ended& e : showed_.by.ended) not_shown_.push_back(e.readout + ": " + e.why);
  }
  static void KeepReadouts(const sweep::WhatItShowed& showed, sweep::WhatItShowed& required) {
    std::erase_if(required.facts, [&](const sweep::ShownFact& f) {
      return std::ranges::find(showed.facts, f.readout, &sweep::ShownFact::readout) ==
             showed.facts.end();
    });
  }

  static std::string Judged(const sweep::Comparison& comparison) {
    std::vector<std::string> names;
    for (const sweep::ShownChange& change : comparison.changes) {
      if (names.empty() || names.back() != change.readout) names.push_back(change.readout);
    }
    return names.empty() ? sweep::kAsRequired : fmt::format("{}", fmt::join(names, ", "));
  }
  int Finish(sweep::WhatItShowed required) {
    KeepReadouts(showed_, required);
    required.by = showed_.by;
    sweep::Comparison judged = sweep::CompareWithRequired(required, showed_);
    judged.not_shown.clear();  // said below, with all else that was not shown
    showed_.by.judged = Judged(judged);
    const std::string file = options_.out + "/" + kShownFile;
    if (const std::string problem = WriteFile(file, sweep::TextOf(showed_)); !problem.empty()) {
      return Fail(problem, kBenchFailed);
    }
    fmt::print("{}: {} of {} readouts, {} facts, seen by {}\n", file,
               readouts_.size() - CountNotShown(), readouts_.size(), showed_.facts.size(),
               showed_.by.witness);
    fmt::print("Against what must be shown:\n{}", sweep::ComparisonText(judged));
    const std::string accepted_file = options_.out + "/" + kAcceptedFile;
    std::error_code none;
    if (std::filesystem::exists(accepted_file, none)) {
      const auto accepted = ReadShownOf(accepted_file);
      if (!accepted) return kBadInput;
      judged = sweep::Compare(*accepted, showed_);
      judged.not_shown.clear();
      SetAsideNotShown(judged);
      fmt::print("Against what {} has accepted:\n{}", accepted->by.accepted_by,
                 sweep::ComparisonText(judged));
      const auto where =
          sweep::WhereNotSo(accepted_file, *accepted, required, readouts_, judged);
      for (const std::string& line : where) fmt::print("{}\n", line);
      JudgeNew(*accepted, required, judged, showed_);
    }
    not_shown_.insert(not_shown_.end(), parts_not_shown_.begin(), parts_not_shown_.end());
    const auto lines = said_not_shown_.value_or(not_shown_);
    for (const std::string& what : lines) fmt::print("not shown: {}\n", what);
    for (const std::string& what : not_shown_) {
      const auto colon = what.find(": ");
      judged.not_shown.push_back({what.substr(0, colon), sweep::ChangeKind::kNotAsked,
                                  colon == std::string::npos ? what : what.substr(colon + 2)});
    }
    if (const std::string problem = WriteComparison(judged, options_.files, bench_.name);
        !problem.empty()) {
      return Fail(problem, kBenchFailed);
    }
    if (!judged.changes.empty()) return kExpectationFailed;
    return not_shown_.empty() && !StopAsked() ? kAllMet : kNotShown;
  }
  // What could not be seen this time is listed as such, and is no difference.
  void SetAsideNotShown(sweep::Comparison& judged) const {
    std::erase_if(judged.changes, [&](const sweep::ShownChange& change) {
      const bool is_less =
          change.kind == sweep::ChangeKind::kNotAsked || change.kind == sweep::ChangeKind::kPoints;
      const bool is_listed = std::ranges::any_of(not_shown_, [&](const std::string& what) {
        return what.starts_with(change.readout + ":");
      });
      if (!is_less || !is_listed) return false;
      judged.notes.push_back(fmt::format("{}: {}", sweep::Spoken(change.readout), change.sentence));
      return true;
    });
  }
  // Nobody has accepted what was not asked before: it is judged by what must be shown.
  static void JudgeNew(const sweep::WhatItShowed& accepted, const sweep::WhatItShowed& required,
                       sweep::Comparison& judged, const sweep::WhatItShowed& showed) {
    const sweep::Comparison of_new = sweep::CompareWithRequired(sweep::OnlyIn(required, accepted),
                                                                sweep::OnlyIn(showed, accepted));
    if (of_new.changes.empty()) return;
    fmt::print("Of what was not asked before, against what must be shown:\n{}",
               sweep::ComparisonText(of_new));
    judged.changes.insert(judged.changes.end(), of_new.changes.begin(), of_new.changes.end());
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
  std::vector<std::string> not_shown_;        // readouts, or questions about them
  std::optional<std::vector<std::string>> said_not_shown_;  // instead of these
  std::string next_step_;
  std::vector<std::string> parts_not_shown_;  // of readouts that were looked at
};

// "36 h"; false, and said, when it is no time.
bool ReadAge(Options& options) {
  if (options.age.empty()) return true;
  const auto number = ParseNumberWithUnit(options.age);
  const auto hours =
      number && !number->unit.empty() ? Convert(number->value, number->unit, "h") : std::nullopt;
  if (!hours || *hours <= 0) {
    Fail(fmt::format("--greatest-age {}: no time; write 36 h, or 30 min", options.age), kBadInput);
    return false;
  }
  options.wish.greatest_age_h = *hours;
  options.wish.age_is_said = true;
  return true;
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
      ->add_option("--bus", o->wish.buses,
                   "Sweep the real display there, by what it tells on the bus")
      ->type_name("BUS=INTERFACE");
  command->add_flag("--person", o->person, "A person reads it: one question a page");
  command->add_option("--answers", o->wish.answers, "What a person read, question by question; CSV")
      ->type_name("FILE");
  command
      ->add_option("--picture", o->wish.pictures,
                   "Read it from pictures of the same questions: page1_question1.png or .jpg ...")
      ->type_name("DIR");
  command
      ->add_option("--camera", o->wish.camera,
                   "Take those pictures by a camera, /dev/video0, a page at a time")
      ->type_name("DEVICE");
  command->add_flag("--resume", o->wish.resume,
                    "Go on with a person's sweep that was interrupted: what was answered is kept");
  command
      ->add_option("--greatest-age", o->age,
                   "A reading that is older is not shown: 24 h when not said; then also one that "
                   "nobody dated")
      ->type_name("TIME");
  command->add_option("--marks", o->wish.marks, "Where the readouts stand on the pictures; YAML")
      ->type_name("FILE");
  CLI::Option* accept = command->add_flag(
      "--accept", o->accept,
      "Sweep nothing: what DIR has was looked at and is right; --by says who looked");
  command
      ->add_flag("--overwrite", o->overwrite,
                 "With --accept: also in the place of another result that was accepted before")
      ->needs(accept);
  AddArmingOptions(*command, o->wish.arming);
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
    o->person = o->person || !o->wish.answers.empty() || !o->wish.pictures.empty() ||
                !o->wish.camera.empty();
    exit_code = !ReadAge(*o) ? kBadInput
                : o->accept  ? AcceptShown(o->bench, o->out, o->wish.arming.by, o->overwrite)
                             : SweepOfBench(*o).Do();
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
