// SPDX-License-Identifier: Apache-2.0
//
// Files compared with each other, before anything runs: a bench or scenario file is loaded (syntax,
// names, units, ranges), then a bench is held against itself (told.h: what was told against what is
// built; bus_problems.h) and a scenario against its recordings (recording_problems.h). A file with problems of the first kind is not
// compared any further: the rest would only follow from them.
#ifndef DRYCRANK_PROOFREAD_PROOFREAD_H_
#define DRYCRANK_PROOFREAD_PROOFREAD_H_

#include <optional>
#include <string>
#include <vector>

#include "bus/bus_timing.h"
#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::proofread {

struct Proof {
  Diagnostics problems;
  // Of a bench: what its file does not say, so that it could not be compared.
  Diagnostics not_compared;
  // Of a bench file that loads: the bench, and per bus its load and response times.
  std::optional<profile::Bench> bench;
  std::vector<bus::BusTiming> timing;
  std::vector<std::string> facts = {};  // of a bench: what follows from it, and is no problem
};

// A file that says neither `kind: bench` nor `kind: scenario` is read as a bench; what is wrong
// with it is then among the problems.
[[nodiscard]] Proof ProofreadFile(const std::string& path);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_PROOFREAD_H_
