// SPDX-License-Identifier: Apache-2.0
//
// The edges of a script as a few lines that two machines can be compared by: of each 50,000 edges the
// time of the last and a hash of all (FNV-1a, 64 bits, over time, channel and level).
#ifndef DRYCRANK_TESTS_CORE_EDGE_HASH_H_
#define DRYCRANK_TESTS_CORE_EDGE_HASH_H_

#include "tests/core/edge_script.h"

namespace drycrank::core {

// Prints a byte.
using PutByte = void (*)(char);

void PrintHashes(uint32_t seed, int32_t edges, PutByte put);

}  // namespace drycrank::core

#endif  // DRYCRANK_TESTS_CORE_EDGE_HASH_H_
