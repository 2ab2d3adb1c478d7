// SPDX-License-Identifier: Apache-2.0
//
// The logic channels of a record, counted from 0: the controller's trigger inputs as its input
// circuits see them (1 high), then coils, where it fires them trailing coils, then injectors as it
// switches them (1 on), in its firing order; then the outputs that a protection switches off.
#ifndef DRYCRANK_RECORD_EDGE_CHANNELS_H_
#define DRYCRANK_RECORD_EDGE_CHANNELS_H_

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "run/observer.h"
#include "types/time.h"

namespace drycrank::record {

enum class ChannelKind : std::uint8_t { kTrigger, kCoil, kTrailingCoil, kInjector, kSwitch };
// "trigger", "coil", "trailing_coil", "injector", "switch"
const char* Name(ChannelKind kind);

struct EdgeChannel {
  ChannelKind kind = ChannelKind::kTrigger;
  std::string name;  // of the trigger, of the output; else as `coil_3`
  int cylinder = 0;  // of coils and injectors, from 1; of a switch: its index among the outputs

  friend bool operator==(const EdgeChannel&, const EdgeChannel&) = default;
};
using EdgeChannels = std::vector<EdgeChannel>;

// 24 cylinders with two coils and an injector each, 8 triggers, and 8 outputs that are switched.
inline constexpr std::size_t kMostEdgeChannels = 88;

// None without a controller.
EdgeChannels EdgeChannelsOf(const profile::Bench& bench);
// REQUIRES: the bench of `channels` has that cylinder.
std::size_t ChannelOf(const EdgeChannels& channels, const standin::OutputEvent& event);

// What a channel is at; not known before its first edge.
enum class Level : std::uint8_t { kLow, kHigh, kUnknown };

// At the begin of a run: outputs are off, triggers not known.
std::vector<Level> LevelsAtStart(const EdgeChannels& channels);

// What stands in a file of edges: one change of one channel.
struct ChannelEdge {
  TimeNs t_ns = 0;
  std::size_t channel = 0;
  bool high = false;

  friend bool operator==(const ChannelEdge&, const ChannelEdge&) = default;
};

}  // namespace drycrank::record

#endif  // DRYCRANK_RECORD_EDGE_CHANNELS_H_
