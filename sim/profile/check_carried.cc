// SPDX-License-Identifier: Apache-2.0
//
// What each signal of a message carries: a value that its sender has, in a unit that fits.
#include <fmt/format.h>

#include "profile/controller_values.h"
#include "profile/load_bench.h"
#include "profile/power_node.h"
#include "profile/protection.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

std::vector<CarriedValue> StimulusValues(const Bench& bench) {
  std::vector<CarriedValue> sources;
  for (const Stimulus& s : bench.stimuli) sources.push_back({s.name, s.unit});
  for (const PowerNode& node : bench.power_nodes) {
    for (const PowerChannel& channel : node.channels) {
      for (const std::string_view value : kChannelValues) {
        sources.push_back({fmt::format("{}.{}.{}", node.name, channel.name, value),
                           value == kChannelValues[0] ? "A" : ""});
      }
    }
  }
  return sources;
}

std::vector<CarriedValue> DisplayValues(const Display& display) {
  std::vector<CarriedValue> sources;
  for (const Gauge& g : display.gauges) {
    sources.push_back({g.name + ".shown", g.bar ? "" : g.unit});
    sources.push_back({g.name + ".state", ""});
    sources.push_back({g.name + ".unit", ""});
    sources.push_back({g.name + ".page", ""});
    sources.push_back({g.name + ".lamp", ""});
  }
  return sources;
}

void CheckSignal(Problems& problems, const Signal& signal, Sender sender,
                 const std::vector<CarriedValue>& sources) {
  if (signal.carries.empty()) return;
  const std::string what =
      sender == Sender::kSimulator ? "stimulus" : fmt::format("value of the {}", Name(sender));
  const int at = Resolve(problems, {signal.carries, signal.place}, NamesOf(sources), what);
  if (at < 0) return;
  CheckUnits(problems, signal.place,
             fmt::format("signal '{}' carries '{}'", signal.name, signal.carries),
             Nth(sources, at).unit, signal.unit);
}

std::vector<CarriedValue> ValuesOfController(const Bench& bench) {
  std::vector<CarriedValue> sources = ControllerValues(*bench.controller);
  for (const Protection& p : bench.protections) sources.push_back({CarriedBy(p), ""});
  return sources;
}

}  // namespace

void CheckCarried(BenchContext& c) {
  for (const Bus& bus : c.bench.buses) {
    for (const Message& message : bus.messages) {
      // A real controller or display says what it likes.
      if (message.sender == Sender::kController && !c.bench.controller) continue;
      if (message.sender == Sender::kDisplay && !c.bench.display) continue;
      const auto sources = message.sender == Sender::kSimulator ? StimulusValues(c.bench)
                           : message.sender == Sender::kController
                               ? ValuesOfController(c.bench)
                               : DisplayValues(*c.bench.display);
      for (const Signal& signal : message.signals) {
        CheckSignal(c.problems, signal, message.sender, sources);
      }
    }
  }
}

}  // namespace drycrank::profile
