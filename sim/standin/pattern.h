// SPDX-License-Identifier: Apache-2.0
//
// What the active edges of a configured wheel look like to a decoder: where each lies in the engine
// cycle, and how far it is from the one before. A crank wheel on a four-stroke engine appears twice
// in a cycle, a cam wheel once.
//
//   crank angle of an edge at wheel angle w:   offset + w (crank),   offset + 2 w (cam)
//
// The centre of a coil's tooth is where its voltage falls through zero: types/coil_lobe.h.
#ifndef DRYCRANK_STANDIN_PATTERN_H_
#define DRYCRANK_STANDIN_PATTERN_H_

#include <vector>

#include "profile/bench.h"
#include "types/nth.h"

namespace drycrank::standin {

// Crank degrees of the channel's active edges within one cycle, ascending, [0, cycle_deg).
std::vector<double> ActiveEdgesDeg(const profile::TriggerChannel& channel, double cycle_deg);
// The same of the edges at the other end of each tooth; none where it does not read them.
std::vector<double> OtherEdgesDeg(const profile::TriggerChannel& channel, double cycle_deg);

class Pattern {
 public:
  Pattern(const profile::TriggerChannel& channel, double cycle_deg, double ratio_tolerance);

  int size() const { return static_cast<int>(position_deg_.size()); }  // edges in a cycle
  double cycle_deg() const { return cycle_deg_; }
  int Next(int edge) const { return edge + 1 < size() ? edge + 1 : 0; }
  int Back(int edge, int by) const { return ((edge - by) % size() + size()) % size(); }

  double position_deg(int edge) const { return position_deg_[Index(edge)]; }
  // From the edge before to this one.
  double interval_deg(int edge) const { return interval_deg_[Index(edge)]; }
  double min_interval_deg() const { return min_interval_deg_; }
  double max_interval_deg() const { return max_interval_deg_; }
  // Degrees turned over the last `count` intervals up to this edge. REQUIRES: count <= size().
  double SpanDeg(int edge, int count) const;

  // Does `ratio` = interval / interval before, as measured, allow that this edge was the last?
  // Equal factors up and down, so that 2 (a gap) and 1/2 (after it) are equally far from 1.
  bool Allows(int edge, double ratio) const {
    const double factor = ratio * inverse_ratio_[Index(edge)];
    return factor <= widest_ && factor * widest_ >= 1;
  }
  double ExpectedRatio(int edge) const { return 1 / inverse_ratio_[Index(edge)]; }

  // An interval that can be told from the shortest: what gives the position away.
  bool IsGap(int edge) const { return interval_deg(edge) > min_interval_deg_ * widest_; }
  bool has_gap() const { return has_gap_; }
  // Does a cycle that passes `a` look, interval by interval, like one that passes `b`?
  bool LookAlike(int a, int b) const;
  // Another place of the turn that looks like the first, so that the wheel alone cannot tell; -1: none.
  int Twin() const;
  // All edges stand at one crank position (a single tooth on the crank).
  bool single_position() const;
  bool SamePosition(int a, int b) const;  // equal but for whole turns

 private:
  static std::size_t Index(int edge) { return AsSize(edge); }

  double cycle_deg_;
  double widest_;  // 1 + ratio_tolerance
  std::vector<double> position_deg_;
  std::vector<double> interval_deg_;
  std::vector<double> inverse_ratio_;  // interval before / interval
  double min_interval_deg_ = 0;
  double max_interval_deg_ = 0;
  bool has_gap_ = false;
};

}  // namespace drycrank::standin

#endif  // DRYCRANK_STANDIN_PATTERN_H_
