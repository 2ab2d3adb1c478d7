// SPDX-License-Identifier: Apache-2.0
#include "study/walk_answers.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <map>

#include "check/coverage.h"
#include "profile/bus_nodes.h"
#include "study/bus_seen.h"
#include "study/circuits_shown.h"
#include "study/loads.h"
#include "study/meter_tasks.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using check::Gap;
using profile::Answer;

constexpr const char* kOperator = "as the operator says";

std::string WordsOf(const profile::GivenAnswer& given) {
  if (given.readings.empty()) return fmt::format("the operator says {}", profile::Name(given.answer));
  std::string words;
  for (const profile::MeterReading& reading : given.readings) {
    words += (words.empty() ? "measured: " : "; ") + InWords(reading);
  }
  return words;
}

class Adder {
 public:
  Adder(const walk::Walk& walk, profile::Scenario& scenario, report::Report& report)
      : walk_(walk), scenario_(scenario), report_(report) {
    for (const walk::NotProvable& c : walk.not_provable)
      reasons_[c.circuit] = {Gap::kNeedsMeter, c.why};
    for (const walk::NotProvable& c : walk.not_fitted)
      reasons_[c.circuit] = {Gap::kNotFitted, c.why};
    for (const walk::WalkQuestion& question : walk.questions) {
      for (const std::string& circuit : question.circuits) {
        reasons_.insert({circuit, {Gap::kNotAsked, WhatIsMissing(question)}});
      }
    }
  }

  // What the bus shows: before any answer, so that a person is heard where it says nothing.
  void Weigh() {
    report_.coverage =
        EvidenceOf({*report_.bench, scenario_, report_.verdicts, report_.steps,
                    report_.controller_real, /*faults_known=*/false, reasons_, report_.quiet,
                    walk_.reach.circuits});
  }

  void Answers(const std::vector<profile::GivenAnswer>& answers) {
    for (const profile::GivenAnswer& given : answers) {
      const walk::WalkQuestion* question = QuestionAbout(given.about);
      if (given.answer == Answer::kSkip) continue;
      const std::vector<std::string> circuits =
          question ? question->circuits : std::vector<std::string>{given.about};
      const bool yes = given.answer == Answer::kYes;
      const std::string says = WordsOf(given);
      if (given.answer == Answer::kNotFitted) {
        for (const std::string& circuit : circuits) SetOnPaper(circuit);
      } else if (question != nullptr && question->output < 0) {
        OfBus(*question, given.answer, says);
      } else if (question != nullptr && yes &&
                 OutputOf(*question).witness == profile::OutputWitness::kCapture) {
        report_.notes.push_back(
            fmt::format("answer for {} not used: a capture shows it (--capture)", given.about));
      } else if (question != nullptr) {
        Witness(*question, yes, says);
      } else if (question == nullptr && Find(given.about) == nullptr) {
        report_.notes.push_back(fmt::format(
            "answer for {} not used: the bus shows it, or it is on paper only", given.about));
      } else if (IsShown(given.about)) {
        report_.notes.push_back(
            fmt::format("answer for {} not used: the bus judges it", given.about));
      } else {
        Append("circuit_" + given.about, "Is this circuit whole?", circuits,
               given.readings.empty()
                   ? fmt::format("The operator finds circuit {} not whole.", given.about)
                   : fmt::format("Circuit {} is open, or has too many ohms: look at its contacts.", given.about),
               yes, says);
        Speak(circuits, yes);
      }
    }
  }

  void Captures(const std::vector<Seen>& seen) {
    for (const Seen& s : seen) {
      for (const walk::WalkQuestion& question : walk_.questions) {
        if (question.output >= 0 && question.output == s.output) Witness(question, s.acts, "the capture shows " + s.detail);
      }
    }
  }

  // Of each pair that nobody has measured: what the meter should show.
  void NotMeasured(const std::vector<profile::GivenAnswer>& answers) {
    for (const walk::WalkQuestion& question : walk_.questions) {
      if (question.output >= 0 || question.name == profile::kDisplayQuestion) continue;
      const bool answered =
          std::ranges::any_of(answers, [&](const profile::GivenAnswer& given) {
            return given.about == question.name && given.answer != Answer::kSkip;
          });
      if (answered) continue;
      report_.notes.push_back(
          fmt::format("nobody was asked: {} ({})", question.text, question.means));
    }
  }

 private:
  std::string WhatIsMissing(const walk::WalkQuestion& question) const {
    if (question.output < 0 ||
        OutputOf(question).witness != profile::OutputWitness::kCapture) {
      return "nobody was asked: " + question.text;
    }
    const profile::ControllerOutput& output = OutputOf(question);
    return fmt::format("no capture of {} was given (--capture)", output.terminal);
  }

  check::CircuitCoverage* Find(const std::string& circuit) {
    const auto at = std::ranges::find(report_.coverage, circuit, &check::CircuitCoverage::circuit);
    return at == report_.coverage.end() ? nullptr : &*at;
  }

