// SPDX-License-Identifier: Apache-2.0
#include <cstdio>
#include <exception>

#include "tools/drycrankd.h"

int main(int argc, char** argv) {
  try {
    return drycrank::tools::DaemonMain(argc, argv);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "drycrankd: %s\n", e.what());
    return 3;
  }
}
