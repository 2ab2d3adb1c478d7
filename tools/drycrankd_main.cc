// SPDX-License-Identifier: Apache-2.0
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <exception>
#include <string_view>

#include "tools/drycrankd.h"

namespace {

// As drycrank's: what was said must have been written, too.
int Ended(int exit_code) {
  if (std::fflush(stdout) == 0 && std::ferror(stdout) == 0) return exit_code;
  std::fprintf(stderr, "drycrankd: standard output could not be written: %s\n",
               std::strerror(errno));
  return exit_code == 0 || exit_code == 4 ? 3 : exit_code;
}

}  // namespace

int main(int argc, char** argv) {
  std::signal(SIGXFSZ, SIG_IGN);  // a file that may not grow is a write that fails, and is said
  try {
    return Ended(drycrank::tools::DaemonMain(argc, argv));
  } catch (const std::exception& e) {
    // Asio's own tell the line of its header in which they arose, which helps nobody at a bench.
    const std::string_view what = e.what();
    const std::string_view words = what.substr(0, what.find(" [system:"));
    std::fprintf(stderr, "drycrankd: %.*s\n", static_cast<int>(words.size()), words.data());
    return 3;
  }
}
