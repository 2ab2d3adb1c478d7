// SPDX-License-Identifier: Apache-2.0
#include "diagnose/ends.h"

#include <algorithm>
#include <cmath>

namespace drycrank::diagnose {

double LogOfEnds(int one_way, int other_way) {
  const double in_turn = std::exp(std::lgamma(one_way + 1.0) + std::lgamma(other_way + 1.0) -
                                  std::lgamma(one_way + other_way + 2.0));
  const double all_alike = one_way == 0 || other_way == 0 ? 0.5 : 0;
  return std::log(0.5 * (all_alike + in_turn));
}

// Of one value.
double EndsSeen::LogLikeOf(std::size_t first, std::size_t last) {
  int low = 0, high = 0, alike = 0, opposite = 0;
  for (std::size_t i = first; i < last; ++i) {
    End& before = first_[seen_[i].situation];
    const End now = seen_[i].high ? End::kHigh : End::kLow;
    if (before == End::kUnknown) {
      before = now;
      ++(seen_[i].high ? high : low);
    } else {
      ++(before == now ? alike : opposite);
    }
  }
  return (low + high > 0 ? LogOfEnds(low, high) : 0) +
         (alike + opposite > 0 ? LogOfEnds(alike, opposite) : 0);
}

double EndsSeen::LogLike() {
  if (seen_.empty()) return 0;
  std::ranges::fill(first_, End::kUnknown);
  std::ranges::stable_sort(seen_, {}, &Seen::value);
  double sum = 0;
  for (std::size_t i = 0, last = 0; i < seen_.size(); i = last) {
    while (last < seen_.size() && seen_[last].value == seen_[i].value) ++last;
    sum += LogLikeOf(i, last);
  }
  return sum;
}

}  // namespace drycrank::diagnose
