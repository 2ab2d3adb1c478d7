// SPDX-License-Identifier: Apache-2.0
//
// A capture file and what stands in its columns to edges per channel, in two passes of the stream:
// what the levels are like, then the edges.
#ifndef DRYCRANK_CAPTURE_READ_CAPTURE_H_
#define DRYCRANK_CAPTURE_READ_CAPTURE_H_

#include <optional>
#include <string>
#include <vector>

#include "capture/capture_levels.h"
#include "capture/channel_map.h"
#include "capture/edge_finder.h"
#include "profile/bench.h"

namespace drycrank::capture {

struct CapturedChannel {
  MappedChannel about;
  bool is_wave = false;     // crossings of rest: of a coil's voltage itself
  bool is_digital = false;  // 0 and 1
  std::string how;          // "0 and 1", "threshold 2.31 V", "crossings of 0.02 V", "steps of 0.4"
  std::vector<SeenChange> changes;
  bool cut = false;               // there were more than are looked at
  std::vector<double> swings_ns;  // swings.h
  double step_ns = 0;             // between samples; 0: rows stand where something changes
};

struct [[nodiscard]] ReadResult {
  std::string format;
  double from_ns = 0, to_ns = 0;
  double step_ns = 0;  // between samples, the median; 0: rows stand where something changes
  std::uint64_t rows = 0;
  bool uneven = false;           // rows by no clock: whether some are missing nobody can tell
  std::vector<TraceHole> holes;  // the first ones
  std::size_t hole_count = 0;
  TraceRepeats repeats;  // rows that were left out
  std::vector<CapturedChannel> channels;
  std::vector<std::string> unused;  // columns
  Diagnostics problems;
};
// The second pass of a file whose levels are known.
ReadResult ReadEdges(const std::string& path, const CaptureLevels& levels);
ReadResult ReadCaptureFile(const std::string& path, const profile::Bench& bench, ChannelMap map);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_READ_CAPTURE_H_
