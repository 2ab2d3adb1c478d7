// SPDX-License-Identifier: Apache-2.0
//
// A wheel from a capture alone, with no pattern to go by.
//
//   an even row with places left out   distances from tooth to tooth are whole multiples of their
//                                      neighbours; what repeats is a turn
//   teeth of their own places          the shares of a turn, as the mean over all turns: needs a speed
//                                      that is steady within a turn
//
// Tooth 1 is the first behind the widest gap. A coil does not show how wide a tooth is: half a pitch is
// written, and said.
#ifndef DRYCRANK_CAPTURE_LEARN_WHEEL_H_
#define DRYCRANK_CAPTURE_LEARN_WHEEL_H_

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "capture/edge_finder.h"
#include "profile/wheel_shape.h"

namespace drycrank::capture {

struct LearntWheel {
  profile::Wheel wheel;
  int places = 0;            // of an even row; 0: teeth of their own places
  std::vector<int> missing;  // from 1
  double tooth_fraction = 0.5;
  int turns = 0;     // that it was learnt from
  std::string note;  // what is not known; empty: all is
};

// `low_is_tooth`: of both edges, metal makes the level low. Nothing: nothing repeats in it.
std::optional<LearntWheel> LearnWheel(std::span<const SeenChange> edges, bool both_edges,
                                      bool low_is_tooth);

// A part file, as profiles/parts/wheels/ has them.
std::string PartFile(const LearntWheel& learnt, const std::string& name, const std::string& from);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_LEARN_WHEEL_H_
