// SPDX-License-Identifier: Apache-2.0
//
// `drycrank judge` for a recording of bus traffic that no run of ours made.
#ifndef DRYCRANK_TOOLS_JUDGE_RECORDING_H_
#define DRYCRANK_TOOLS_JUDGE_RECORDING_H_

#include <string>
#include <vector>

#include "profile/scenario_file.h"
#include "tools/commands.h"

namespace drycrank::tools {

struct RecordingToJudge {
  const profile::Bench& bench;
  const profile::Scenario& scenario;
  std::string path;
  std::vector<std::string> buses;  // "vehicle=can0"
};
// The exit code.
int JudgeRecording(const RecordingToJudge& given, const ReportFiles& files);

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_JUDGE_RECORDING_H_
