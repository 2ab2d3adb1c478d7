// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "profile/load.h"
#include "tools/commands.h"

namespace drycrank::tools {
namespace {

int Lint(const std::vector<std::string>& files) {
  std::size_t problems = 0;
  for (const std::string& file : files) {
    const bool scenario = profile::KindOfFile(file) == "scenario";
    const Diagnostics found =
        scenario ? profile::LoadScenario(file).problems : profile::LoadBench(file).problems;
    PrintProblems(found);
    problems += found.size();
    if (found.empty()) fmt::print("{}: in order\n", file);
  }
  if (problems > 0) fmt::print(stderr, "{} problem{} found\n", problems, problems == 1 ? "" : "s");
  return problems == 0 ? kAllMet : kBadInput;
}

}  // namespace

void AddLint(CLI::App& app, int& exit_code) {
  auto files = std::make_shared<std::vector<std::string>>();
  CLI::App* command = app.add_subcommand("lint", "Check profile files; run nothing");
  command->add_option("files", *files, "Bench and scenario files")->required()->type_name("FILE...");
  command->footer("Example:\n  drycrank lint profiles/benches/*.yaml profiles/scenarios/*/*.yaml");
  command->callback([files, &exit_code] { exit_code = Lint(*files); });
}

}  // namespace drycrank::tools
