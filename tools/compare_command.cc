// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "report/compare_reports.h"
#include "tools/commands.h"
#include "tools/compare_page.h"
#include "tools/result_files.h"
#include "tools/shown_files.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string was, now;
  ReportFiles files;
};

constexpr const char* kReportFile = "report.json";  // of a record
constexpr std::uintmax_t kLargestReport = std::uintmax_t{1} << 28;

int Fail(int code, const std::string& why) {
  fmt::print(stderr, "drycrank compare: {}\n", why);
  return code;
}

// The report that `path` is or holds; empty for what is none by its name.
std::string ReportAt(const std::string& path) {
  std::error_code none;
  const auto inside = std::filesystem::path(path) / kReportFile;
  if (std::filesystem::is_regular_file(inside, none)) return inside.string();
  return std::filesystem::path(path).extension() == ".json" ? path : std::string();
}

std::optional<report::ReadReport> ReadReportOf(const std::string& file) {
  std::error_code error;
  const auto bytes = std::filesystem::file_size(file, error);
  std::ifstream stream(file, std::ios::binary);
  std::string why;
  if (error || !stream || bytes > kLargestReport) {
    why = "cannot be read; name a record's folder, or what --json wrote";
  } else {
    const std::string text{std::istreambuf_iterator<char>(stream), {}};
    if (auto report = report::ParseReport(text, why)) return report;
  }
  Fail(kBadInput, fmt::format("{}: {}", file, why));
  return std::nullopt;
}

int CompareTheReports(const Options& options, const std::string& was_file,
                      const std::string& now_file) {
  const auto was = ReadReportOf(was_file), now = ReadReportOf(now_file);
  if (!was || !now) return kBadInput;
  const report::ReportComparison comparison = report::CompareReports(*was, *now);
  fmt::print("{}", report::Text(comparison));
  std::string problem;
  if (!options.files.json.empty()) {
    problem = WriteFile(options.files.json, report::Json(comparison));
  }
  if (problem.empty() && !options.files.junit.empty()) {
    problem = WriteFile(options.files.junit, report::JunitXml(comparison, now->bench));
  }
  if (!problem.empty()) return Fail(kBenchFailed, problem);
  return comparison.changes.empty() ? kAllMet : kExpectationFailed;
}

int CompareShown(const Options& options) {
  const auto was = ReadShownOf(options.was), now = ReadShownOf(options.now);
  if (!was || !now) return kBadInput;
  const sweep::Comparison comparison = sweep::Compare(*was, *now);
  fmt::print("{}", sweep::ComparisonText(comparison));
  std::string problem = WriteComparison(comparison, options.files, now->by.bench);
  if (problem.empty() && !options.files.html.empty()) {
    problem = WriteFile(options.files.html, ComparisonPage(*was, *now, comparison));
  }
  if (!problem.empty()) return Fail(kBenchFailed, problem);
  if (!comparison.changes.empty()) return kExpectationFailed;
  const bool is_all_shown = comparison.not_shown.empty() && !sweep::NothingCompared(comparison);
  return is_all_shown ? kAllMet : kNotShown;
}

int CompareResults(const Options& options) {
  const std::string was = ReportAt(options.was), now = ReportAt(options.now);
  const std::vector<std::string> inputs{options.was, options.was + "/" + kShownFile, was,
                                        options.now, options.now + "/" + kShownFile, now};
  if (const std::string why = io::WhyNotThere(ResultsOf(options.files), inputs); !why.empty()) {
    return Fail(kBadInput, why);
  }
  for (const std::string& path : {options.was, options.now}) {
    std::error_code none;
    if (!std::filesystem::exists(path, none)) {
      return Fail(kBadInput, path + ": no such file or folder; name two records, or two results");
    }
  }
  if (was.empty() != now.empty()) {
    return Fail(
        kBadInput,
        fmt::format("{} is a record, {} is none; a record is compared with a record, what a "
                    "display showed with what it showed",
                    was.empty() ? options.now : options.was,
                    was.empty() ? options.was : options.now));
  }
  if (!was.empty() && !options.files.html.empty()) {
    return Fail(kBadInput,
                "--html draws what a display showed; each of the two records has its own page");
  }
  return was.empty() ? CompareShown(options) : CompareTheReports(options, was, now);
}

}  // namespace

void AddCompare(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "compare", "Compare two records, or what a display showed before with what it shows now");
  command
      ->add_option(
          "before", options->was,
          "A record, its report as JSON, or a result of drycrank display sweep: file or folder")
      ->required()
      ->type_name("BEFORE");
  command->add_option("now", options->now, "Another one")->required()->type_name("NOW");
  command
      ->add_option("--html", options->files.html,
                   "Of a display: write it as a page, what changed drawn side by side")
      ->type_name("FILE");
  command->add_option("--json", options->files.json, "Write the comparison as JSON")
      ->type_name("FILE");
  command
      ->add_option("--junit", options->files.junit,
                   "Write it as JUnit XML, a case per readout, or per expectation and circuit")
      ->type_name("FILE");
  command->footer(
      "A sentence for each thing that changed, then how much is as before. That the two are of\n"
      "different benches, versions, seeds or witnesses is said as a note. Of records the outcomes\n"
      "of expectations, margins that moved by more than a tenth of their tolerance, and the "
      "states\n"
      "of circuits are compared.\n"
      "Exit codes: 0 nothing changed, 1 something did, 2 a file cannot be read, 4 a sweep ended "
      "too\n"
      "soon or was not answered, and what it has is as before; or the two have nothing in "
      "common.\n\n"
      "Examples:\n"
      "  drycrank compare displays/accepted.csv out/display --html out/changed.html\n"
      "  drycrank compare out/walk_in_may out/walk");
  command->callback([options, &exit_code] { exit_code = CompareResults(*options); });
}

}  // namespace drycrank::tools
