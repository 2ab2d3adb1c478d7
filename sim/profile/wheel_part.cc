// SPDX-License-Identifier: Apache-2.0
#include "profile/wheel_part.h"

#include <filesystem>

#include "profile/load_bench.h"
#include "yaml/include.h"

namespace drycrank::profile {

LoadedWheel LoadWheelPart(const std::string& path) {
  LoadedWheel loaded;
  yaml::Problems problems;
  yaml::Files files(problems);
  const std::string stem = std::filesystem::path(path).stem().string();
  const auto root = files.ReadProfile(path, {path, 0, 0});
  if (root) LoadWheel(problems, *root, stem, &loaded.wheel);
  if (loaded.wheel.name.empty()) loaded.wheel.name = stem;
  loaded.problems = problems.Sorted(files.names());
  return loaded;
}

}  // namespace drycrank::profile
