// SPDX-License-Identifier: Apache-2.0
#include "sweep/lamps_asked.h"

#include <vector>

#include "sweep/person.h"
#include "sweep/standin_screen.h"
#include "sweep/sweep.h"
#include "types/nth.h"

namespace drycrank::sweep {

LampsLit LampsLitAt(const profile::Bench& bench) {
  LampsLit lit;
  const profile::Bench required = AsRequired(bench);
  const std::vector<profile::Readout> readouts = RequiredReadouts(bench);
  StandinScreen screen(required);
  for (const Question& question : QuestionsOf(readouts)) {
    SendQuestion(bench, question, screen);
    const std::vector<Shown> shown = screen.LookAtAll();
    std::set<std::string>& names = lit[{question.page, question.question}];
    for (const profile::Readout* readout : question.readouts) {
      const int gauge = profile::IndexOf(required.display->gauges, readout->name);
      if (readout->lamp_blinks_hz > 0 || Nth(shown, gauge).lamp.empty()) continue;
      names.insert(readout->name);
    }
  }
  return lit;
}

std::optional<int> DarkQuestion(const LampsLit& lit, int page) {
  std::optional<int> dark;
  for (const auto& [asked, names] : lit) {  // ascending
    if (asked.page == page && names.empty()) dark = asked.question;
  }
  return dark;
}

}  // namespace drycrank::sweep
