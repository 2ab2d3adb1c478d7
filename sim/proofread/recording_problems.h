// SPDX-License-Identifier: Apache-2.0
//
// A scenario against the recordings that it plays: a file that cannot be read, or is not a
// recording; an interface that is not in it; a choice of frames that leaves nothing to play. Each
// problem has its place in the scenario. And against the capture that it plays: a file or map that cannot be
// read, none of the bench's triggers in it, too few samples.
#ifndef DRYCRANK_PROOFREAD_RECORDING_PROBLEMS_H_
#define DRYCRANK_PROOFREAD_RECORDING_PROBLEMS_H_

#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "types/diagnostic.h"

namespace drycrank::proofread {

[[nodiscard]] Diagnostics RecordingProblems(const profile::Bench& bench,
                                            const profile::Scenario& scenario);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_RECORDING_PROBLEMS_H_
