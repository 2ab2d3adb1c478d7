// SPDX-License-Identifier: Apache-2.0
#include "study/walk_answers.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <map>

#include "check/judge.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using profile::Answer;

class Adder {
 public:
  Adder(const walk::Walk& walk, profile::Scenario& scenario, report::Report& report)
      : walk_(walk), scenario_(scenario), report_(report) {}

  void Answers(const std::vector<profile::GivenAnswer>& answers) {
    for (const profile::GivenAnswer& given : answers) {
      const walk::WalkQuestion* question = QuestionAbout(given.about);
      if (given.answer == Answer::kSkip) continue;
      const std::vector<std::string> circuits =
          question ? question->circuits : std::vector<std::string>{given.about};
      if (given.answer == Answer::kNotFitted) {
        for (const std::string& circuit : circuits) {
          why_[circuit] = {check::Gap::kNotFitted, "as the operator says"};
        }
      } else if (question != nullptr) {
        Witness(*question, given.answer == Answer::kYes,
                fmt::format("the operator says {}", profile::Name(given.answer)));
      } else if (IsJudged(given.about)) {
        report_.notes.push_back(
            fmt::format("answer for {} not used: the bus judges it", given.about));
      } else {
        Append("circuit_" + given.about, "Is this circuit whole?", circuits,
               fmt::format("The operator finds circuit {} not whole.", given.about),
               given.answer == Answer::kYes,
               fmt::format("the operator says {}", profile::Name(given.answer)));
      }
    }
  }

  void Captures(const std::vector<Seen>& seen) {
    for (const Seen& s : seen) {
      for (const walk::WalkQuestion& question : walk_.questions) {
        if (question.output == s.output) Witness(question, s.acts, "the capture shows " + s.detail);
      }
    }
  }

  void Coverage() {
    for (const walk::NotProvable& c : walk_.not_provable) {
      why_.insert({c.circuit, {check::Gap::kNotProvable, c.why}});
    }
    for (const walk::NotProvable& c : walk_.not_fitted) {
      why_.insert({c.circuit, {check::Gap::kNotFitted, c.why}});
    }
    for (const walk::WalkQuestion& question : walk_.questions) {
      const profile::ControllerOutput& output = OutputOf(question);
      const std::string why =
          output.witness == profile::OutputWitness::kCapture
              ? fmt::format("no capture of {} was given (--capture)", output.terminal)
              : question.text;
      for (const std::string& circuit : question.circuits) {
        why_.insert({circuit, {check::Gap::kNotAsked, why}});
      }
    }
    report_.coverage = check::CoverageOf(*report_.bench, scenario_, report_.verdicts);
    for (check::CircuitCoverage& circuit : report_.coverage) {
      const auto why = why_.find(circuit.circuit);
      if (!circuit.by.empty() || why == why_.end()) continue;
      circuit.gap = why->second.gap;
      circuit.why = why->second.why;
    }
  }

 private:
  struct Reason {
    check::Gap gap;
    std::string why;
  };

  const profile::ControllerOutput& OutputOf(const walk::WalkQuestion& question) const {
    return Nth(report_.bench->controller->outputs, question.output);
  }

  const walk::WalkQuestion* QuestionAbout(const std::string& name) const {
    for (const walk::WalkQuestion& question : walk_.questions) {
      if (OutputOf(question).name == name) return &question;
    }
    return nullptr;
  }

  bool IsJudged(const std::string& circuit) const {
    return std::ranges::any_of(walk_.scenario.expectations, [&](const auto& e) {
      return std::ranges::count(e.proves, circuit) > 0;
    });
  }

  void Witness(const walk::WalkQuestion& question, bool acts, const std::string& detail) {
    const profile::ControllerOutput& output = OutputOf(question);
    Append(
        "output_" + output.name, question.text, question.circuits,
        fmt::format("{}: the controller's output {} does not make it act. Look at its wires, its "
                    "fuse and relay, then at the load itself.",
                    output.label, output.terminal),
        acts, detail);
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
  std::map<std::string, Reason> why_;
};

}  // namespace

void AddAnswers(const walk::Walk& walk, const std::vector<profile::GivenAnswer>& answers,
                const std::vector<Seen>& seen, profile::Scenario& scenario,
                report::Report& report) {
  Adder adder(walk, scenario, report);
  adder.Answers(answers);
  adder.Captures(seen);
  adder.Coverage();
}

}  // namespace drycrank::study
