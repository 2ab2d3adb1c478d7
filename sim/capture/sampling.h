// SPDX-License-Identifier: Apache-2.0
//
// How many samples a capture has from tooth to tooth where the crank turns fastest. An edge of a logic
// channel lies anywhere between two: of fewer than six no wheel is made out, and its speed is a guess.
#ifndef DRYCRANK_CAPTURE_SAMPLING_H_
#define DRYCRANK_CAPTURE_SAMPLING_H_

#include <optional>
#include <string>

#include "capture/read_capture.h"

namespace drycrank::capture {

struct Sampling {
  double samples_per_tooth = 0;  // the fewest of all triggers; 0: edges have times of their own
  std::optional<Diagnostic> problem;
};
Sampling SamplingOf(const std::string& path, const ReadResult& capture);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_SAMPLING_H_
