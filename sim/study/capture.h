// SPDX-License-Identifier: Apache-2.0
//
// A capture of the controller's outputs as witness of a walk: levels over time from any logic
// analyser or oscilloscope, in any of the formats of capture/trace.h. Columns are called as outputs
// of the bench, or as its triggers, against which the outputs' places are judged.
//
//   time_s,injector_1,injector_2
//   0.0000,1,1
//   0.0012,0,1
//
// What it proves: a switched load's level changes; coils and injectors pulse (fall: the driver
// pulls) at least twice, and those of different cylinders do so in the firing order and at its
// distances, which crossed wires do not. Two that fire at even distances look the same exchanged:
// those the crank and a cam of the same capture tell apart (capture/match.h).
#ifndef DRYCRANK_STUDY_CAPTURE_H_
#define DRYCRANK_STUDY_CAPTURE_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::study {

// What a capture showed of an output.
struct Seen {
  int output = -1;  // index into controller.outputs
  bool acts = false;
  std::string detail;  // "40 pulses, in the firing order"
};

struct [[nodiscard]] Capture {
  std::vector<Seen> seen;  // one per column
  Diagnostics problems;
};
// REQUIRES: bench.controller.
Capture ReadCapture(const profile::Bench& bench, const std::string& path);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_CAPTURE_H_
