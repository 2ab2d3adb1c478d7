// SPDX-License-Identifier: Apache-2.0
#include "plant/hearing.h"

#include <algorithm>

#include "harness/bus_pairs.h"
#include "harness/bus_pins.h"
#include "types/nth.h"

namespace drycrank::plant {
namespace {

using harness::ControllerNode;
using harness::DisplayNode;
using harness::kTap;

constexpr Party kParties[] = {Party::kComputer, Party::kController, Party::kDisplay};

std::vector<bool> SendersOf(const profile::Bench& bench, const profile::Bus& bus) {
  std::vector<bool> sends(bus.nodes.size(), false);
  for (const profile::Message& message : bus.messages) {
    const int node = message.sender == profile::Sender::kController ? ControllerNode(bench, bus)
                     : message.sender == profile::Sender::kDisplay  ? DisplayNode(bus)
                                                                    : kTap;
    if (node != kTap) Nth(sends, node) = true;
  }
  return sends;
}

Hearing HearingOn(const profile::Bench& bench, const profile::Bus& bus,
                  const harness::BusPair& pair) {
  Hearing hearing;
  const int nodes[] = {kTap, ControllerNode(bench, bus), DisplayNode(bus)};
  for (std::size_t from = 0; from < 3; ++from) {
    for (std::size_t to = 0; to < 3; ++to) {
      hearing.Set(kParties[from], kParties[to], pair.Hears(nodes[from], nodes[to]));
    }
    if (nodes[from] == kTap) continue;
    hearing.SetState(kParties[from], pair.StateOf(nodes[from]));
    hearing.SetPowered(kParties[from], pair.IsPowered(nodes[from]));
  }
  return hearing;
}

}  // namespace

const char* InWords(ErrorState state) {
  switch (state) {
    case ErrorState::kActive:
      return "error active";
    case ErrorState::kPassive:
      return "error passive: nobody acknowledges what it sends";
    case ErrorState::kBusOff:
      break;
  }
  return "bus off: it does not read back what it sends";
}

bool HasBusWires(const profile::Bench& bench) {
  return std::ranges::any_of(bench.buses,
                             [](const profile::Bus& bus) { return !bus.nodes.empty(); });
}

std::vector<Hearing> HearingOf(const profile::Bench& bench,
                               std::span<const profile::Fault* const> faults) {
  std::vector<Hearing> hearing(bench.buses.size());
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const profile::Bus& bus = bench.buses[b];
    if (bus.nodes.empty()) continue;
    hearing[b] = HearingOn(bench, bus, {bench, bus, faults, SendersOf(bench, bus)});
  }
  return hearing;
}

std::vector<Hearing> HearingOf(const profile::Bench& bench, harness::BusNetwork& network,
                               std::span<const profile::Fault* const> faults) {
  const std::vector<harness::BusPins> pins = network.With(faults);
  std::vector<Hearing> hearing(bench.buses.size());
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const profile::Bus& bus = bench.buses[b];
    if (bus.nodes.empty()) continue;
    hearing[b] = HearingOn(bench, bus, {bus, pins[b], SendersOf(bench, bus)});
  }
  return hearing;
}

}  // namespace drycrank::plant
