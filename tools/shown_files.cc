// SPDX-License-Identifier: Apache-2.0
#include "tools/shown_files.h"

#include <filesystem>

#include "yaml/include.h"

namespace drycrank::tools {

std::optional<sweep::WhatItShowed> ReadShownOf(const std::string& path) {
  std::error_code none;
  const std::string file =
      std::filesystem::is_directory(path, none) ? path + "/" + kShownFile : path;
  yaml::Problems problems;
  yaml::Files files(problems);
  const auto text = files.ReadText(file, {file, 0, 0});
  if (PrintProblems(problems.Sorted({file})) || !text) return std::nullopt;
  sweep::ReadShown read = sweep::ParseShown(file, *text);
  PrintProblems(read.problems);
  return std::move(read.showed);
}

io::ResultFile ShownIn(const std::string& folder, const char* name) {
  return {"--out", folder + "/" + name, {sweep::kShownTitle}};
}

std::string WriteComparison(const sweep::Comparison& comparison, const ReportFiles& files,
                            const std::string& suite) {
  std::string problem;
  if (!files.json.empty()) problem = WriteFile(files.json, sweep::ComparisonJson(comparison));
  if (problem.empty() && !files.junit.empty()) {
    problem = WriteFile(files.junit, sweep::ComparisonJunit(comparison, suite));
  }
  return problem;
}

}  // namespace drycrank::tools
