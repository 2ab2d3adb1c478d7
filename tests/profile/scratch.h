// SPDX-License-Identifier: Apache-2.0
//
// A folder of files written by a test, gone at its end.
#ifndef DRYCRANK_TESTS_PROFILE_SCRATCH_H_
#define DRYCRANK_TESTS_PROFILE_SCRATCH_H_

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "profile/load.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::profile {

class Scratch : public testing::Test {
 protected:
  std::string Path(const std::string& name) const { return folder_.Path(name); }
  std::string Write(const std::string& name, const std::string& text) const {
    std::filesystem::create_directories(std::filesystem::path(Path(name)).parent_path());
    std::ofstream(Path(name), std::ios::binary) << text;
    return Path(name);
  }
  // The one bench of the test, in bench.yaml.
  LoadedBench Load(const std::string& text) const { return LoadBench(Write("bench.yaml", text)); }

  static std::string Text(const Diagnostics& problems) {
    std::string text;
    for (const Diagnostic& problem : problems) text += Format(problem) + "\n";
    return text;
  }

 private:
  ScratchFolder folder_;
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_TESTS_PROFILE_SCRATCH_H_
