// SPDX-License-Identifier: Apache-2.0
//
// An instant at which a logic channel takes a new level.
#ifndef DRYCRANK_TYPES_EDGE_H_
#define DRYCRANK_TYPES_EDGE_H_

#include "types/time.h"

namespace drycrank {

struct Edge {
  TimeNs t_ns = 0;
  int channel = 0;
  bool high = false;

  friend bool operator==(const Edge&, const Edge&) = default;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_EDGE_H_
