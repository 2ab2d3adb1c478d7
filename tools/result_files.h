// SPDX-License-Identifier: Apache-2.0
//
// Where the files of a command go, asked before it does anything (io/result_place.h).
#ifndef DRYCRANK_TOOLS_RESULT_FILES_H_
#define DRYCRANK_TOOLS_RESULT_FILES_H_

#include <string>
#include <vector>

#include "io/result_place.h"
#include "profile/scenario_file.h"
#include "tools/commands.h"
#include "tools/recording_options.h"

namespace drycrank::tools {

// How our results are known (io/result_place.h).
using io::kJsonMark, io::kJunitMark, io::kPageMark;
inline constexpr io::ResultMark kDrawingMark{"<!-- drawn by drycrank -->"};
inline constexpr io::ResultMark kValuesMark{"t_s,signal,value,unit"};
// Of a recording, by its ending.
io::ResultMark RecordingMark(const std::string& path);
// A recording and its numbered parts that are there already.
std::vector<io::ResultFile> RecordingsOf(const RecordingWish& wish);

// May files of these names come into `folder`, which --out names? `record` as in io/result_place.h.
[[nodiscard]] std::string WhyNotInto(const std::string& folder, std::vector<io::ResultFile> files,
                                     const std::vector<std::string>& inputs,
                                     const std::string& record = "");
// What is there of such results is of before, and is taken away: a run that is killed leaves no old verdict.
void TakeAway(const ReportFiles& files);

// --html, --json, --junit.
std::vector<io::ResultFile> ResultsOf(const ReportFiles& files);
// The files that a scenario is read from, recordings that it replays included.
std::vector<std::string> InputsOf(std::vector<std::string> files,
                                  const profile::Scenario& scenario);
// For an option that names a file or a folder: a shell variable that is empty is no name.
CLI::Validator HasName();
// Empty, or which word of the command line a terminal would obey: it is not to be said back by any message.
std::string WhyNotSaid(int argc, char** argv);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_RESULT_FILES_H_
