// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <filesystem>

#include "tools/commands.h"
#include "tools/result_files.h"
#include "tools/shown_files.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string was, now;
  ReportFiles files;
};

int CompareResults(const Options& options) {
  const std::vector<std::string> inputs{options.was, options.was + "/" + kShownFile, options.now,
                                        options.now + "/" + kShownFile};
  if (const std::string why = io::WhyNotThere(ResultsOf(options.files), inputs); !why.empty()) {
    fmt::print(stderr, "drycrank compare: {}\n", why);
    return kBadInput;
  }
  const auto was = ReadShownOf(options.was), now = ReadShownOf(options.now);
  if (!was || !now) return kBadInput;
  const sweep::Comparison comparison = sweep::Compare(*was, *now);
  fmt::print("{}", sweep::ComparisonText(comparison));
  if (const std::string problem = WriteComparison(comparison, options.files, now->by.bench);
      !problem.empty()) {
    fmt::print(stderr, "drycrank compare: {}\n", problem);
    return kBenchFailed;
  }
  return comparison.changes.empty() ? kAllMet : kExpectationFailed;
}

}  // namespace

void AddCompare(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("compare", "Compare what a display showed before with what it shows now");
  command->add_option("before", options->was, "A result of drycrank display sweep: file or folder")
      ->required()
      ->type_name("BEFORE");
  command->add_option("now", options->now, "Another one")->required()->type_name("NOW");
  command->add_option("--json", options->files.json, "Write the comparison as JSON")
      ->type_name("FILE");
  command->add_option("--junit", options->files.junit, "Write it as JUnit XML, a case per readout")
      ->type_name("FILE");
  command->footer(
      "A sentence for each thing that changed, then how much is identical. That the two are of\n"
      "different benches, versions, seeds or witnesses is said as a note.\n"
      "Exit codes: 0 nothing changed, 1 something did, 2 a file cannot be read.\n\n"
      "Example:\n  drycrank compare displays/accepted.csv out/display");
  command->callback([options, &exit_code] { exit_code = CompareResults(*options); });
}

}  // namespace drycrank::tools
