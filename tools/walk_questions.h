// SPDX-License-Identifier: Apache-2.0
//
// The operator's part of a walk: for each output that no message shows, the caution, the drive when
// a real controller is there, the question, and the answer kept before the next one.
#ifndef DRYCRANK_TOOLS_WALK_QUESTIONS_H_
#define DRYCRANK_TOOLS_WALK_QUESTIONS_H_

#include <string>
#include <vector>

#include "check/coverage.h"
#include "profile/bench.h"
#include "tools/answer_book.h"
#include "tools/stage.h"
#include "walk/walk.h"

namespace drycrank::tools {

class WalkMeter;

struct Asking {
  const profile::Bench& bench;
  const walk::Walk& walk;
  AnswerBook& book;
  bool drives = false;  // a real controller listens: make it act before asking
  std::string go_on;    // the command that takes this walk up again; empty: it cannot be
  WalkMeter* meter = nullptr;  // asked in a person's place; nullptr: there is none
};

// Asks what is not answered yet, and at the end once more what was skipped, on standard output and
// input. Empty when all was asked, else why it was cut short; what was answered until then is kept.
std::string Ask(const Asking& asking, const PlayMore& play);

// Has the meter ring out what neither the bus nor a person has shown. What was answered, and why it was cut short.
std::vector<profile::GivenAnswer> RingOut(const Asking& asking,
                                          const std::vector<check::CircuitCoverage>& coverage,
                                          std::string& cut_short);

// With real parts, at a terminal: asks for what the sheet to sign lacks. Enter leaves it blank.
void AskForSheet(StageOptions& options);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_WALK_QUESTIONS_H_
