// SPDX-License-Identifier: Apache-2.0
//
// How often this test program has called operator new.
#ifndef DRYCRANK_TESTS_BUS_COUNT_ALLOCATIONS_H_
#define DRYCRANK_TESTS_BUS_COUNT_ALLOCATIONS_H_

#include <cstddef>

namespace drycrank::bus {

std::size_t Allocations();

}  // namespace drycrank::bus

#endif  // DRYCRANK_TESTS_BUS_COUNT_ALLOCATIONS_H_
