// SPDX-License-Identifier: Apache-2.0
#include "tools/result_files.h"

#include <fmt/format.h>

#include "types/plain_text.h"

namespace drycrank::tools {

std::vector<io::ResultFile> ResultsOf(const ReportFiles& files) {
  return {{"--html", files.html, "<"}, {"--json", files.json, "{"}, {"--junit", files.junit, "<"}};
}

std::vector<std::string> InputsOf(std::vector<std::string> files,
                                  const profile::Scenario& scenario) {
  for (const profile::Replay& replay : scenario.replays) files.push_back(replay.file);
  if (scenario.capture) {
    files.push_back(scenario.capture->file);
    if (!scenario.capture->map.empty()) files.push_back(scenario.capture->map);
  }
  return files;
}

CLI::Validator HasName() {
  return {[](std::string& text) {
            return text.empty()
                       ? std::string("the name is empty; give one, or leave the option out")
                       : std::string();
          },
          ""};
}

std::string WhyNotSaid(int argc, char** argv) {
  for (int i = 1; i < argc; ++i) {
    if (!HasControl(argv[i])) continue;
    return fmt::format("word {} of the command line has control characters, or is not UTF-8: {}", i,
                       OneLine(argv[i]));
  }
  return "";
}

}  // namespace drycrank::tools
