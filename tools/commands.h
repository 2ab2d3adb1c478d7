// SPDX-License-Identifier: Apache-2.0
//
// The command line. One subcommand, one file; each adds itself to the parser and sets the exit code.
#ifndef DRYCRANK_TOOLS_COMMANDS_H_
#define DRYCRANK_TOOLS_COMMANDS_H_

#include <CLI/CLI.hpp>
#include <memory>
#include <string>
#include <vector>

#include "bus/can_bus.h"
#include "check/checker.h"
#include "profile/bench.h"
#include "report/report.h"
#include "types/clock.h"
#include "types/diagnostic.h"

namespace drycrank::tools {

// Exit codes.
inline constexpr int kAllMet = 0;
inline constexpr int kExpectationFailed = 1;
inline constexpr int kBadInput = 2;     // nothing was driven
inline constexpr int kBenchFailed = 3;  // interface or output trouble
// Something was not shown: a circuit of a walk, an answer, the rest of a stopped run, anything at all.
inline constexpr int kNotShown = 4;

int Main(int argc, char** argv);

void AddRun(CLI::App& app, int& exit_code);
void AddJudge(CLI::App& app, int& exit_code);
void AddProofread(CLI::App& app, int& exit_code);
void AddMessages(CLI::App& app, int& exit_code);
void AddSignals(CLI::App& app, int& exit_code);
void AddConvert(CLI::App& app, int& exit_code);
void AddDecode(CLI::App& app, int& exit_code);
void AddDoctor(CLI::App& app, int& exit_code);
void AddTell(CLI::App& app, int& exit_code);
void AddWalk(CLI::App& app, int& exit_code);
void AddSign(CLI::App& app, int& exit_code);
void AddDiagnose(CLI::App& app, int& exit_code);
void AddCampaign(CLI::App& app, int& exit_code);
void AddSchedule(CLI::App& app, int& exit_code);
void AddSettings(CLI::App& app, int& exit_code);
void AddDisplay(CLI::App& app, int& exit_code);
void AddCompare(CLI::App& app, int& exit_code);

// ---- shared by several of them ----------------------------------------------------------------

// Each problem on a line of its own, to standard error. True when there was any.
bool PrintProblems(const Diagnostics& problems);

// Of a seed: a whole number from 0 to 18446744073709551615, which the parser would bend to fit.
CLI::Validator IsSeed();
// As the parser's own, which takes what is no number for one within.
class InRange : public CLI::Range {
 public:
  InRange(double low, double high);
};

// Where the report goes besides the terminal.
struct ReportFiles {
  std::string html, json, junit;
};
void AddReportOptions(CLI::App& command, ReportFiles& files);
// A terminal that takes colours and orders to go back in a line: not one of TERM=dumb, or of no kind.
bool IsObeyingTerminal(int descriptor);
// Of standard output's terminal; 100 of what is none.
int Columns();
// False: whoever writes there now waits, as for a terminal that was made to stand still.
bool TakesText(int descriptor);
// The table to standard output, files as asked. Empty, or the file that could not be written.
[[nodiscard]] std::string Publish(const report::Report& report, const ReportFiles& files);
// A failed expectation or circuit first; then what could not be observed (kBenchFailed); then what was
// not shown.
int ExitCodeOf(const report::Report& report);
[[nodiscard]] std::string WriteFile(const std::string& path, const std::string& text);

// "vehicle=socketcan:can0" per bus of the bench; the others stay inside this process.
struct [[nodiscard]] OpenInterfaces {
  std::vector<std::unique_ptr<bus::CanBus>> owned;
  std::vector<bus::CanBus*> by_bus;
  bool AnyReal() const;    // hardware may listen
  std::string problem;     // empty on success
  bool bad_input = false;  // the words were wrong, not the world
};
OpenInterfaces Open(const profile::Bench& bench, const std::vector<std::string>& words,
                    Clock& clock);

// SIGINT, SIGTERM and SIGHUP end a run cleanly instead of cutting it.
void CatchStopSignals();
bool StopAsked();
// "stopped by INT"; empty: not asked.
std::string WhyStopped();

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_COMMANDS_H_
