// SPDX-License-Identifier: Apache-2.0
//
// What the command line says of the plugs at which outputs stand, and of the wires behind them.
//
//   --plug crank=1:12     channel 1 stands at the plug of trigger crank; 12 V at full scale
//   --plug cam_intake=2   of a Hall sensor: conducts while channel 2 is above 0
//   --levels FILE         lines "coolant 10000", as they come: ohm, volts, 1 (closed) or 0
//   --fault YAML          in the wires between plugs and controller
#ifndef DRYCRANK_TOOLS_STANDIN_PLUGS_H_
#define DRYCRANK_TOOLS_STANDIN_PLUGS_H_

#include <string>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"
#include "run/heard_wires.h"

namespace drycrank::tools {

struct PlugWords {
  std::vector<std::string> plugs, faults;
  std::string levels;
  bool given() const { return !plugs.empty() || !faults.empty() || !levels.empty(); }
};

struct [[nodiscard]] ReadPlugs {
  std::vector<run::Plug> plugs;
  std::vector<profile::Fault> faults;
  std::string problem;  // empty: none
};
ReadPlugs PlugsOf(const profile::Bench& bench, const PlugWords& words);
// The highest channel, from 1 on.
int ChannelsNeeded(const std::vector<run::Plug>& plugs);
// What stands where, one line each.
std::vector<std::string> InWords(const profile::Bench& bench, const ReadPlugs& read);

// Levels from a file or a named pipe, as somebody writes them; never waits.
class LevelLines {
 public:
  ~LevelLines();
  // Empty, or why not.
  std::string Open(const std::string& path);
  // What has come since the last call. Empty, or what is wrong with it.
  std::string Take(run::HeardWires& wires);

 private:
  std::string path_, part_;
  int descriptor_ = -1, line_ = 0;  // from 1 on, the last that was read
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_STANDIN_PLUGS_H_
