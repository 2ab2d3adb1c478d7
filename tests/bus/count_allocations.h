// SPDX-License-Identifier: Apache-2.0
//
// How often this test program has called operator new, and the most it held at once. Not to be asked
// while threads of the test take memory.
#ifndef DRYCRANK_TESTS_BUS_COUNT_ALLOCATIONS_H_
#define DRYCRANK_TESTS_BUS_COUNT_ALLOCATIONS_H_

#include <cstddef>

namespace drycrank::bus {

std::size_t Allocations();

// The most bytes that were held at once since it was made, above what was held then. One at a time.
class MostBytes {
 public:
  MostBytes();
  std::size_t more() const;

 private:
  std::size_t before_;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_TESTS_BUS_COUNT_ALLOCATIONS_H_
