// SPDX-License-Identifier: Apache-2.0
#include "proofread/bus_problems.h"

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "profile/wire_ends.h"
#include "types/nth.h"

namespace drycrank::proofread {
namespace {

std::string Late(const bus::MessageTiming& timing) {
  if (!timing.response_ns) return "may never get out";
  return fmt::format("can take {:.4g} ms", ToMs(*timing.response_ns));
}

Diagnostic GaugeProblem(const profile::Gauge& gauge, const profile::Message& message,
                        const profile::Bus& bus, const bus::MessageTiming& timing) {
  return {gauge.place,
          fmt::format(
              "gauge '{}' would go stale: it waits {:g} ms; message '{}' comes every {:g} ms "
              "and {} on bus '{}'",
              gauge.name, gauge.stale_ms, message.name, message.period_ms, Late(timing), bus.name),
          "a longer stale_ms, a shorter period_ms, or less on the bus before it"};
}

Diagnostic MessageProblem(const profile::Message& message, const profile::Bus& bus,
                          const bus::MessageTiming& timing) {
  return {message.place,
          fmt::format("message '{}' {} on bus '{}'; its next value comes after {:g} ms",
                      message.name, Late(timing), bus.name, ToMs(timing.period_ns)),
          "a longer period_ms, a lower id, a faster bus, or less on the bus before it"};
}

// Does a wire, through splices and plugs, lead from that pin to the same one of another node?
bool LeadsToAnother(const profile::Bench& bench, const profile::Bus& bus,
                    const profile::BusNode& node, std::string profile::BusNode::*pin) {
  std::vector<std::string> places = {node.*pin};
  for (std::size_t i = 0; i < places.size(); ++i) {
    const std::string at = places[i];
    for (const profile::Wire& wire : bench.wires) {
      if (!wire.fitted || (wire.from != at && wire.to != at)) continue;
      const std::string& far = wire.from == at ? wire.to : wire.from;
      const bool is_node = std::ranges::any_of(
          bus.nodes, [&](const profile::BusNode& other) { return &other != &node && other.*pin == far; });
      if (is_node) return true;
      if (std::ranges::count(places, far) == 0 && profile::IsJoint(bench, far)) places.push_back(far);
    }
  }
  return false;
}

// A pair of which one wire alone is drawn.
void AddHalfPairs(const profile::Bench& bench, const profile::Bus& bus, Diagnostics& problems) {
  for (const profile::BusNode& node : bus.nodes) {
    const bool high = LeadsToAnother(bench, bus, node, &profile::BusNode::high);
    if (high == LeadsToAnother(bench, bus, node, &profile::BusNode::low)) continue;
    problems.push_back({node.place,
                        fmt::format("node '{}' of bus '{}' has one wire of the pair: no wire leads "
                                    "from {} ({}) to another node",
                                    node.name, bus.name, high ? node.low : node.high,
                                    high ? "low" : "high"),
                        "the missing wire in wires:, or another pin at this node"});
  }
}

}  // namespace

Diagnostics NotCounted(const profile::Bench& bench, const std::vector<bus::BusTiming>& timing) {
  Diagnostics list;
  for (std::size_t b = 0; b < timing.size(); ++b) {
    const profile::Bus& bus = bench.buses[b];
    const auto count = std::ranges::count_if(
        timing[b].messages, [](const bus::MessageTiming& m) { return !m.is_counted; });
    if (count == 0) continue;
    list.push_back(
        {bus.place,
         fmt::format("{} message{} of bus '{}' without a period: no file says how often they "
                     "come",
                     count, count == 1 ? "" : "s", bus.name),
         "write period_ms where it is known"});
  }
  return list;
}

Diagnostics BusProblems(const profile::Bench& bench, const std::vector<bus::BusTiming>& timing) {
  Diagnostics problems;
  for (std::size_t b = 0; b < timing.size(); ++b) {
    const profile::Bus& bus = bench.buses[b];
    AddHalfPairs(bench, bus, problems);
    if (timing[b].load > 1) {
      problems.push_back(
          {bus.place,
           fmt::format("bus '{}' is more than full: {:.0f} % of {:g} kbit/s at worst", bus.name,
                       timing[b].load * 100, bus.bitrate_bps / 1e3),
           "a higher bitrate_bps, longer periods, fewer messages, or a second bus"});
    }
    for (const bus::MessageTiming& m : timing[b].messages) {
      if (!m.misses()) continue;
      const profile::Message& message = Nth(bus.messages, m.message);
      problems.push_back(m.gauge < 0
                             ? MessageProblem(message, bus, m)
                             : GaugeProblem(Nth(bench.display->gauges, m.gauge), message, bus, m));
    }
  }
  return problems;
}

}  // namespace drycrank::proofread
