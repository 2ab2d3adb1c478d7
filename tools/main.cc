// SPDX-License-Identifier: Apache-2.0
#include <unistd.h>

#include <cstdio>
#include <exception>

#include "tools/commands.h"

int main(int argc, char** argv) {
  try {
    return drycrank::tools::Main(argc, argv);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "drycrank: %s\n", e.what());
    return drycrank::tools::kBenchFailed;
  }
}