  bool IsShown(const std::string& circuit) {
    const check::CircuitCoverage* c = Find(circuit);
    return c != nullptr && c->state != check::CircuitState::kNotShown;
  }

  void SetOnPaper(const std::string& circuit) {
    check::CircuitCoverage* c = Find(circuit);
    if (c == nullptr || c->state != check::CircuitState::kNotShown) return;
    c->gap = Gap::kNotFitted;
    c->why = kOperator;
  }

  // The last expectation speaks for these circuits, or against those that nothing has proven.
  void Speak(const std::vector<std::string>& circuits, bool met) {
    const check::CircuitWord word{static_cast<int>(scenario_.expectations.size()) - 1,
                                  "",
                                  0,
                                  "",
                                  std::numeric_limits<double>::quiet_NaN(),
                                  ""};
    for (const std::string& circuit : circuits) {
      check::CircuitCoverage* c = Find(circuit);
      if (c == nullptr) continue;
      c->concerned.push_back(word.expectation);
      const bool proven = c->state == check::CircuitState::kProven;
      if (c->state == check::CircuitState::kFailed || (proven && !met)) continue;
      c->state = met ? check::CircuitState::kProven : check::CircuitState::kFailed;
      c->gap = Gap::kNone;
      (met ? c->proofs : c->against).push_back(word);
    }
  }

  const profile::ControllerOutput& OutputOf(const walk::WalkQuestion& question) const {
    return Nth(report_.bench->controller->outputs, question.output);
  }

  const walk::WalkQuestion* QuestionAbout(const std::string& name) const {
    for (const walk::WalkQuestion& question : walk_.questions) {
      if (question.name == name) return &question;
    }
    return nullptr;
  }

  void Witness(const walk::WalkQuestion& question, bool acts, const std::string& detail) {
    const profile::ControllerOutput& output = OutputOf(question);
    Append(
        "output_" + output.name, question.text, question.circuits,
        fmt::format("{}: the controller's output {} does not make it act. Look at its wires, its "
                    "fuse and relay, then at the load itself.",
                    output.label, output.terminal),
        acts, detail);
    // What it acts without is neither proven by a yes nor to blame for a no.
    const std::vector<std::string> needed =
        CircuitsNeededBy(*report_.bench, output, question.circuits);
    Speak(acts || !needed.empty() ? needed : question.circuits, acts);
  }

  // About a bus: what a person sees of its display, or measures across its pair.
  void OfBus(const walk::WalkQuestion& question, Answer answer, const std::string& says) {
    const bool yes = answer == Answer::kYes;
    Append(question.name, question.text, question.circuits, question.means, yes, says);
    if (question.name == profile::kDisplayQuestion) {
      if (yes || HeardAnything()) Speak(ShownByLook(*report_.bench, question.circuits, answer), yes);
    } else if (yes) {
      Speak(ShownByOhms(*report_.bench, question), true);
    }
  }

  // Dashes are no word against the display's wires while nobody hears the controller.
  bool HeardAnything() const {
    return std::ranges::any_of(report_.verdicts, [&](const check::Verdict& verdict) {
      const profile::Expectation& e = Nth(scenario_.expectations, verdict.expectation);
      return verdict.judged > 0 && profile::NeedsOf(e.kind) == profile::Needs::kFrames;
    });
  }

  void Append(const std::string& name, const std::string& question,
              const std::vector<std::string>& circuits, const std::string& means, bool met,
              const std::string& detail) {
    profile::Expectation e;
    e.name = name;
    e.kind = profile::expect::Witnessed{question};
    e.means = means;
    e.proves = circuits;
    check::Verdict verdict;
    verdict.expectation = static_cast<int>(scenario_.expectations.size());
    verdict.outcome = met ? check::Outcome::kMet : check::Outcome::kFailed;
    verdict.margin = std::numeric_limits<double>::quiet_NaN();
    verdict.judged = 1;
    verdict.detail = detail;
    scenario_.expectations.push_back(std::move(e));
    report_.verdicts.push_back(std::move(verdict));
  }

  const walk::Walk& walk_;
  profile::Scenario& scenario_;
  report::Report& report_;
  std::map<std::string, std::pair<Gap, std::string>> reasons_;  // why a circuit is not shown
};

}  // namespace

void AddAnswers(const walk::Walk& walk, const std::vector<profile::GivenAnswer>& answers,
                const std::vector<Seen>& seen, profile::Scenario& scenario,
                report::Report& report, const AskWhatIsLeft& ask_what_is_left) {
  Adder adder(walk, scenario, report);
  adder.Weigh();
  adder.Answers(answers);
  adder.Captures(seen);
  if (ask_what_is_left) adder.Answers(ask_what_is_left(report.coverage));
  adder.NotMeasured(answers);
}

}  // namespace drycrank::study
