// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <memory>
#include <optional>

#include "io/bench_meter.h"
#include "profile/answers.h"
#include "profile/load.h"
#include "proofread/told.h"
#include "report/text.h"
#include "study/campaign_run.h"
#include "study/capture.h"
#include "study/walk_answers.h"
#include "tools/answer_book.h"
#include "tools/commands.h"
#include "tools/signatures.h"
#include "tools/stage.h"
#include "tools/walk_meter.h"
#include "tools/walk_questions.h"
#include "walk/walk.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string bench;
  std::vector<std::string> faults;
  std::vector<std::string> captures;
  std::string answers;
  std::uint64_t seed = 1;
  std::string meter;  // to be read; empty: none
  bool ask = false, resume = false;
  StageOptions stage;
};

int Fail(const std::string& problem) {
  fmt::print(stderr, "drycrank walk: {}\n", problem);
  return kBadInput;
}

// Faults put in on purpose, for practice: "{kind: open, at: CLT.1}".
bool AddFaults(const Options& options, const profile::Bench& bench, profile::Scenario& scenario) {
  for (const std::string& text : options.faults) {
    profile::ParsedFault parsed = profile::ParseFault(bench, text);
    if (PrintProblems(parsed.problems)) return false;
    scenario.faults.push_back(std::move(*parsed.fault));
  }
  return true;
}

std::string FaultKinds() {
  std::string text = "Kinds of --fault, by what it is put into:\n";
  for (const std::string& group : profile::FaultKindsInWords()) {
    const char* indent = "  ";
    for (const std::string& line : report::Wrap(group, 92)) {
      text += indent + line + "\n";
      indent = "    ";
    }
  }
  return text + "\n";
}

// `bench`: its file, or its name where the file may lie elsewhere the next time.
std::string Again(const Options& options, const std::string& bench) {
  std::string words = fmt::format("drycrank walk {}{} --seed {}", bench,
                                  OptionsInWords(options.stage), options.seed);
  for (const std::string& fault : options.faults) words += fmt::format(" --fault \"{}\"", fault);
  return words;
}

// A walk by what the controller was told proves nothing of a file that disagrees with itself.
std::vector<std::string> ToldWrong(const profile::Bench& bench) {
  const std::size_t count = proofread::CompareTold(bench).disagreements.size();
  if (count == 0) return {};
  return {fmt::format("built and told disagree in {}: drycrank proofread {} names them",
                      count == 1 ? "one place" : fmt::format("{} places", count), bench.file)};
}

bool HasRealController(const StageOptions& stage) {
  return std::ranges::count(stage.real, "controller") > 0;
}

bool Asks(const Options& options) {
  return options.ask || (HasRealController(options.stage) && isatty(STDIN_FILENO) == 1);
}

// The command that takes this walk up again; empty: it is kept nowhere.
std::string GoOn(const Options& options) {
  if (options.stage.out.empty()) return "";
  return fmt::format("{} --out {} --resume{}{}", Again(options, options.bench), options.stage.out,
                     options.ask ? " --ask" : "", options.meter.empty() ? "" : " --meter " + options.meter);
}

std::vector<std::string> Inputs(const Options& options, const profile::LoadedBench& loaded) {
  std::vector<std::string> files = loaded.files;
  files.insert(files.end(), options.captures.begin(), options.captures.end());
  if (!options.answers.empty()) files.push_back(options.answers);
  return files;
}

// Answers from a file go into the book too, unless they are there.
std::string Prepare(const Options& options, const profile::LoadedBench& loaded,
                    std::vector<study::Seen>& seen, AnswerBook& book) {
  profile::LoadedAnswers given;
  if (!options.answers.empty()) given = profile::LoadAnswers(*loaded.bench, options.answers);
  bool wrong = PrintProblems(given.problems);
  for (const std::string& path : options.captures) {
    const study::Capture capture = study::ReadCapture(*loaded.bench, path);
    wrong = PrintProblems(capture.problems) || wrong;
    seen.insert(seen.end(), capture.seen.begin(), capture.seen.end());
  }
  if (wrong) return "nothing was driven";
  const AnswerBook::Head head{loaded.bench->name, study::HashOfFiles(loaded.files),
                              Again(options, loaded.bench->name)};
  std::string problem = book.Open(options.stage.out, head, options.resume, options.stage.overwrite);
  for (const profile::GivenAnswer& answer : given.answers) {
    if (problem.empty() && !book.About(answer.about)) problem = book.Add(answer);
  }
  return problem;
}

