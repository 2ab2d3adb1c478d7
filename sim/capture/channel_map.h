// SPDX-License-Identifier: Apache-2.0
//
// What stands in which column of a capture: a YAML map, or without one, columns named as the bench
// names its triggers and outputs.
//
//   kind: capture
//   format: 1
//   sample_rate_hz: 48 kHz            # where the file does not say it
//   time_column: Time                 # of CSV, where it is not found by itself
//   channels:
//     crank: {column: CH1, scale: 10, zero_crossing: true}
//     cam_intake: {column: 2, threshold: 2.5, belt_teeth: 40}
//     coil_1: {column: D3, on: low}
//     clamp: {column: 4, is: injector_current, cylinder: 2}
//     second: {column: 5, is: trailing_coil, cylinder: 1}
//
// A channel is called as a trigger or output of the bench, or says what it `is`. `column`: name, or
// number from 1, without the column of times. A value is scale x (as in the file) + shift.
#ifndef DRYCRANK_CAPTURE_CHANNEL_MAP_H_
#define DRYCRANK_CAPTURE_CHANNEL_MAP_H_

#include <optional>
#include <string>
#include <vector>

#include "capture/trace.h"
#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::capture {

inline constexpr int kCaptureMapFormat = 1;

enum class Role { kTrigger, kCoil, kTrailingCoil, kInjector, kLevel };
enum class OnLevel { kFind, kHigh, kLow };

struct MappedChannel {
  std::string name;
  std::string column;  // as written; empty: the channel's name
  Place place;
  Role role = Role::kLevel;
  int trigger = -1;  // kTrigger: index into bench.triggers
  int cylinder = 0;  // kCoil, kTrailingCoil, kInjector
  int output = -1;   // index into controller.outputs; -1: none of them
  bool is_current = false;
  double scale = 1, shift = 0;
  std::optional<double> threshold;
  std::optional<bool> zero_crossing;  // nothing: by the pickup
  bool inverted = false;
  OnLevel on = OnLevel::kFind;
  int belt_teeth = 0;     // of the wheel that the belt or chain drives on this cam; 0: not said
  std::size_t index = 0;  // of the trace's channels, by Bind
};

struct [[nodiscard]] ChannelMap {
  TraceHints hints;
  std::vector<MappedChannel> channels;
  bool is_written = false;  // else it is to be made from the columns' names
  Diagnostics problems;
};
ChannelMap ReadMap(const std::string& path, const profile::Bench& bench);

// To the columns of the file. Without a written map the columns that the bench knows by name; a
// file of one column is the crank. What it did not use is in `unused`.
Diagnostics Bind(const std::string& file, const TraceInfo& info, const profile::Bench& bench,
                 ChannelMap& map, std::vector<std::string>& unused);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_CHANNEL_MAP_H_
