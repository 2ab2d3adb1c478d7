// SPDX-License-Identifier: Apache-2.0
#include "sweep/due_again.h"

#include <map>
#include <set>
#include <string>
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

ShownFact AsToldBy(const ShownFact& fact, ShownFact due, bool latches) {
  const std::string& lamp = fact.shown.lamp;
  if (fact.shown.unit.empty()) due.shown.unit.clear();
  if (lamp.empty() && !HasValue(due.shown) && !latches) due.shown.lamp.clear();
  if (fact.shown.state.empty() && !IsTimed(due.step)) {
    due.shown.state.clear();
    if (lamp.empty() && !latches) due.shown.lamp.clear();
  }
  if (lamp == kLampUnseen) due.shown.lamp = lamp;
  return due;
}

using Place = std::pair<std::string, std::string>;
Place PlaceOf(const ShownFact& fact) { return {fact.readout, KeyOf(fact)}; }

}  // namespace

// Of several questions that send the same, each fact is of one behind that of the fact before it.
std::vector<ShownFact> DueAgain(const profile::Bench& bench, const std::vector<ShownFact>& facts) {
  std::map<Place, std::vector<ShownFact>> could;
  for (ShownFact& due : DueAtAll(bench)) could[PlaceOf(due)].push_back(std::move(due));
  std::map<Place, std::size_t> left, taken;
  for (const ShownFact& fact : facts) ++left[PlaceOf(fact)];
  std::set<std::string> latching;
  for (const profile::Readout& r : RequiredReadouts(bench)) {
    if (r.lamp_latches) latching.insert(r.name);
  }
  std::vector<ShownFact> due;
  for (const ShownFact& fact : facts) {
    const std::vector<ShownFact>& all = could[PlaceOf(fact)];
    std::size_t& at = taken[PlaceOf(fact)];
    const std::size_t behind = --left[PlaceOf(fact)];
    const auto told = [&](std::size_t i) {
      return AsToldBy(fact, all[i], latching.contains(fact.readout));
    };
    if (at >= all.size()) continue;
    std::size_t is = at;
    while (is + behind < all.size() && told(is) != fact) ++is;
    if (is + behind >= all.size()) is = at;
    due.push_back(told(is));
    at = is + 1;
  }
  Sort(due);
  return due;
}

}  // namespace drycrank::sweep
