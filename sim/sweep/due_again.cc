// SPDX-License-Identifier: Apache-2.0
#include "sweep/due_again.h"

#include <algorithm>
#include <utility>

#include "sweep/alike.h"
#include "sweep/person.h"
#include "sweep/person_manner.h"

namespace drycrank::sweep {
namespace {

// All questions, answered with anything that tells unit, value and lamp: what is due stands beside.
std::vector<ShownFact> DueAtAll(const profile::Bench& bench) {
  const std::vector<profile::Readout> readouts = RequiredReadouts(bench);
  std::vector<Question> questions = QuestionsOf(readouts);
  for (Question& question : MannerQuestionsOf(bench, readouts)) {
    questions.push_back(std::move(question));
  }
  std::vector<Reading> all;
  for (const Question& question : questions) {
    for (const profile::Readout* r : question.readouts) {
      const std::string text = r->unit.empty() ? "1" : "1 " + r->unit;
      const char* lamp = WarnsWithoutLamp(*r) ? "quiet" : "";
      all.push_back({question.question, question.page, r->name, text, lamp, {}});
    }
  }
  return TakeReadings(bench, all).required;
}

ShownFact AsToldBy(const ShownFact& fact, ShownFact due) {
  if (fact.shown.unit.empty()) due.shown.unit.clear();
  if (fact.shown.lamp.empty() && !HasValue(due.shown)) due.shown.lamp.clear();
  if (fact.shown.state.empty() && !IsTimed(due.step)) {
    due.shown.state.clear();
    due.shown.lamp = fact.shown.lamp.empty() ? "" : due.shown.lamp;
  }
  return due;
}

}  // namespace

std::vector<ShownFact> DueAgain(const profile::Bench& bench, const std::vector<ShownFact>& facts) {
  const std::vector<ShownFact> all = DueAtAll(bench);
  std::vector<ShownFact> due;
  for (const ShownFact& fact : facts) {
    std::vector<ShownFact> could;  // more than one where two questions send the same
    for (const ShownFact& d : all) {
      const bool is_it = d.readout == fact.readout && KeyOf(d) == KeyOf(fact);
      if (is_it) could.push_back(AsToldBy(fact, d));
    }
    if (could.empty()) continue;
    const auto same = std::ranges::find(could, fact);
    due.push_back(same == could.end() ? could.front() : *same);
  }
  Sort(due);
  return due;
}

}  // namespace drycrank::sweep
