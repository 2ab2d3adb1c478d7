// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <filesystem>
#include <memory>

#include "io/folder_lock.h"
#include "profile/load.h"
#include "report/text.h"
#include "schedule/cut_list.h"
#include "tools/result_files.h"
#include "tools/schedule_command.h"

namespace drycrank::tools {
namespace {

namespace fs = std::filesystem;

constexpr io::ResultMark kCutsMark{"wire,circuit,length_m"}, kTotalsMark{"gauge,colour,wires"},
    kLabelsMark{"wire,at,goes_to"};

struct Options {
  std::string file, out;
  std::vector<std::string> columns;
};

struct Taken {
  schedule::Schedule schedule;
  std::string title;
  std::vector<std::string> files;
  bool is_whole = true;  // every line of the sheet was read
};

// Nothing when it cannot be read; that is said.
std::optional<Taken> Read(const Options& options) {
  if (!IsYaml(options.file)) {
    const auto imported = ReadScheduleCsv(options.file, options.columns);
    if (!imported) return std::nullopt;
    const bool whole = !PrintProblems(imported->problems);
    return Taken{imported->schedule, options.file, {options.file}, whole};
  }
  const profile::LoadedBench loaded = profile::LoadBench(options.file);
  if (PrintProblems(loaded.problems)) return std::nullopt;
  return Taken{schedule::ScheduleOf(*loaded.bench), loaded.bench->title, loaded.files};
}

int Fail(const std::string& problem, int exit_code) {
  fmt::print(stderr, "drycrank schedule cut: {}\n", problem);
  return exit_code;
}

int Write(const std::string& out, const Taken& taken, const schedule::CutList& list) {
  const std::string page = "<!DOCTYPE html>\n" + schedule::CutPage(list, taken.title).text() + "\n";
  const struct {
    const char* name;
    io::ResultMark mark;
    std::string text;
  } files[] = {{"cut_list.csv", kCutsMark, schedule::CutsCsv(list)},
               {"cut_totals.csv", kTotalsMark, schedule::TotalsCsv(list)},
               {"labels.csv", kLabelsMark, schedule::LabelsCsv(list)},
               {"cut_list.html", kPageMark, page}};
  std::vector<io::ResultFile> results;
  for (const auto& file : files) results.push_back({"", file.name, file.mark});
  if (const std::string why = WhyNotInto(out, results, taken.files); !why.empty()) {
    return Fail(why, kBadInput);
  }
  io::FolderLock folder;
  if (const std::string problem = folder.Take(out); !problem.empty()) return Fail(problem, kBadInput);
  for (const auto& file : files) {
    const std::string trouble = WriteFile((fs::path(out) / file.name).string(), file.text);
    if (!trouble.empty()) return Fail(trouble, kBenchFailed);
  }
  return kAllMet;
}

int Cut(const Options& options) {
  const auto taken = Read(options);
  if (!taken) return kBadInput;
  const schedule::CutList list = schedule::CutListOf(taken->schedule);
  if (const int failed = Write(options.out, *taken, list); failed != kAllMet) return failed;
  fmt::print("{0}/cut_list.csv: {1}; cut_totals.csv; labels.csv: both ends of each; all for paper: "
             "cut_list.html\n",
             options.out, report::Counted(list.cuts.size(), "wire"));
  int unknown = 0;
  for (const schedule::CutTotal& total : list.totals) unknown += total.unknown;
  if (unknown > 0) fmt::print("{} without a length: measure before you cut.\n", unknown);
  if (list.on_paper > 0) fmt::print("{} on paper only: left out.\n", list.on_paper);
  return taken->is_whole ? kAllMet : kExpectationFailed;
}

}  // namespace

void AddScheduleCut(CLI::App& schedule, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command = schedule.add_subcommand(
      "cut", "List the wires to cut, by gauge and colour, and a label for each of their ends");
  command->add_option("schedule", options->file, "Schedule (CSV), or a bench (YAML)")
      ->required()
      ->type_name("FILE");
  AddColumnOption(*command, options->columns);
  command->add_option("--out", options->out, "Folder for the lists (CSV) and the page (HTML)")
      ->required()
      ->check(HasName())
      ->type_name("DIR");
  command->footer(
      "A wire's number is its place in the schedule; fuses and what is on paper only have none.\n"
      "Lengths are those of the schedule: add what your crimps, loops and twists take.\n\n"
      "Exit codes: 0 every line was read, 1 some were not (the others are listed), 2 none.\n\n"
      "Examples:\n"
      "  drycrank schedule cut profiles/schedules/kart.csv --out out/cut\n"
      "  drycrank schedule cut profiles/benches/hill_climb.yaml --out out/cut");
  command->callback([options, &exit_code] { exit_code = Cut(*options); });
}

}  // namespace drycrank::tools
