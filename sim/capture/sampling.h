// SPDX-License-Identifier: Apache-2.0
//
// How many samples a capture has from tooth to tooth where the crank turns fastest. An edge of a
// logic channel lies anywhere between two: of fewer than six no wheel is made out, and its speed is
// a guess. A tooth or a space needs two to be seen each time it passes.
#ifndef DRYCRANK_CAPTURE_SAMPLING_H_
#define DRYCRANK_CAPTURE_SAMPLING_H_

#include <optional>
#include <string>

#include "capture/match_crank.h"
#include "capture/read_capture.h"

namespace drycrank::capture {

struct Sampling {
  double samples_per_tooth = 0;  // the fewest of all triggers; 0: edges have times of their own
  std::optional<Diagnostic> problem;
};
Sampling SamplingOf(const std::string& path, const ReadResult& capture);

// Where edges of a wheel are missed or too many, or it is not followed all along, and its narrowest
// tooth or space has less than two samples at the highest speed: it may not be seen at all.
// `narrow_deg`: of the wheel that turns there; `seen`: edges that could have been followed.
std::optional<Diagnostic> TooNarrow(const std::string& path, double step_ns,
                                    const CrankMatch& crank, double narrow_deg, std::size_t seen);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_SAMPLING_H_
