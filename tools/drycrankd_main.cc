// SPDX-License-Identifier: Apache-2.0
#include <csignal>
#include <cstdio>
#include <exception>
#include <string_view>

#include "tools/drycrankd.h"
#include "tools/ended.h"

int main(int argc, char** argv) {
  std::signal(SIGXFSZ, SIG_IGN);  // a file that may not grow is a write that fails, and is said
  try {
    return drycrank::tools::Ended("drycrankd", drycrank::tools::DaemonMain(argc, argv));
  } catch (const std::exception& e) {
    // Asio's own tell the line of its header in which they arose, which helps nobody at a bench.
    const std::string_view what = e.what();
    const std::string_view words = what.substr(0, what.find(" [system:"));
    std::fprintf(stderr, "drycrankd: %.*s\n", static_cast<int>(words.size()), words.data());
    return 3;
  }
}
