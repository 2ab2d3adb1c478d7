// SPDX-License-Identifier: Apache-2.0
#include <csignal>
#include <cstdio>
#include <exception>
#include <system_error>

#include "tools/ended.h"

using namespace drycrank::tools;

int main(int argc, char** argv) {
  std::signal(SIGXFSZ, SIG_IGN);  // a file that may not grow is a write that fails, and is said
  try {
    return Ended("drycrank", Main(argc, argv));
  } catch (const std::system_error&) {  // of fmt::print
    return Ended("drycrank", kBenchFailed);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "drycrank: %s\n", e.what());
    return kBenchFailed;
  }
}
