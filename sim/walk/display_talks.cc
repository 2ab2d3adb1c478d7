// SPDX-License-Identifier: Apache-2.0
#include "walk/display_talks.h"

#include <algorithm>
#include <string>

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
                  const profile::BusNode& node) {
  const profile::Message& message = MessageAt(bench, ref);
  const double jitter_ms = std::max(message.period_ms, kLeastJitterMs);
  Expectation e;
  e.name = "display_talks_on_" + Nth(bench.buses, ref.bus).name;
  e.kind = expect::MessagePresent{ref, message.name, message.period_ms, jitter_ms};
  e.settle_s = kWakesS;
  e.proves = CircuitsOf(bench, TerminalsOf(bench, node));
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
    all.push_back(Talks(bench, ref, Nth(bus.nodes, node)));
  }
  return all;
}

}  // namespace drycrank::walk
