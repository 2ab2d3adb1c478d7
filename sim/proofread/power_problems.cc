// SPDX-License-Identifier: Apache-2.0
#include "proofread/power_problems.h"

#include <fmt/format.h>

#include <optional>
#include <string>

#include "profile/power_node.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::proofread {
namespace {

using profile::Bench;

// The message that drycrank sends with it.
const profile::Message* CarrierOf(const Bench& bench, const std::string& carried) {
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::Message& message : bus.messages) {
      if (message.sender != profile::Sender::kSimulator) continue;
      for (const profile::Signal& signal : message.signals) {
        if (signal.carries == carried) return &message;
      }
    }
  }
  return nullptr;
}

std::optional<double> MostDrawnA(const Bench& bench, const profile::PowerChannel& channel) {
  const profile::Stimulus& load = Nth(bench.stimuli, channel.load);
  return load.max > load.min ? Convert(load.max, load.unit, "A") : std::nullopt;
}

void OfChannel(const Bench& bench, const std::string& node, const profile::PowerChannel& channel,
               Diagnostics& out) {
  const std::string name = fmt::format("{}.{}", node, channel.name);
  const auto most_a = MostDrawnA(bench, channel);
  if (most_a && *most_a <= channel.rated_a) {
    out.push_back({channel.place,
                   fmt::format("'{}' can never trip: it is rated {:g} A, and its load draws {:g} A "
                               "at most",
                               name, channel.rated_a, *most_a),
                   "a rated current that its load can pass, or a load with a higher max"});
  }
  const profile::Message* message = CarrierOf(bench, name + ".channel_state");
  if (message == nullptr) {
    out.push_back({channel.place,
                   fmt::format("no message says that '{}' has tripped", name),
                   fmt::format("a signal with 'carries: {}.channel_state'", name)});
    return;
  }
  if (channel.retries > 0 && channel.retry_after_ms < message->period_ms) {
    out.push_back({channel.place,
                   fmt::format("'{}' is tripped for {:g} ms, and message '{}' comes every {:g} ms: "
                               "a trip may not be seen",
                               name, channel.retry_after_ms, message->name, message->period_ms),
                   "a longer retry_after_ms, or a faster message"});
  }
}

}  // namespace

Diagnostics PowerProblems(const Bench& bench) {
  Diagnostics out;
  for (const profile::PowerNode& node : bench.power_nodes) {
    for (const profile::PowerChannel& channel : node.channels) {
      OfChannel(bench, node.name, channel, out);
    }
  }
  return out;
}

}  // namespace drycrank::proofread
