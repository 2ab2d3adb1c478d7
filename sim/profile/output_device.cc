// SPDX-License-Identifier: Apache-2.0
#include "profile/output_device.h"

#include <fmt/format.h>

#include "profile/fault_relay.h"

namespace drycrank::profile {

std::vector<const OutputChannel*> ChannelsOf(const OutputDevice& output) {
  std::vector<const OutputChannel*> channels;
  std::visit(
      [&](const auto& kind) {
        for (const OutputChannel& channel : kind.channels) channels.push_back(&channel);
      },
      output.kind);
  return channels;
}

std::string InWords(const OutputChannel& channel) {
  if (IsFaultRelay(channel)) return fmt::format("a fault by relay: {}", channel.name);
  const char* const what = channel.of == OutputChannel::Of::kTrigger  ? "trigger"
                           : channel.of == OutputChannel::Of::kSensor ? "sensor"
                                                                      : "supply";
  return fmt::format("{} '{}'", what, channel.name);
}

}  // namespace drycrank::profile
