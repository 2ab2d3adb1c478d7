// SPDX-License-Identifier: Apache-2.0
#include "tools/walk_questions.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <optional>

#include "profile/bus_nodes.h"
#include "report/text.h"
#include "study/meter_tasks.h"
#include "tools/stop_signals.h"
#include "tools/walk_meter.h"
#include "types/nth.h"
#include "types/unit.h"
#include "walk/outputs.h"

namespace drycrank::tools {
namespace {

using profile::Answer;

constexpr double kDriveS = 4;

void Say(const std::string& text) {
  fmt::print("{}", text);
  std::fflush(stdout);
}

bool IsQuit(const std::string& line) { return line == "q" || line == "Q" || line == "quit"; }

class Asker {
 public:
  Asker(const Asking& asking, const PlayMore& play) : asking_(asking), play_(play) {}

  std::string AskAll() {
    std::vector<const walk::WalkQuestion*> questions;
    for (const walk::WalkQuestion& question : asking_.walk.questions) {
      const bool of_bus = question.output < 0;
      if (of_bus || OutputOf(question).witness == profile::OutputWitness::kOperator) {
        questions.push_back(&question);
      }
    }
    for (std::size_t i = 0; i < questions.size(); ++i) {
      if (asking_.book.About(questions[i]->name)) continue;
      std::string problem;
      if (!AskOne(*questions[i], fmt::format("{} of {}", i + 1, questions.size()), problem)) {
        return problem.empty() ? CutShort() : problem;
      }
    }
    return AskSkipped(questions);
  }

  // REQUIRES: there is a meter.
  std::vector<profile::GivenAnswer> RingOut(const std::vector<check::CircuitCoverage>& coverage,
                                            std::string& cut_short) {
    const std::vector<study::MeterTask> tasks = study::RingOuts(asking_.bench, coverage);
    std::vector<profile::GivenAnswer> given;
    for (std::size_t i = 0; i < tasks.size(); ++i) {
      Say(fmt::format("\n{} of {}: {}\n", i + 1, tasks.size(), tasks[i].title));
      ShowWires(tasks[i].circuits);
      const std::optional<profile::GivenAnswer> answer = asking_.meter->Ask(tasks[i]);
      if (answer && Keep(*answer, cut_short)) {
        given.push_back(*answer);
        continue;
      }
      if (cut_short.empty()) cut_short = CutShort();
      break;
    }
    return given;
  }

 private:
  // Whoever does not want to answer now either leaves it by "s", or all of them by "q": nothing is
  // cut short by that.
  std::string AskSkipped(const std::vector<const walk::WalkQuestion*>& questions) {
    std::vector<const walk::WalkQuestion*> skipped;
    for (const walk::WalkQuestion* question : questions) {
      if (asking_.book.About(question->name) == Answer::kSkip) {
        skipped.push_back(question);
      }
    }
    if (skipped.empty()) return "";
    Say(fmt::format("\n{} skipped. Once more: s leaves one skipped, q all that are left.\n",
                    skipped.size() == 1 ? "1 was" : fmt::format("{} were", skipped.size())));
    for (std::size_t i = 0; i < skipped.size(); ++i) {
      std::string problem;
      const std::string head = fmt::format("skipped {} of {}", i + 1, skipped.size());
      if (!AskOne(*skipped[i], head, problem)) return problem;
    }
    return "";
  }

  // False: no answer was given, or it could not be kept (`problem`).
  bool AskOne(const walk::WalkQuestion& question, const std::string& head, std::string& problem) {
    Say(fmt::format("\n{}: {}\n", head, question.title));
    Introduce(question);
    const std::optional<profile::GivenAnswer> given = GivenTo(question);
    return given && Keep(*given, problem);
  }

  std::optional<profile::GivenAnswer> GivenTo(const walk::WalkQuestion& question) const {
    const auto task = asking_.meter != nullptr ? study::PairTask(asking_.bench, question) : std::nullopt;
    if (task) return asking_.meter->Ask(*task);
    const std::optional<Answer> answer = AnswerTo(question);
    if (!answer) return std::nullopt;
    return profile::GivenAnswer{question.name, *answer, {}};
  }

  bool Keep(const profile::GivenAnswer& given, std::string& problem) const {
    problem = asking_.book.Add(given);
    if (!problem.empty()) return false;
    Say(fmt::format("   kept: {}: {}\n", given.about, profile::Name(given.answer)));
    return true;
  }

  const profile::ControllerOutput& OutputOf(const walk::WalkQuestion& question) const {
    return Nth(asking_.bench.controller->outputs, question.output);
  }

