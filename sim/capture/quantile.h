// SPDX-License-Identifier: Apache-2.0
#ifndef DRYCRANK_CAPTURE_QUANTILE_H_
#define DRYCRANK_CAPTURE_QUANTILE_H_

#include <cstddef>

namespace drycrank::capture {

// The value that a share (0 … 1) of the others does not pass; the lower of two.
// REQUIRES: sorted, not empty.
template <class List>
auto QuantileOf(const List& sorted, double share) {
  return sorted[static_cast<std::size_t>(share * static_cast<double>(sorted.size() - 1))];
}

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_QUANTILE_H_
