// SPDX-License-Identifier: Apache-2.0
//
// The crank's angle over a capture, from the edges of one wheel: laid under the pattern where they
// fit best (pattern_search.h), then followed edge by edge to both sides. An edge is taken for the
// next mark, or for a later one when edges are missing, or for one too many, by the speed that each
// would mean. Where noise reaches as far as the waves do, an edge that is not the next mark ends
// the stretch: it may be noise, or a tooth that noise hid, and neither is a finding.
//
// Between edges the angle is a cubic through both with the speeds at both (Hermite).
#ifndef DRYCRANK_CAPTURE_CRANK_TRACK_H_
#define DRYCRANK_CAPTURE_CRANK_TRACK_H_

#include <optional>
#include <span>
#include <vector>

#include "capture/pattern_search.h"

namespace drycrank::capture {

struct PlacedEdge {
  double t_ns = 0;
  double deg = 0;           // counts on over turns
  int mark = 0;             // counts on over turns
  bool after_hole = false;  // nobody saw what lies between the one before and this
};

// A stretch in which the crank is known: each edge's place counts on from the first one's. Across
// a hole the place is found anew, and only whole turns are counted on.
struct Stretch {
  std::vector<PlacedEdge> edges;
  double from_ns() const { return edges.front().t_ns; }
  double to_ns() const { return edges.back().t_ns; }
  double turns() const { return (edges.back().deg - edges.front().deg) / 360; }
};

struct CrankTrack {
  std::vector<Stretch> stretches;
  Laid laid;  // of the best window
  int placed = 0, missing = 0, extra = 0;
  std::vector<int> missing_of;         // per mark of the pattern
  double width_deg = 0;                // how much later than drawn teeth end
  double least_rpm = 0, most_rpm = 0;  // over a turn
  double least_pitch_ns = 0;           // from an edge to the next of its direction, where shortest

  double turns() const;
  bool any() const { return !stretches.empty(); }
  // The crank's angle, and in which stretch; nothing outside of them and in holes.
  std::optional<double> DegAt(double t_ns, std::size_t* stretch) const;
  double RpmAt(double t_ns) const;  // 0 where it is not known
};

// `stray_ns`: how far an edge may be seen from its place, as a recorder and its input have it.
CrankTrack Follow(std::span<const SeenChange> edges, const WheelPattern& pattern,
                  double stray_ns = 0);

// The least cost of a pattern over windows all along the capture: how well it fits, without
// following it. Windows of `least_edges` or a little more than a turn: of one length for each
// pattern, or a wheel of one tooth lies well between two gaps of any other.
Laid BestLaid(std::span<const SeenChange> edges, const WheelPattern& pattern,
              std::size_t least_edges);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_CRANK_TRACK_H_
