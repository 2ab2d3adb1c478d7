// SPDX-License-Identifier: Apache-2.0
//
// Which single faults of a bench no run of a scenario can tell apart: a loop that is broken gives the
// controller the same volts wherever it is broken. So one of them need be played, and those that leave
// all volts as they are, none.
//
// Predicted, not played (diagnose/electrical.h): of each fault, in every corner of every step (each
// stimulus at its begin, at its end, at its least, at its most), the volts at all inputs, supply and
// references, with each output that switches on and off, and with each coil. Alike is what differs by
// less than kSameV in all of these. Only what is put into harness and sensors is compared; a fault of
// wheels, tables, layouts or messages is like itself alone.
#ifndef DRYCRANK_STUDY_SAME_EFFECT_H_
#define DRYCRANK_STUDY_SAME_EFFECT_H_

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "diagnose/hypothesis.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::study {

class SameEffect {
 public:
  // None of them is kept. REQUIRES: bench.controller.
  SameEffect(const profile::Bench& bench, const profile::Scenario& scenario,
             std::span<const diagnose::Hypothesis> faults);

  bool IsAsHealthy(std::size_t fault) const { return !first_[fault]; }
  // The first fault that is like it; itself when none before is. REQUIRES: !IsAsHealthy(fault).
  std::size_t FirstLike(std::size_t fault) const { return *first_[fault]; }

 private:
  std::vector<std::optional<std::size_t>> first_;
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_SAME_EFFECT_H_