  void ShowWires(const std::vector<std::string>& circuits) const {
    for (const profile::Wire& wire : asking_.bench.wires) {
      for (const std::string& circuit : circuits) {
        if (wire.circuit != circuit) continue;
        Say(fmt::format("   wire {}: {} to {}{}{}\n", circuit, wire.from, wire.to,
                        wire.colour.empty() ? "" : ", ", wire.colour));
      }
    }
  }

  void Introduce(const walk::WalkQuestion& question) const {
    ShowWires(question.circuits);
    if (question.output < 0) return;
    if (!asking_.drives) {
      Say("   Nothing real is driven here. Answer for what the controller's own test of its "
          "outputs "
          "did\n   just now; else skip.\n");
    }
    std::string head = "   CAUTION: ";
    for (const std::string& line : report::Wrap(question.caution, 86)) {
      Say(head + line + "\n");
      head = "            ";
    }
  }

  std::string DriveInWords(const profile::ControllerOutput& output) const {
    std::string words;
    for (const auto& [stimulus, value] : output.driven_by) {
      const profile::Stimulus& s = Nth(asking_.bench.stimuli, stimulus);
      words += fmt::format("{}{} {}", words.empty() ? "" : ", ", s.name,
                           WithUnit(fmt::format("{:g}", value), s.unit));
    }
    return words;
  }

  // False: stopped.
  bool Drive(const profile::ControllerOutput& output) const {
    return play_(walk::DriveOf(asking_.bench, output, kDriveS));
  }

  std::optional<Answer> AnswerTo(const walk::WalkQuestion& question) const {
    const bool drives =
        asking_.drives && question.output >= 0 && !OutputOf(question).driven_by.empty();
    if (drives) {
      Say(
          fmt::format("   Enter sends {} for {:g} s, where messages carry it; no sensor wire is "
                      "driven: else use\n"
                      "   the controller's own test of its outputs. s skips, q quits: ",
                      DriveInWords(OutputOf(question)), kDriveS));
      const auto line = TypedLine();
      if (!line || IsQuit(*line)) return std::nullopt;
      if (*line == "s" || *line == "skip") return Answer::kSkip;
      if (!Drive(OutputOf(question))) return std::nullopt;
    }
    for (;;) {
      Say(fmt::format("   {} [y/{}/s(kip)/f (not fitted)/{}q(uit)] ", question.text,
                      question.name == profile::kDisplayQuestion ? "dark/dashes/n" : "n",
                      drives ? "r(epeat)/" : ""));
      const auto line = TypedLine();
      if (!line || IsQuit(*line)) return std::nullopt;
      const auto answer = profile::ParseAnswer(*line);
      if (answer && profile::Fits(question.name, *answer)) return answer;
      if (!drives || (*line != "r" && *line != "repeat")) continue;
      if (!Drive(OutputOf(question))) return std::nullopt;
    }
  }

  std::string CutShort() const {
    Say("\n");
    const std::size_t kept = asking_.book.answers().size();
    return fmt::format("stopped before the end; {}{}", report::Counted(kept, "answer"),
                       asking_.go_on.empty() ? " of this run only (give --out to keep them)"
                                             : " kept. Go on with: " + asking_.go_on);
  }

  const Asking& asking_;
  const PlayMore& play_;
};

}  // namespace

void AskForSheet(StageOptions& options) {
  if (options.real.empty() || isatty(STDIN_FILENO) == 0) return;
  const auto is_real = [&](const char* part) { return std::ranges::count(options.real, part) > 0; };
  const auto ask = [](const char* what, std::string& text) {
    if (!text.empty()) return;
    Say(fmt::format("{} (Enter: leave it blank): ", what));
    text = TypedLine().value_or("");
  };
  Say("For the sheet to sign:\n");
  ask("Serial number of the harness", options.serial);
  ask("Its revision", options.revision);
  if (is_real("controller")) ask("Firmware of the controller", options.controller_firmware);
  if (is_real("display")) ask("Firmware of the display", options.display_firmware);
}

std::string Ask(const Asking& asking, const PlayMore& play) { return Asker(asking, play).AskAll(); }

std::vector<profile::GivenAnswer> RingOut(const Asking& asking,
                                          const std::vector<check::CircuitCoverage>& coverage,
                                          std::string& cut_short) {
  const PlayMore plays_nothing;
  return Asker(asking, plays_nothing).RingOut(coverage, cut_short);
}

}  // namespace drycrank::tools
