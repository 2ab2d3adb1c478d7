// SPDX-License-Identifier: Apache-2.0
//
// Cams and marks against the crank: where each edge comes, and by how much the wheel is late.
#ifndef DRYCRANK_CAPTURE_MATCH_CAMS_H_
#define DRYCRANK_CAPTURE_MATCH_CAMS_H_

#include "capture/cycle_fold.h"
#include "capture/match_crank.h"

namespace drycrank::capture {

// Where in the track's angle the cycle begins. Found by the first cam, as the crank's wheel leaves it open.
struct CycleZero {
  std::size_t stretch = 0;
  double deg = 0;
  bool by_cam = false;
};

// Takes the zero that makes it the least late. Of a crank without a gap the zero is found among its teeth.
TriggerMatch MatchCam(const profile::Bench& bench, const CapturedChannel& channel,
                      const std::vector<WheelPart>& parts, const CrankMatch& crank, double step_deg,
                      CycleZero& zero);

// Teeth of the crank from one period of the mark to the next; 0: they are not always the same.
int TeethPerPeriod(const CapturedChannel& crank, const CapturedChannel& mark, int edges_per_period);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_MATCH_CAMS_H_
