// SPDX-License-Identifier: Apache-2.0
#include "profile/load_slow_outputs.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <variant>

#include "profile/fault_relay.h"
#include "profile/output_device.h"
#include "profile/sensors.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

constexpr std::size_t kMostLines = 64;

// Two of them are the same; `same` says so, `what` calls it: "line 3".
template <class Channel, class Same, class What>
void CheckApart(BenchContext& c, const std::vector<Channel>& channels, const Same& same,
                const What& what) {
  for (std::size_t i = 0; i < channels.size(); ++i) {
    for (std::size_t before = 0; before < i; ++before) {
      if (!same(channels[i], channels[before])) continue;
      c.problems.Add(channels[i].place,
                     fmt::format("{} is that of '{}'", what(channels[i]), channels[before].name),
                     "give each channel one of its own");
    }
  }
}

// Value and count at both ends, or none of it. `unit`: as the keys end.
template <class Channel>
void CheckMeasured(BenchContext& c, const Channel& channel, const std::optional<double>& lowest,
                   const std::optional<double>& highest, const char* unit) {
  const bool all = lowest && highest && channel.highest_count;
  if (!all && (lowest || highest || channel.highest_count)) {
    c.problems.Add(channel.place, fmt::format("'{}' was measured in part", channel.name),
                   fmt::format("write at_lowest_{0}, at_highest_{0} and highest_count, or none of them",
                               unit));
  }
  if (!all) return;
  if (channel.lowest_count >= *channel.highest_count) {
    c.problems.Add(channel.place,
                   fmt::format("'{}' has counts {} to {}", channel.name, channel.lowest_count,
                               *channel.highest_count),
                   "write lowest_count below highest_count");
  }
  if (*lowest == *highest) {
    c.problems.Add(channel.place,
                   fmt::format("'{}' gives the same at both ends", channel.name),
                   "measure it at the lowest and at the highest count");
  }
}

// Half a step is as good as there. REQUIRES: the counts differ. `unit`: as the keys end.
void CheckSafe(BenchContext& c, const OutputChannel& channel, double safe, double at_lowest, double at_highest,
               int counts, const std::string& unit) {
  const auto [least, most] = std::minmax(at_lowest, at_highest);
  const double half = (most - least) / counts / 2;
  if (safe >= least - half && safe <= most + half) return;
  const auto shown = [&](double value) { return WithUnit(fmt::format("{:g}", value), unit); };
  c.problems.Add(channel.place,
                 fmt::format("'{}' would be safe at {}, and it gives {} to {}", channel.name, shown(safe),
                             shown(least), shown(most)),
                 fmt::format("write safe_{} within this range", unit == "V" ? "v" : "ohm"));
}
template <class Channel>
void CheckSafe(BenchContext& c, const Channel& channel, const std::optional<double>& safe,
               const std::optional<double>& lowest, const std::optional<double>& highest, const char* unit) {
  if (!safe || !lowest || !highest || !channel.highest_count) return;
  const int counts = *channel.highest_count - channel.lowest_count;
  if (counts > 0) CheckSafe(c, channel, *safe, *lowest, *highest, counts, unit);
}

template <class Kind>
void CheckDevices(BenchContext& c, const Kind& kind) {
  CheckApart(
      c, kind.channels,
      [](const auto& a, const auto& b) {
        return !a.channel.empty() && a.device == b.device && a.channel == b.channel;
      },
      [](const auto& at) { return fmt::format("{} of {}", at.channel, at.device); });
  constexpr bool kOhm = std::is_same_v<Kind, out::Potentiometer>;
  for (const auto& channel : kind.channels) {
    if (channel.channel.empty() || channel.channel.starts_with("resistance") == kOhm) continue;
    c.problems.Add(channel.place,
                   fmt::format("'{}' is no channel of a {}", channel.channel,
                               kOhm ? "digital potentiometer" : "DAC"),
                   kOhm ? "write one as channel: resistance0" : "write one as channel: voltage0");
  }
}

bool IsSwitch(const BenchContext& c, const OutputChannel& channel) {
  return channel.of == OutputChannel::Of::kSensor &&
         std::holds_alternative<SwitchSensor>(Nth(c.bench.sensors, channel.index).model);
}

void CheckRelay(BenchContext& c, const out::CanNode::Channel& channel) {
  if (!channel.output || channel.analogue) {
    c.problems.Add(channel.place, fmt::format("'{}' is a relay", channel.name), "give it 'output' alone");
  }
  if (channel.safe == out::Contact::kClosed) {
    c.problems.Add(channel.place, fmt::format("'{}' would be in while nobody drives it", channel.name),
                   "leave out 'safe': at rest there is no fault");
  }
}

