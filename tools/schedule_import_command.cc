// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <memory>

#include "report/text.h"
#include "tools/result_files.h"
#include "tools/schedule_command.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

struct Options {
  std::string file, out;
  std::vector<std::string> columns;
  bool strict = false, overwrite = false;
};

// "119 wires, 10 fuses, 4 relays, ".
std::string WiresInWords(const schedule::Schedule& schedule) {
  const auto fuses = AsSize(std::ranges::count_if(schedule.wires, &schedule::ScheduleWire::IsFuse));
  std::string text = report::Counted(schedule.wires.size() - fuses, "wire") + ", ";
  if (fuses > 0) text += report::Counted(fuses, "fuse") + ", ";
  if (!schedule.relays.empty()) text += report::Counted(schedule.relays.size(), "relay") + ", ";
  return text;
}

int Import(const Options& options) {
  if (const std::string why = io::WhyNotThere(
          {{"--out", options.out, {"# A harness, made by `drycrank schedule import`"}}},
          {options.file});
      !why.empty()) {
    fmt::print(stderr, "drycrank schedule import: {}\n", why);
    return kBadInput;
  }
  const auto imported = ReadScheduleCsv(options.file, options.columns);
  if (!imported) return kBadInput;
  fmt::print("{}", TakenText(*imported));
  std::fflush(stdout);
  PrintProblems(imported->problems);
  const schedule::Schedule& schedule = imported->schedule;
  const std::size_t problems = imported->problems.size();
  if (schedule.wires.empty()) {
    fmt::print(stderr, "{} has no wire that can be read\n", options.file);
    return kBadInput;
  }
  if (options.strict && problems > 0) {
    fmt::print(stderr, "{}; nothing is written, as --strict asks\n",
               report::Counted(problems, "problem"));
    return kBadInput;
  }
  fmt::print("{}{}, {}", WiresInWords(schedule),
             report::Counted(schedule.connectors.size(), "connector"),
             report::Counted(schedule.splices.size(), "splice"));
  fmt::print("{}\n", problems == 0 ? "" : "; what could not be read is left out");
  if (!options.out.empty()) {
    if (std::filesystem::exists(options.out) && !options.overwrite) {
      fmt::print(
          stderr,
          "drycrank schedule import: {} is there already, perhaps edited by hand; give another "
          "name, or --overwrite\n",
          options.out);
      return kBadInput;
    }
    const std::string trouble = WriteFile(options.out, schedule::HarnessYaml(schedule));
    if (!trouble.empty()) {
      fmt::print(stderr, "drycrank schedule import: {}\n", trouble);
      return kBenchFailed;
    }
    fmt::print("Written to {}. A bench takes it with 'include: {}'.\n", options.out, options.out);
  }
  return problems == 0 ? kAllMet : kExpectationFailed;
}

}  // namespace

void AddScheduleImport(CLI::App& schedule, int& exit_code) {
  auto options = std::make_shared<Options>();
  CLI::App* command =
      schedule.add_subcommand("import", "Make a bench's harness of a spreadsheet saved as CSV");
  command->add_option("file", options->file, "Wiring schedule")->required()->type_name("FILE.csv");
  AddColumnOption(*command, options->columns);
  command
      ->add_option("--out", options->out, "Where the harness is written; left out: only looked at")
      ->type_name("HARNESS.yaml");
  command->add_flag("--overwrite", options->overwrite, "Replace the harness that is there");
  command->add_flag("--strict", options->strict, "Write nothing when a line cannot be read");
  command->footer(
      "One line of the sheet is one wire: connector and pin at both ends (in one column or two),\n"
      "circuit, gauge, colour, length, splice, twist, notes. A splice is an end without a pin.\n"
      "Separators, quotes, decimal commas and the headings' meaning are found out and said.\n\n"
      "Exit codes: 0 every line was read, 1 some were not (the others are written), 2 none.\n\n"
      "Examples:\n"
      "  drycrank schedule import profiles/schedules/kart.csv --out harness.yaml\n"
      "  drycrank schedule import loom.csv --column from_connector=\"Von Stecker\" --out "
      "harness.yaml");
  command->callback([options, &exit_code] { exit_code = Import(*options); });
}

}  // namespace drycrank::tools
