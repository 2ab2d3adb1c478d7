// SPDX-License-Identifier: Apache-2.0
//
// On the microcontroller what core_edges is on the PC: seed and edges were given to the compiler.
#include "tests/core/edge_hash.h"
#include "tools/core/mps2.h"

int main() {
  drycrank::core::PrintHashes(EDGES_SEED, EDGES_COUNT, drycrank::core::Put);
  return 0;
}
