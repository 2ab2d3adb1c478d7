// SPDX-License-Identifier: Apache-2.0
#include "tools/shown_files.h"

#include <fmt/format.h>

#include <filesystem>
#include <sstream>

#include "sweep/latched.h"
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

namespace {

// Where that fact stands, from 1; of several the last.
int LineOf(const std::string& text, const sweep::ShownFact& fact) {
  std::string wanted = sweep::TextOf({{}, {fact}});
  wanted.pop_back();
  wanted.erase(0, wanted.rfind('\n') + 1);
  std::istringstream lines(text);
  int number = 0, found = 0;
  for (std::string line; std::getline(lines, line);) {
    ++number;
    if (!line.empty() && line.back() == '\r') line.pop_back();
    if (line == wanted) found = number;
  }
  return found;
}

}  // namespace

bool LampsStayLit(const profile::Bench& bench, const std::string& file,
                  const sweep::WhatItShowed& showed) {
  const std::vector<sweep::GoneOut> gone = sweep::LampsGoneOut(bench, showed);
  if (gone.empty()) return true;
  yaml::Problems problems;
  yaml::Files files(problems);
  const std::string text = files.ReadText(file, {file, 0, 0}).value_or("");
  for (const sweep::GoneOut& out : gone) {
    problems.Add({file, LineOf(text, out.dark), 1},
                 fmt::format("{}: its lamp is dark, and it must stay lit as at {}:{}:1",
                             out.dark.readout, file, LineOf(text, out.lit)),
                 "restore the line that was changed, or read the display again");
  }
  PrintProblems(problems.Sorted({file}));
  return false;
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
