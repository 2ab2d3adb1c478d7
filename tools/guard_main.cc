// SPDX-License-Identifier: Apache-2.0
#include <unistd.h>

#include <charconv>
#include <chrono>
#include <cstdio>
#include <string_view>

#include "io/guard_process.h"

namespace {

constexpr const char* kUsage =
    "drycrank-guard --limit-ms MS\n\n"
    "Brings outputs to their safe state when the program that drives them is gone. drycrank starts "
    "it,\n"
    "and talks to it on its standard input; there is nothing to do by hand.\n";

}  // namespace

int main(int argc, char** argv) {
  constexpr int kAtLeastMs = 10;
  int limit_ms = 0;
  if (argc == 3 && std::string_view(argv[1]) == "--limit-ms") {
    const std::string_view text = argv[2];
    if (std::from_chars(text.data(), text.data() + text.size(), limit_ms).ptr != text.end())
      limit_ms = 0;
  }
  if (limit_ms >= kAtLeastMs) {
    const int code = drycrank::io::RunGuard(STDIN_FILENO, std::chrono::milliseconds(limit_ms));
    if (code != 2) return code;
  }
  std::fputs(kUsage, stderr);
  return 2;
}
