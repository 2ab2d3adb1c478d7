// SPDX-License-Identifier: Apache-2.0
//
// How long a blade fuse bears a current: ISO 8820-3, *from memory, not looked up again*; some sizes have
// up to 120 s or more at 135 %, the widest limits of all sizes stand here.
//
//   current / rating   1.10          1.35        1.60       2.0        3.5         6.0
//   blows not before   100 h         0.75 s      0.25 s     0.15 s     0.04 s      0.02 s
//   blows within       -             600 s       50 s       5 s        0.5 s       0.1 s
//
// Between two columns only what follows from them is said: a fuse that bears a current for some time bears
// less at least as long. So the upper limit is that of the column below, the lower one that of the column
// above. Straight lines between them would be narrower, and no standard's.
#ifndef DRYCRANK_SCHEDULE_BLADE_FUSE_H_
#define DRYCRANK_SCHEDULE_BLADE_FUSE_H_

#include <optional>

namespace drycrank::schedule {

inline constexpr double kMostBladeA = 40;  // from there on fuses are bolted, and have other limits
inline constexpr double kBlowsForSure = 1.35;

struct BlowingTime {
  double least_s = 0;
  std::optional<double> most_s;  // nothing: it may never
};
// `load`: current by rating, 0 or more.
BlowingTime BlowingTimeOf(double load);

// The smallest usual rating of which `ampere` is no more than `share`; nothing above kMostBladeA.
std::optional<double> UsualRating(double ampere, double share);
// The largest one that is no more than `ampere`.
std::optional<double> LargestRating(double ampere);

}  // namespace drycrank::schedule

#endif  // DRYCRANK_SCHEDULE_BLADE_FUSE_H_
