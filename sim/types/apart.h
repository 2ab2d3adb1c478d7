// SPDX-License-Identifier: Apache-2.0
//
// Where two long lists that are nearly the same are not: compared by bytes, some elements at once,
// and one by one only where the bytes differ. REQUIRES of all here: lists of the same length, and
// no NaN, which would be the same as itself.
#ifndef DRYCRANK_TYPES_APART_H_
#define DRYCRANK_TYPES_APART_H_

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <cstring>
#include <type_traits>
#include <vector>

namespace drycrank {

inline constexpr std::size_t kAtOnce = 16;

// Of the elements from `begin` on, at most kAtOnce. False says nothing: 0 and -0 have other bytes.
template <class T>
bool SameBytes(const std::vector<T>& a, const std::vector<T>& b, std::size_t begin) {
  static_assert(std::is_trivially_copyable_v<T>);
  assert(a.size() == b.size() && begin < a.size());
  const std::size_t count = std::min(kAtOnce, a.size() - begin);
  return std::memcmp(a.data() + begin, b.data() + begin, count * sizeof(T)) == 0;
}

// Calls `on_apart` with the number of each element that is not the same in both, in order.
template <class T, class OnApart>
void WhereApart(const std::vector<T>& a, const std::vector<T>& b, const OnApart& on_apart) {
  for (std::size_t begin = 0; begin < a.size(); begin += kAtOnce) {
    if (SameBytes(a, b, begin)) continue;
    const std::size_t end = std::min(begin + kAtOnce, a.size());
    for (std::size_t i = begin; i < end; ++i) {
      if (!(a[i] == b[i])) on_apart(i);
    }
  }
}

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_APART_H_
