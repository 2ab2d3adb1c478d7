// SPDX-License-Identifier: Apache-2.0
#include "record/edge_channels.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <set>

#include "profile/protection.h"
#include "types/nth.h"

namespace drycrank::record {

namespace {

ChannelKind KindOf(OutputKind kind) {
  switch (kind) {
    case OutputKind::kCoil:
      return ChannelKind::kCoil;
    case OutputKind::kTrailingCoil:
      return ChannelKind::kTrailingCoil;
    case OutputKind::kInjector:
      return ChannelKind::kInjector;
    case OutputKind::kSwitch:
      return ChannelKind::kSwitch;
  }
  return ChannelKind::kCoil;
}

}  // namespace

const char* Name(ChannelKind kind) {
  switch (kind) {
    case ChannelKind::kTrigger:
      return "trigger";
    case ChannelKind::kCoil:
      return "coil";
    case ChannelKind::kTrailingCoil:
      return "trailing_coil";
    case ChannelKind::kInjector:
      return "injector";
    case ChannelKind::kSwitch:
      return "switch";
  }
  return "";
}

EdgeChannels EdgeChannelsOf(const profile::Bench& bench) {
  EdgeChannels channels;
  if (!bench.controller) return channels;
  for (const auto& trigger : bench.controller->triggers) {
    channels.push_back({ChannelKind::kTrigger, trigger.name, 0});
  }
  for (const ChannelKind kind :
       {ChannelKind::kCoil, ChannelKind::kTrailingCoil, ChannelKind::kInjector}) {
    if (kind == ChannelKind::kTrailingCoil && !bench.controller->decoder.trailing_deg) continue;
    for (const int cylinder : bench.controller->decoder.firing_order) {
      channels.push_back({kind, fmt::format("{}_{}", Name(kind), cylinder), cylinder});
    }
  }
  std::set<int> switched;
  for (const profile::Protection& protection : bench.protections) {
    if (protection.output >= 0) switched.insert(protection.output);
  }
  for (const int output : switched) {
    channels.push_back({ChannelKind::kSwitch, Nth(bench.controller->outputs, output).name, output});
  }
  return channels;
}

std::size_t ChannelOf(const EdgeChannels& channels, const standin::OutputEvent& event) {
  const ChannelKind kind = KindOf(event.kind);
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
