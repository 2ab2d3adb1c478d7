// SPDX-License-Identifier: Apache-2.0
//
// Edges that the controller's trigger inputs saw while all was at rest, by degrees of the crank
// that was driven: what an oscilloscope at these inputs shows.
#ifndef DRYCRANK_DIAGNOSE_EDGES_SEEN_H_
#define DRYCRANK_DIAGNOSE_EDGES_SEEN_H_

#include <array>
#include <vector>

namespace drycrank::diagnose {

struct EdgePlace {
  double deg = 0;  // in the wheel's cycle
  bool high = false;
  double share = 1;       // of the cycles in which an edge came there, (0.5, 1]
  double spread_deg = 0;  // from the first of them to the last
};

struct InputSeen {
  std::vector<EdgePlace> places;   // ascending
  std::array<double, 2> strays{};  // of each level, edges a cycle at no such place
  double cycles = 0;               // whole ones that were looked at; 0: nothing is known
};

// One per trigger channel of the controller; empty: no motion is known.
using EdgesAt = std::vector<InputSeen>;
using EdgesSeen = std::vector<EdgesAt>;  // one per situation

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_EDGES_SEEN_H_
