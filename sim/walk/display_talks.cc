// SPDX-License-Identifier: Apache-2.0
#include "walk/display_talks.h"

#include <algorithm>
#include <string>

#include "profile/bus_nodes.h"
#include "types/nth.h"
#include "walk/device_wires.h"

namespace drycrank::walk {
namespace {

using profile::Bench;
using profile::Expectation;
namespace expect = profile::expect;

constexpr double kWakesS = 1;          // after power, before its first message
constexpr double kLeastJitterMs = 50;  // it draws meanwhile

Expectation Talks(const Bench& bench, const profile::MessageRef& ref,
                  const std::vector<std::string>& terminals) {
  const profile::Message& message = MessageAt(bench, ref);
  const double jitter_ms = std::max(message.period_ms, kLeastJitterMs);
  Expectation e;
  e.name = "display_talks_on_" + Nth(bench.buses, ref.bus).name;
  e.kind = expect::MessagePresent{ref, message.name, message.period_ms, jitter_ms};
  e.settle_s = kWakesS;
  e.proves = CircuitsOf(bench, terminals);
  e.means =
      "Nothing comes from the display. Dark: look for its supply and its ground. Lit, and nothing "
      "but dashes: look for CANH and CANL, at its plug first; with the key off 60 ohm lie between "
      "them.";
  return e;
}

}  // namespace

std::vector<std::string> TerminalsOf(const Bench& bench, const profile::BusNode& node) {
  std::vector<std::string> terminals = {node.high, node.low};
  const int load = profile::IndexOf(bench.loads, node.name);
  if (load < 0) return terminals;
  terminals.push_back(Nth(bench.loads, load).plus);
  terminals.push_back(Nth(bench.loads, load).minus);
  return terminals;
}

std::vector<Expectation> ControllerTalks(const Bench& bench) {
  std::vector<Expectation> all;
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const profile::Bus& bus = bench.buses[b];
    const int node = profile::NodeOfController(bench, bus);
    const auto message = std::ranges::find_if(bus.messages, [](const profile::Message& m) {
      return m.sender == profile::Sender::kController && m.period_ms > 0;
    });
    if (node < 0 || message == bus.messages.end()) continue;
    const profile::BusNode& at = Nth(bus.nodes, node);
    all.push_back(Talks(bench,
                        {static_cast<int>(b), static_cast<int>(message - bus.messages.begin())},
                        {at.high, at.low, bench.controller->supply, bench.controller->ground}));
    all.back().name = "controller_talks_on_" + bus.name;
    all.back().means =
        "Nothing of the controller is heard on bus " + bus.name +
        ". Look for its supply and its ground (where it fires or injects, it has them), then for "
        "CANH and CANL, at its plug first; with the key off 60 ohm lie between them. What a "
        "display shows then is no fault of the display.";
  }
  return all;
}

std::vector<Expectation> DisplayTalks(const Bench& bench) {
  std::vector<Expectation> all;
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const profile::Bus& bus = bench.buses[b];
    const int node = profile::IndexOf(bus.nodes, "display");
    const auto message = std::ranges::find_if(bus.messages, [](const profile::Message& m) {
      return m.sender == profile::Sender::kDisplay && m.period_ms > 0;
    });
    if (node < 0 || message == bus.messages.end()) continue;
    const profile::MessageRef ref{static_cast<int>(b),
                                  static_cast<int>(message - bus.messages.begin())};
    all.push_back(Talks(bench, ref, TerminalsOf(bench, Nth(bus.nodes, node))));
  }
  return all;
}

}  // namespace drycrank::walk
