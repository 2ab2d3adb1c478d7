// SPDX-License-Identifier: Apache-2.0
//
// What each signal of a message carries: a value that its sender has, in a unit that fits.
#include <fmt/format.h>

#include "profile/load_bench.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

std::vector<Source> StimulusSources(const Bench& bench) {
  std::vector<Source> sources;
  for (const Stimulus& s : bench.stimuli) sources.push_back({s.name, s.unit});
  return sources;
}

std::vector<Source> DisplaySources(const Display& display) {
  std::vector<Source> sources;
  for (const Gauge& g : display.gauges) {
    sources.push_back({g.name + ".shown", g.unit});
    sources.push_back({g.name + ".state", ""});
    sources.push_back({g.name + ".unit", ""});
  }
  return sources;
}

void CheckSignal(Problems& problems, const Signal& signal, Sender sender,
                 const std::vector<Source>& sources) {
  if (signal.carries.empty()) return;
  const std::string what =
      sender == Sender::kSimulator ? "stimulus" : fmt::format("value of the {}", Name(sender));
  const int at = Resolve(problems, {signal.carries, signal.place}, NamesOf(sources), what);
  if (at < 0) return;
  CheckUnits(problems, signal.place,
             fmt::format("signal '{}' carries '{}'", signal.name, signal.carries),
             Nth(sources, at).unit, signal.unit);
}

}  // namespace

std::vector<Source> ControllerSources(const Controller& k) {
  std::vector<Source> sources = {
      {"engine_speed", "rpm"}, {"sync_state", ""},      {"sync_losses", ""},
      {"sync_reason", ""},     {"supply_voltage", "V"}, {"cycles", ""},
      {"injections", ""},      {"ignitions", ""},       {"sensor_faults", ""}};
  for (const TriggerChannel& t : k.triggers) sources.push_back({"cam_angle." + t.name, "deg"});
  for (const AnalogChannel& a : k.analog) {
    sources.push_back({a.name, a.unit});
    sources.push_back({a.name + ".fault", ""});
  }
  for (const FrequencyChannel& f : k.frequency) {
    sources.push_back({f.name, f.unit});
    sources.push_back({f.name + ".fault", ""});
  }
  return sources;
}

void CheckCarried(BenchContext& c) {
  for (const Bus& bus : c.bench.buses) {
    for (const Message& message : bus.messages) {
      // A real controller or display says what it likes.
      if (message.sender == Sender::kController && !c.bench.controller) continue;
      if (message.sender == Sender::kDisplay && !c.bench.display) continue;
      const auto sources = message.sender == Sender::kSimulator ? StimulusSources(c.bench)
                           : message.sender == Sender::kController
                               ? ControllerSources(*c.bench.controller)
                               : DisplaySources(*c.bench.display);
      for (const Signal& signal : message.signals) {
        CheckSignal(c.problems, signal, message.sender, sources);
      }
    }
  }
}

}  // namespace drycrank::profile
