// SPDX-License-Identifier: Apache-2.0
#ifndef DRYCRANK_TESTS_SCHEDULE_TEXT_OF_H_
#define DRYCRANK_TESTS_SCHEDULE_TEXT_OF_H_

#include <fstream>
#include <sstream>
#include <string>

namespace drycrank::schedule {

// A file's bytes; empty when it is not there.
inline std::string TextOf(const std::string& path) {
  std::ostringstream text;
  text << std::ifstream(path, std::ios::binary).rdbuf();
  return text.str();
}

}  // namespace drycrank::schedule

#endif  // DRYCRANK_TESTS_SCHEDULE_TEXT_OF_H_
