// SPDX-License-Identifier: Apache-2.0
//
// Shared by run and walk: a scenario on the bench of stand-ins or of real interfaces, played to
// its end, judged, kept and published.
#ifndef DRYCRANK_TOOLS_STAGE_H_
#define DRYCRANK_TOOLS_STAGE_H_

#include <CLI/CLI.hpp>
#include <functional>
#include <string>
#include <vector>

#include "io/folder_lock.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "tools/arming.h"
#include "tools/commands.h"
#include "tools/recording_options.h"

namespace drycrank::tools {

struct StageOptions {
  std::string out;
  std::uint64_t out_most_bytes = 0;
  bool overwrite = false;
  bool real_time = false;
  bool outputs = false, disarmed = false;  // of the bench: fed; and not armed all the same
  ArmingWish arming;
  bool quiet = false;
  std::vector<std::string> buses;
  std::vector<std::string> real;
  // For the sheet to sign: of the harness; of what is connected, as its own tool or page shows it.
  std::string serial, revision, controller_firmware, display_firmware;
  ReportFiles files;
  RecordingWish recording;
};
void AddOutputOptions(CLI::App& command, StageOptions& options);
void AddStageOptions(CLI::App& command, StageOptions& options);

// Empty, or why record, recording or reports cannot go where they are wanted. Asked before anything happens.
std::string WhyNotPlaced(const StageOptions& options, const std::vector<std::string>& inputs);

// The options that play the same again: " --real-time --bus vehicle=multicast".
std::string OptionsInWords(const StageOptions& options);

// Plays one more scenario on the same interfaces, unrecorded and unjudged. False: stopped from
// outside.
using PlayMore = std::function<bool(const profile::Scenario&)>;

struct Play {
  std::string program;  // "drycrank run", for messages
  const profile::Bench& bench;
  const profile::Scenario& scenario;
  std::uint64_t seed = 1;
  std::string hint_command;
  std::vector<std::string> files;          // profile files read, for the record
  std::vector<std::string> notes = {};     // for the report, before anything is played
  const io::FolderLock* folder = nullptr;  // the caller's, who goes on writing into it
  // Judge the record in options.out, if it is whole, instead of playing the scenario once more.
  bool take_up = false;
  // Every circuit is to be shown; `afterwards` weighs them.
  bool is_walk = false;
  // When the scenario is over and judged: may add to the report. Empty, or why it was cut short.
  std::function<std::string(report::Report&, const PlayMore&)> afterwards = {};
};

// Returns the exit code. Nothing is driven before interfaces are open and armed.
int PlayOnStage(const StageOptions& options, const Play& play);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_STAGE_H_
