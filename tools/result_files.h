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

namespace drycrank::tools {

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
