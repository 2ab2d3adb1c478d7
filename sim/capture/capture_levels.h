// SPDX-License-Identifier: Apache-2.0
//
// The first look at a capture: what stands in it, what the levels of each channel are like, and how
// its edges are to be found. One pass of the stream.
#ifndef DRYCRANK_CAPTURE_CAPTURE_LEVELS_H_
#define DRYCRANK_CAPTURE_CAPTURE_LEVELS_H_

#include <string>
#include <vector>

#include "capture/channel_map.h"
#include "capture/edge_finder.h"
#include "profile/bench.h"

namespace drycrank::capture {

struct ChannelLevels {
  MappedChannel about;
  EdgeRule rule;
  std::string how;          // "0 and 1", "threshold 2.31", "crossings of 0.02", "steps of 0.4"
  bool is_digital = false;  // the file says so, or a coil stands behind a comparator
  bool is_logic = false;    // its values are 0 and 1, too
  double rest = 0;          // the value that half of all lie below
  double height = 0;        // above or below it: all but one in fifty are lower
  double span = 0;          // from the lowest to the highest, without the few that lie outside
};

struct [[nodiscard]] CaptureLevels {
  TraceInfo info;
  TraceHints hints;
  double from_ns = 0, to_ns = 0;
  double step_ns = 0;  // between samples, the median; 0: rows stand where something changes
  std::uint64_t rows = 0;
  std::vector<TraceHole> holes;  // the first ones
  std::size_t hole_count = 0;
  TraceRepeats repeats;
  std::vector<ChannelLevels> channels;
  std::vector<std::string> unused;  // columns
  Diagnostics problems;
};
CaptureLevels ReadLevels(const std::string& path, const profile::Bench& bench, ChannelMap map);

// As the map says, of a value in the file.
double InUnits(const MappedChannel& channel, float value);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_CAPTURE_LEVELS_H_
