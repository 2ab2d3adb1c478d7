// SPDX-License-Identifier: Apache-2.0
//
// Where in the cycle of the crank that was driven the controller's inputs saw edges in the last
// part of a step, as diagnose/edges.h takes it. Edges of one level that lie close together come
// from one place of the wheel:
//
//   cycle 1   |    |  .  |        place   = mean of those close together
//   cycle 2   |    |     |        share   = how many of the whole cycles have one there
//   cycle 3   |    |     | .      stray   = less than half of them
#ifndef DRYCRANK_STUDY_EDGE_READINGS_H_
#define DRYCRANK_STUDY_EDGE_READINGS_H_

#include <deque>
#include <vector>

#include "check/crank.h"
#include "diagnose/edges_seen.h"
#include "profile/bench.h"
#include "types/crank_motion.h"
#include "types/edge.h"

namespace drycrank::study {

class EdgeReadings {
 public:
  // Keeps edges for so long. The bench must outlive it.
  EdgeReadings(const profile::Bench& bench, TimeNs kept_ns);

  void OnMotion(const CrankMotion& motion) { crank_.OnMotion(motion); }
  void OnEdge(const Edge& edge);
  // Of the whole cycles that end before `end_ns` and begin after `begin_ns`, no longer ago than is
  // kept.
  diagnose::EdgesAt Between(TimeNs begin_ns, TimeNs end_ns) const;

 private:
  double CutBeforeDeg(int channel, const CrankAngle& end) const;
  diagnose::InputSeen AtInput(int channel, const CrankAngle& rest_end, double turned_deg) const;

  TimeNs kept_ns_;
  check::Crank crank_;
  std::vector<double> cycle_deg_;  // of each channel's wheel
  std::deque<Edge> edges_;
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_EDGE_READINGS_H_
