// SPDX-License-Identifier: Apache-2.0
//
// An element by its number. Things are numbered by an int in the order of their file, -1 is none
// (profile/bench.h); the size of a list is unsigned. Here the two meet, once, and a number that no
// element has stops a debug build. So does a count below zero, where one comes from the system as signed.
//
// Rejected: a type of its own for each kind of number. An index is also counted with, handed to
// matrices and written to files, and each of these would need its way back.
#ifndef DRYCRANK_TYPES_NTH_H_
#define DRYCRANK_TYPES_NTH_H_

#include <cassert>
#include <cstddef>
#include <iterator>
#include <utility>

namespace drycrank {

// REQUIRES: 0 <= number. A count, or a place in a list.
template <class Number>
constexpr std::size_t AsSize(Number number) {
  assert(std::cmp_greater_equal(number, 0));
  return static_cast<std::size_t>(number);
}

// REQUIRES: 0 <= number < size. Of an enum: in its order.
template <class List, class Number>
constexpr decltype(auto) Nth(List&& list, Number number) {
  assert(static_cast<std::size_t>(number) < std::size(list));
  return list[static_cast<std::size_t>(number)];
}

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_NTH_H_
