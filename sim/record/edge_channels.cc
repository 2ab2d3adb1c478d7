// SPDX-License-Identifier: Apache-2.0
#include "record/edge_channels.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>

#include "types/nth.h"

namespace drycrank::record {

const char* Name(ChannelKind kind) {
  switch (kind) {
    case ChannelKind::kTrigger:
      return "trigger";
    case ChannelKind::kCoil:
      return "coil";
    case ChannelKind::kInjector:
      return "injector";
  }
  return "";
}

EdgeChannels EdgeChannelsOf(const profile::Bench& bench) {
  EdgeChannels channels;
  if (!bench.controller) return channels;
  for (const auto& trigger : bench.controller->triggers) {
    channels.push_back({ChannelKind::kTrigger, trigger.name, 0});
  }
  for (const ChannelKind kind : {ChannelKind::kCoil, ChannelKind::kInjector}) {
    for (const int cylinder : bench.controller->decoder.firing_order) {
      channels.push_back({kind, fmt::format("{}_{}", Name(kind), cylinder), cylinder});
    }
  }
  return channels;
}

std::size_t ChannelOf(const EdgeChannels& channels, const standin::OutputEvent& event) {
  const ChannelKind kind =
      event.kind == standin::OutputKind::kCoil ? ChannelKind::kCoil : ChannelKind::kInjector;
  const auto at = std::find_if(channels.begin(), channels.end(), [&](const EdgeChannel& channel) {
    return channel.kind == kind && channel.cylinder == event.cylinder;
  });
  assert(at != channels.end());
  return AsSize(at - channels.begin());
}

std::vector<Level> LevelsAtStart(const EdgeChannels& channels) {
  std::vector<Level> levels;
  for (const EdgeChannel& channel : channels) {
    levels.push_back(channel.kind == ChannelKind::kTrigger ? Level::kUnknown : Level::kLow);
  }
  return levels;
}

}  // namespace drycrank::record
