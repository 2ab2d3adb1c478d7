// SPDX-License-Identifier: Apache-2.0
#include "tools/schedule_command.h"

#include <fmt/format.h>

#include "report/text.h"
#include "yaml/include.h"
#include "yaml/nearest.h"

namespace drycrank::tools {
namespace {

// Nothing when a word is not column=heading; that is said.
std::optional<std::map<schedule::Column, std::string>> ColumnsOf(
    const std::vector<std::string>& words) {
  std::vector<std::string> known;
  for (int i = 0; i < schedule::kColumnCount; ++i) {
    known.emplace_back(schedule::NameOf(static_cast<schedule::Column>(i)));
  }
  std::map<schedule::Column, std::string> columns;
  for (const std::string& word : words) {
    const auto equals = word.find('=');
    const auto column = schedule::ColumnNamed(word.substr(0, equals));
    if (!column || equals == std::string::npos || equals + 1 == word.size()) {
      fmt::print(stderr, "--column {}: {}\n", word,
                 column
                     ? "write it with the heading: " + word.substr(0, equals) + "=\"From pin\""
                     : "there is no such column; " + yaml::Suggest(word.substr(0, equals), known));
      return std::nullopt;
    }
    columns[*column] = word.substr(equals + 1);
  }
  return columns;
}

}  // namespace

bool IsYaml(const std::string& file) {
  const std::string ending = std::filesystem::path(file).extension().string();
  return ending == ".yaml" || ending == ".yml";
}

void AddColumnOption(CLI::App& command, std::vector<std::string>& words) {
  command
      .add_option("--column", words,
                  "Which heading belongs to which column, where the guess is wrong: "
                  "from_connector, from_pin, "
                  "to_connector, to_pin, circuit, gauge, colour, length, splice, twist, fuse, notes")
      ->type_name("COLUMN=HEADING");
}

std::optional<schedule::Imported> ReadScheduleCsv(const std::string& file,
                                                  const std::vector<std::string>& column_words) {
  const auto columns = ColumnsOf(column_words);
  if (!columns) return std::nullopt;
  yaml::Problems problems;
  yaml::Files files(problems);
  const auto text = files.ReadText(file, {file, 0, 0});
  if (PrintProblems(problems.Sorted({file})) || !text) return std::nullopt;
  schedule::Imported imported = schedule::ImportCsv(file, *text, *columns);
  if (imported.is_readable) return imported;
  PrintProblems(imported.problems);
  return std::nullopt;
}

std::string TakenText(const schedule::Imported& imported) {
  const char* separator = imported.separator == ','   ? "commas"
                          : imported.separator == ';' ? "semicolons"
                                                      : "tabs";
  std::string text =
      fmt::format("{}: headings in line {}, columns separated by {}\n{}", imported.schedule.file,
                  imported.heading_line, separator, schedule::ColumnsText(imported));
  if (!imported.renamed.empty()) {
    text += "  names changed to letters, digits and _:\n";
    for (const auto& [from, to] : imported.renamed) {
      text += fmt::format("    '{}' becomes {}\n", report::PlainLine(from), to);
    }
  }
  for (const Diagnostic& note : imported.notes) text += "note: " + Format(note) + "\n";
  return text;
}

void AddSchedule(CLI::App& app, int& exit_code) {
  CLI::App* command = app.add_subcommand(
      "schedule", "The wiring schedule: take it from a spreadsheet, check it, draw it, cut its wires, compare two");
  command->require_subcommand(1);
  command->footer(
      "hw-notes/making-a-schedule.md shows how one is made.\n\n"
      "Examples:\n"
      "  drycrank schedule import profiles/schedules/kart.csv --out harness.yaml\n"
      "  drycrank schedule check profiles/benches/hill_climb.yaml\n"
      "  drycrank schedule draw profiles/benches/hill_climb.yaml --out out/drawings");
  AddScheduleImport(*command, exit_code);
  AddScheduleCheck(*command, exit_code);
  AddScheduleDraw(*command, exit_code);
  AddScheduleCut(*command, exit_code);
  AddScheduleDiff(*command, exit_code);
}

}  // namespace drycrank::tools
