// SPDX-License-Identifier: Apache-2.0
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <exception>
#include <system_error>

#include "tools/commands.h"

namespace {

using namespace drycrank::tools;

// What was said must have been written, too: a disk that is full is no success.
int Ended(int exit_code) {
  const bool is_written = std::fflush(stdout) == 0 && std::ferror(stdout) == 0;
  if (is_written) return exit_code;
  std::fprintf(stderr, "drycrank: standard output could not be written: %s\n",
               std::strerror(errno));
  return exit_code == kAllMet || exit_code == kNotShown ? kBenchFailed : exit_code;
}

}  // namespace

int main(int argc, char** argv) {
  std::signal(SIGXFSZ, SIG_IGN);  // a file that may not grow is a write that fails, and is said
  try {
    return Ended(Main(argc, argv));
  } catch (const std::system_error&) {  // of fmt::print
    return Ended(kBenchFailed);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "drycrank: %s\n", e.what());
    return kBenchFailed;
  }
}
