// SPDX-License-Identifier: Apache-2.0
//
// Edges of a channel by the crank's angle, laid over each other cycle by cycle: places at which an edge of
// one direction comes again and again, with their mean and spread.
#ifndef DRYCRANK_CAPTURE_CYCLE_FOLD_H_
#define DRYCRANK_CAPTURE_CYCLE_FOLD_H_

#include <span>
#include <vector>

#include "capture/crank_track.h"

namespace drycrank::capture {

struct FoldedPlace {
  bool high = false;
  double deg = 0;                      // mean, [0, period)
  double spread_deg = 0;               // standard deviation
  double least_deg = 0, most_deg = 0;  // from the mean
  int count = 0;
};

struct Folded {
  std::vector<FoldedPlace> places;  // ascending; each met in half of the periods or more
  int odd = 0;                      // edges at none of them
  double periods = 0;
};

// Within one stretch of the track. `zero_deg`: the track's angle that is 0 of the period. `step_deg`: a sample.
Folded Fold(std::span<const SeenChange> edges, const CrankTrack& track, std::size_t stretch,
            double zero_deg, double period_deg, double step_deg);

// The longest stretch. REQUIRES: track.any().
std::size_t LongestOf(const CrankTrack& track);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_CYCLE_FOLD_H_