void CheckNodeChannel(BenchContext& c, const out::CanNode::Channel& channel) {
  if (IsFaultRelay(channel)) return CheckRelay(c, channel);
  if (channel.output.has_value() == channel.analogue.has_value()) {
    c.problems.Add(channel.place,
                   fmt::format("channel '{}' has {} output and analogue", channel.name,
                               channel.output ? "both" : "neither"),
                   "write 'output: 0' for a switch, or 'analogue: 0' for a voltage");
    return;
  }
  if (IsSwitch(c, channel) != channel.output.has_value()) {
    c.problems.Add(channel.place,
                   fmt::format("{} is {} switch", InWords(channel), channel.output ? "no" : "a"),
                   channel.output ? "give it an analogue output" : "give it 'output'");
  }
  if (!channel.analogue) return;
  if (!channel.at_highest_v || *channel.at_highest_v == channel.at_lowest_v) {
    c.problems.Add(channel.place,
                   fmt::format("it is not known what analogue output {} gives", *channel.analogue),
                   "write at_highest_v, from its data sheet or measured");
  }
  if (channel.lowest_count >= channel.highest_count) {
    c.problems.Add(channel.place,
                   fmt::format("'{}' has counts {} to {}", channel.name, channel.lowest_count,
                               channel.highest_count),
                   "write lowest_count below highest_count");
    return;
  }
  if (!channel.at_highest_v || *channel.at_highest_v == channel.at_lowest_v) return;
  CheckSafe(c, channel, channel.safe_v, channel.at_lowest_v, *channel.at_highest_v,
            channel.highest_count - channel.lowest_count, "V");
}

}  // namespace

void CheckOutput(BenchContext& c, Reader& r, const out::Gpio& gpio) {
  CheckApart(
      c, gpio.channels,
      [](const auto& a, const auto& b) { return a.line >= 0 && a.line == b.line; },
      [](const auto& at) { return fmt::format("line {}", at.line); });
  for (const out::Gpio::Channel& channel : gpio.channels) {
    if (channel.line != gpio.stop_line) continue;
    c.problems.Add(channel.place, fmt::format("line {} is the stop line", channel.line),
                   "give the channel another line");
  }
  if (gpio.channels.size() <= kMostLines) return;
  r.Complain("channels", fmt::format("{} lines", gpio.channels.size()),
             fmt::format("write no more than {} for one output", kMostLines));
}

void CheckOutput(BenchContext& c, Reader&, const out::Dac& dac) {
  CheckDevices(c, dac);
  for (const out::Dac::Channel& channel : dac.channels) {
    CheckMeasured(c, channel, channel.at_lowest_v, channel.at_highest_v, "v");
    CheckSafe(c, channel, channel.safe_v, channel.at_lowest_v, channel.at_highest_v, "V");
  }
}

void CheckOutput(BenchContext& c, Reader&, const out::Potentiometer& potentiometer) {
  CheckDevices(c, potentiometer);
  for (const out::Potentiometer::Channel& channel : potentiometer.channels) {
    CheckMeasured(c, channel, channel.at_lowest_ohm, channel.at_highest_ohm, "ohm");
    CheckSafe(c, channel, channel.safe_ohm, channel.at_lowest_ohm, channel.at_highest_ohm, "ohm");
  }
}

void CheckOutput(BenchContext& c, Reader& r, const out::PowerSupply& supply) {
  if (r.Has("host") && supply.host.empty()) {
    r.Complain("host", "no address", "write where it is on the network, as host: 192.168.1.20");
  }
  for (std::size_t i = 1; i < supply.channels.size(); ++i) {
    c.problems.Add(supply.channels[i].place,
                   fmt::format("a supply has one output, and that is '{}'", supply.channels[0].name),
                   "name each supply in 'drives' by itself");
  }
}

void CheckOutput(BenchContext& c, Reader& r, const out::CanNode& node) {
  if (!node.bus.empty() && !node.bus.starts_with("socketcan:") && !node.bus.starts_with("multicast:")) {
    r.Complain("bus", fmt::format("no bus '{}' that a node could be on", node.bus),
               "write socketcan:can1, or multicast:GROUP:PORT for a node that is a program");
  }
  if (node.node == node.own_node) {
    r.Complain("node", fmt::format("node {} for itself and for this computer", node.node),
               "write two different numbers for node and own_node");
  }
  CheckApart(
      c, node.channels,
      [](const auto& a, const auto& b) {
        return (a.output && a.output == b.output) || (a.analogue && a.analogue == b.analogue);
      },
      [](const auto& at) {
        return at.output ? fmt::format("output {}", *at.output)
                         : fmt::format("analogue output {}", *at.analogue);
      });
  for (const out::CanNode::Channel& channel : node.channels) CheckNodeChannel(c, channel);
}

}  // namespace drycrank::profile
