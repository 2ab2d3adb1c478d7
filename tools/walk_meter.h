// SPDX-License-Identifier: Apache-2.0
//
// What of a walk a meter answers (study/meter_tasks.h): where the probes go and what is off, Enter, the reading. What
// is whole is kept at once; what is not, only when somebody says so: most often a probe does not touch.
#ifndef DRYCRANK_TOOLS_WALK_METER_H_
#define DRYCRANK_TOOLS_WALK_METER_H_

#include <optional>
#include <string>

#include "profile/answers.h"
#include "study/meter_tasks.h"
#include "tools/meter_dialogue.h"

namespace drycrank::tools {

class WalkMeter {
 public:
  WalkMeter(io::BenchMeter& meter, std::string by, int columns)
      : dialogue_(&meter, columns), by_(std::move(by)) {}

  void Reach() const { dialogue_.Reach(); }
  // Each reading in turn, until one is not as it should be. Nothing: stopped.
  std::optional<profile::GivenAnswer> Ask(const study::MeterTask& task);

 private:
  // Nothing: stopped; kYes: go on.
  std::optional<profile::Answer> AskLeg(const study::MeterLeg& leg, profile::GivenAnswer& given);
  // Nothing: ask again.
  std::optional<double> Take(const std::string& line, std::string& meter);

  MeterDialogue dialogue_;
  std::string by_;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_WALK_METER_H_
