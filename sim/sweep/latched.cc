// SPDX-License-Identifier: Apache-2.0
#include "sweep/latched.h"

#include <map>
#include <optional>
#include <string>

#include "sweep/alike.h"
#include "sweep/person.h"
#include "sweep/which_setting.h"
#include "types/unit.h"

namespace drycrank::sweep {
namespace {

// What is due at the question: step and input alone.
ShownFact AskedOf(const profile::Bench& bench, const Question& question,
                  const profile::Readout& readout) {
  const auto at = profile::FindSignal(bench, readout.message + "." + readout.signal);
  const auto sent = SentIn(bench, question, readout);
  ShownFact asked{readout.name, sent ? Step::kUp : Step::kGoneAfter, {}, {}};
  if (sent) asked.input = Convert(*sent, SignalAt(bench, at).unit, readout.unit).value_or(*sent);
  return asked;
}

}  // namespace

std::vector<GoneOut> LampsGoneOut(const profile::Bench& bench, const WhatItShowed& showed) {
  const std::string& witness = showed.by.witness;
  if (!witness.starts_with(kByPerson) && !witness.starts_with(kByPictures)) return {};
  std::map<std::pair<std::string, std::string>, std::vector<const ShownFact*>> places;
  for (const ShownFact& f : showed.facts) places[{f.readout, KeyOf(f)}].push_back(&f);
  std::map<std::string, const ShownFact*> lit;
  std::map<std::string, GoneOut> gone;
  const std::vector<profile::Readout> readouts = RequiredReadouts(bench);
  for (const Question& question : QuestionsOf(readouts)) {
    for (const profile::Readout* readout : question.readouts) {
      auto& facts = places[{readout->name, KeyOf(AskedOf(bench, question, *readout))}];
      if (!readout->lamp_latches || facts.empty()) continue;
      const ShownFact* fact = facts.front();
      facts.erase(facts.begin());
      const auto before = lit.find(readout->name);
      const std::string& lamp = fact->shown.lamp;
      if (!lamp.empty() && lamp != kLampUnseen) lit.try_emplace(readout->name, fact);
      if (!lamp.empty() || before == lit.end()) continue;
      gone.try_emplace(readout->name, *before->second, *fact);
    }
  }
  std::vector<GoneOut> all;
  for (const auto& [name, out] : gone) all.push_back(out);
  return all;
}

}  // namespace drycrank::sweep
