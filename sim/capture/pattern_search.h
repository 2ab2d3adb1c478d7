// SPDX-License-Identifier: Apache-2.0
//
// Which edge of a wheel is which of those seen. Each way to lay the pattern under a window of edges gives
// each edge an angle; the right one is that whose angles go smoothly with time, for an engine cannot leap.
//
//   edges   | | | |     | | | |          angle of the one in the middle, from a parabola through its
//   pattern | | | |     | | | |          neighbours (least squares) less the one the pattern gives:
//             | | | | |     | | |        small where it is laid rightly, pitches where it is not
//
//   cost    mean of min(1, (difference / mean pitch)^2), from which is taken what all rising edges have in
//           common against all falling ones: a sensor's own width
//
// Of few marks a way goes before a smoother one where the speed within each turn is far more even by it: seen in
// few samples, edges lie far off their angle, the same ones in each turn where a turn takes a whole number of samples.
//
// The parabola's coefficients depend on times alone, so that a way costs one product per edge.
// Rejected: ratios of neighbouring intervals, as a controller uses them. At six samples a tooth one sample
// is a third of an interval.
#ifndef DRYCRANK_CAPTURE_PATTERN_SEARCH_H_
#define DRYCRANK_CAPTURE_PATTERN_SEARCH_H_

#include <span>
#include <vector>

#include "capture/edge_finder.h"
#include "capture/wheel_pattern.h"

namespace drycrank::capture {

struct Laid {
  int mark = 0;                    // of the window's first edge
  bool inverted = false;           // levels the other way round than drawn
  double cost = 1;                 // 0 .. 1
  double other_polarity_cost = 1;  // the best of that; 1 where it cannot be
};

inline constexpr double kClearly = 3;  // by this factor in cost one way is told from another
inline constexpr double kFits = 0.03;  // a cost below this is a wheel; above it none

// Edges of each side that an angle is compared with.
int ReachOf(const WheelPattern& pattern);
// Fewer edges are no window.
int LeastWindow(const WheelPattern& pattern);

// The best way. `window`: of one direction where the pattern has one. Of a pattern of both edges either
// polarity is tried.
Laid LayBest(std::span<const SeenChange> window, const WheelPattern& pattern);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_PATTERN_SEARCH_H_