int Walk(Options options) {
  io::BenchMeter meter;
  if (!options.meter.empty()) {
    if (!Asks(options)) return Fail("--meter is read where --ask asks: give both");
    if (const std::string why = meter.SetAddress(options.meter); !why.empty()) return Fail("--meter " + why);
  }
  const profile::LoadedBench loaded = profile::LoadBench(options.bench);
  if (PrintProblems(loaded.problems)) return kBadInput;
  const profile::Bench& bench = *loaded.bench;
  if (const std::string why = WhyNotPlaced(options.stage, Inputs(options, loaded)); !why.empty()) {
    return Fail(why);
  }
  if (!bench.controller) return Fail(options.bench + " has no controller to walk through");
  const bool real_controller = HasRealController(options.stage);
  if (options.stage.outputs && !real_controller) {
    return Fail("--outputs needs --real controller: a stand-in sees nothing of what is driven");
  }
  const bool driven = options.stage.outputs && !options.stage.disarmed;
  const walk::Walk walk = walk::MakeWalk(
      bench, real_controller ? walk::ReachOfReal(bench, driven) : walk::Reach{});
  profile::Scenario scenario = walk.scenario;
  if (!AddFaults(options, bench, scenario)) return kBadInput;
  std::vector<study::Seen> seen;
  AnswerBook book;
  if (const std::string problem = Prepare(options, loaded, seen, book); !problem.empty()) {
    return Fail(problem);
  }
  if (book.taken_up() > 0) {
    fmt::print("Taken up again: {} kept.\n", report::Counted(book.taken_up(), "answer"));
  }

  AskForSheet(options.stage);
  Play play{"drycrank walk", bench, scenario, options.seed, Again(options, options.bench),
            loaded.files};
  play.is_walk = true;
  play.notes = ToldWrong(bench);
  play.take_up = book.resumes();
  play.folder = options.stage.out.empty() ? nullptr : &book.owner();
  play.afterwards = [&](report::Report& report, const PlayMore& more) {
    if (const std::string problem = book.Begin(); !problem.empty()) return problem;
    std::string cut_short;
    const bool real = HasRealController(options.stage);
    const bool asks = Asks(options) && !report.stopped;
    std::optional<WalkMeter> reads;
    if (asks && !options.meter.empty()) {
      reads.emplace(meter, options.stage.arming.by, Columns());
      reads->Reach();
    }
    Asking asking{bench, walk, book, real, "", reads ? &*reads : nullptr};
    if (asks) {
      asking.go_on = GoOn(options);
      cut_short = Ask(asking, more);
    }
    const auto ring_out = [&](const std::vector<check::CircuitCoverage>& coverage) {
      return RingOut(asking, coverage, cut_short);
    };
    study::AddAnswers(walk, book.answers(), seen, scenario, report,
                      reads && cut_short.empty() ? study::AskWhatIsLeft(ring_out) : nullptr);
    const LoadedSignatures kept = LoadSignatures(options.stage.out);
    SignOver(kept.signatures, report.coverage);
    return cut_short.empty() ? kept.problem : cut_short;
  };
  const int exit_code = PlayOnStage(options.stage, play);
  if (exit_code == kExpectationFailed && !options.stage.out.empty()) {
    fmt::print("Which fault explains this: drycrank diagnose {}\n", options.stage.out);
  } else if (exit_code == kAllMet && !options.stage.out.empty()) {
    fmt::print("Small faults that fail nothing yet: drycrank diagnose {}\n", options.stage.out);
  }
  return exit_code;
}

}  // namespace

void AddWalk(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("walk", "Drive each circuit of a bench in turn, and say which are proven");
  command->add_option("bench", options->bench, "Bench file (YAML)")->required()->type_name("BENCH");
  AddStageOptions(*command, options->stage);
  AddOutputOptions(*command, options->stage);
  command
      ->add_option("--fault", options->faults,
                   "A fault put in on purpose, as in a scenario: \"{kind: open, at: CLT.1}\"; the "
                   "kinds are below")
      ->type_name("YAML");
  command->add_option("--seed", options->seed, "Seed of the noise")->check(IsSeed());
  command->add_flag("--ask", options->ask,
                    "Ask here about outputs that only a person can see or hear (a real controller: "
                    "always asked)");
  command
      ->add_option("--answers", options->answers,
                   "Answers instead of questions: 'fuel_pump: yes' (YAML), or CSV")
      ->type_name("FILE");
  command
      ->add_option("--capture", options->captures,
                   "What a logic analyser or oscilloscope recorded of outputs (CSV, WAV, VCD, .sr)")
      ->type_name("FILE");
  command
      ->add_option("--meter", options->meter,
                   "Read this meter (SCPI on TCP) for what ohms show: terminations, and circuits that nothing else shows")
      ->type_name("HOST:PORT");
  command->add_flag(
      "--resume", options->resume,
      "Go on with the walk in --out: no answer is lost, none is asked twice; what was "
      "skipped is offered again");
  command->footer(
      FaultKinds() +
      "With a real controller this fires coils, opens injectors, runs pumps and fans and moves "
      "the\n"
      "throttle plate: read hw-notes/cautions.md, then hw-notes/walk.md.\n\n"
      "Examples:\n"
      "  drycrank walk profiles/benches/kart.yaml --out out/walk --ask\n"
      "  drycrank walk profiles/benches/kart.yaml --out out/walk --ask --resume\n"
      "  drycrank walk profiles/benches/kart.yaml --answers answers.yaml\n"
      "  drycrank walk profiles/benches/buggy.yaml --out out/walk --ask --meter 192.168.1.30:5025\n"
      "  drycrank walk profiles/benches/kart.yaml --real-time --bus dash=socketcan:can0 \\\n"
      "      --real controller --real display --arm can0 --by NAME --out out/kart\n"
      "  drycrank walk BENCH --real-time --outputs --bus dash=socketcan:can0 --real controller \\\n"
      "      --arm can0,ohms --by NAME\n"
      "  drycrank walk profiles/benches/hill_climb.yaml --fault \"{kind: open, at: CLT.1}\" "
      "--out out/practice\n"
      "  drycrank diagnose out/practice");
  command->callback([options, &exit_code] { exit_code = Walk(*options); });
}

}  // namespace drycrank::tools
