// SPDX-License-Identifier: Apache-2.0
//
// Counts what the whole test program allocates with new.
#ifndef DRYCRANK_TESTS_CHECK_ALLOCATIONS_H_
#define DRYCRANK_TESTS_CHECK_ALLOCATIONS_H_

namespace drycrank::check {

long Allocations();

}  // namespace drycrank::check

#endif  // DRYCRANK_TESTS_CHECK_ALLOCATIONS_H_
