// SPDX-License-Identifier: Apache-2.0
//
// What was said must have been written, too: a disk that is full is no success.
#ifndef DRYCRANK_TOOLS_ENDED_H_
#define DRYCRANK_TOOLS_ENDED_H_

#include <cerrno>
#include <cstdio>
#include <cstring>

#include "tools/commands.h"

namespace drycrank::tools {

// The exit code of `program`, whose own was that.
inline int Ended(const char* program, int exit_code) {
  if (std::fflush(stdout) == 0 && std::ferror(stdout) == 0) return exit_code;
  std::fprintf(stderr, "%s: standard output could not be written: %s\n", program,
               std::strerror(errno));
  return exit_code == kAllMet || exit_code == kNotShown ? kBenchFailed : exit_code;
}

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_ENDED_H_
