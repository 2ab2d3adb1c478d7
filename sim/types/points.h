// SPDX-License-Identifier: Apache-2.0
//
// A broken line: what a table of a profile means between its rows.
#ifndef DRYCRANK_TYPES_POINTS_H_
#define DRYCRANK_TYPES_POINTS_H_

#include <utility>
#include <vector>

namespace drycrank {

// Pairs of (x, y), x ascending.
using Points = std::vector<std::pair<double, double>>;

// y at x: straight between two points, held before the first and after the last; 0 without points.
double Interpolate(const Points& points, double x);
// The lowest x at which the line reaches y; if it never does, the end nearest to y.
// REQUIRES: !points.empty().
double InterpolateInverse(const Points& points, double y);

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_POINTS_H_
