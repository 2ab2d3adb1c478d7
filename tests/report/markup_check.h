// SPDX-License-Identifier: Apache-2.0
//
// Hands markup to markup_check.py, which reads it with a parser that is not ours.
#ifndef DRYCRANK_TESTS_REPORT_MARKUP_CHECK_H_
#define DRYCRANK_TESTS_REPORT_MARKUP_CHECK_H_

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

namespace drycrank::report {

// Whether `text`, written as `file` into the build folder, is sound. `kind` is "junit" or "page".
inline bool MarkupIsSound(const std::string& kind, const std::string& file,
                          const std::string& text) {
  const std::filesystem::path folder = std::filesystem::path(DRYCRANK_BINARY_DIR) / "report_test";
  std::filesystem::create_directories(folder);
  const std::filesystem::path path = folder / file;
  std::ofstream(path, std::ios::binary) << text;
  const std::string command = "/usr/bin/python3 '" DRYCRANK_TESTS_DIR "/report/markup_check.py' " + kind +
                              " '" + path.string() + "'";
  return std::system(command.c_str()) == 0;
}

}  // namespace drycrank::report

#endif  // DRYCRANK_TESTS_REPORT_MARKUP_CHECK_H_
