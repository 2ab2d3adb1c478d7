// SPDX-License-Identifier: Apache-2.0
#include "capture/settled_wave.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace drycrank::capture {
namespace {

constexpr std::size_t kOver = 9;  // shares, of which the median: a gap is one of them
constexpr double kOff = 0.06;     // that it is from the whole capture's while it settles

// Of each edge to the second next, how much is above rest.
std::vector<double> SharesAbove(std::span<const SeenChange> changes) {
  std::vector<double> shares;
  for (std::size_t i = 2; i < changes.size(); ++i) {
    const double all_ns = std::max(changes[i].t_ns - changes[i - 2].t_ns, 1.0),
                 first_ns = changes[i - 1].t_ns - changes[i - 2].t_ns;
    shares.push_back((changes[i - 2].high ? first_ns : all_ns - first_ns) / all_ns);
  }
  return shares;
}

double Median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

}  // namespace

double SettledFromNs(std::span<const SeenChange> changes) {
  const std::vector<double> shares = SharesAbove(changes);
  if (shares.size() < 4 * kOver) return 0;
  const double whole = Median(shares);
  std::size_t at = 0;
  for (; at + kOver < shares.size() / 2; ++at) {
    const auto begin = shares.begin() + static_cast<std::ptrdiff_t>(at);
    if (std::abs(Median({begin, begin + kOver}) - whole) < kOff) break;
  }
  return at == 0 ? 0 : changes[at + kOver].t_ns;
}

}  // namespace drycrank::capture
