// SPDX-License-Identifier: Apache-2.0
//
// `drycrank schedule` and its subcommands: import, check, draw, cut, diff.
#ifndef DRYCRANK_TOOLS_SCHEDULE_COMMAND_H_
#define DRYCRANK_TOOLS_SCHEDULE_COMMAND_H_

#include <optional>
#include <string>
#include <vector>

#include "schedule/import.h"
#include "tools/commands.h"

namespace drycrank::tools {

void AddScheduleImport(CLI::App& schedule, int& exit_code);
void AddScheduleCheck(CLI::App& schedule, int& exit_code);
void AddScheduleCut(CLI::App& schedule, int& exit_code);
void AddScheduleDraw(CLI::App& schedule, int& exit_code);
void AddScheduleDiff(CLI::App& schedule, int& exit_code);

// A bench, not a sheet.
bool IsYaml(const std::string& file);
// `--column from_connector="Von Stecker"`, as given.
void AddColumnOption(CLI::App& command, std::vector<std::string>& words);
// The file read by these columns. Nothing when file or words cannot be read; that is then said on
// standard error.
std::optional<schedule::Imported> ReadScheduleCsv(const std::string& file,
                                                  const std::vector<std::string>& column_words);
// How the file was taken, for people.
std::string TakenText(const schedule::Imported& imported);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_SCHEDULE_COMMAND_H_
