// SPDX-License-Identifier: Apache-2.0
//
// The display: its own idea of the messages, and its gauges.
#include <fmt/format.h>

#include <algorithm>

#include "profile/keys_bus.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

void LoadLayouts(BenchContext& c, const Node* node, Display& display) {
  for (const Bus& bus : c.bench.buses) {
    display.layouts.insert(display.layouts.end(), bus.messages.begin(), bus.messages.end());
  }
  EachNamed(
      c.problems, node, "'layouts'",
      [&](const std::string& name, const Place& place, const Node& data) {
        Message own = LoadMessage(c.problems, name, place, data);
        const int at = Resolve(c.problems, {name, place}, NamesOf(display.layouts), "message");
        if (at >= 0) Nth(display.layouts, at) = std::move(own);
      });
}

// What the gauge shows, in the display's layouts. Null when it is not there.
const Signal* ReadShown(BenchContext& c, Reader& r, const Display& display, Gauge& gauge) {
  const auto ref = r.GetRef("signal");
  if (!ref) return nullptr;
  const SignalRef at = ResolveSignal(c.problems, c.bench, *ref);
  if (at.signal < 0) return nullptr;
  const auto dot = ref->text.find('.');
  gauge.message = ref->text.substr(0, dot);
  gauge.signal = ref->text.substr(dot + 1);
  const int layout = IndexOf(display.layouts, gauge.message);
  const auto& signals = Nth(display.layouts, layout).signals;
  const int signal =
      Resolve(c.problems, {gauge.signal, ref->place}, NamesOf(signals),
              fmt::format("signal in the display's layout '{}' named", gauge.message));
  return signal < 0 ? nullptr : &Nth(signals, signal);
}

// How long it waits is not known where it is not written: what must be shown is taken, as long as somebody
// says that.
void TakeStale(const Bench& bench, const Reader& r, Gauge& gauge) {
  const int readout = IndexOf(bench.readouts, gauge.name);
  if (readout < 0 || r.Has("stale_ms")) return;
  gauge.stale_ms = Nth(bench.readouts, readout).dashes_after_ms;
  gauge.stale_is_taken = true;
}

void LoadGauge(BenchContext& c, const std::string& name, const Place& place, const Node& node,
               Display& display) {
  Gauge gauge;
  gauge.name = name;
  gauge.label = name;
  gauge.place = place;
  Reader r(c.problems, node, fmt::format("gauge '{}'", name), place);
  TableReader t(r, kGaugeKeys, gauge);
  const Signal* shown = ReadShown(c, r, display, gauge);
  if (shown != nullptr) gauge.unit = shown->unit;
  t.Take("unit");
  if (shown != nullptr) {
    CheckUnits(c.problems, r.PlaceOf("unit"),
               fmt::format("signal '{}' on {}", shown->name, r.title()), shown->unit, gauge.unit);
  }
  t.TakeRest(gauge.unit);
  ReadValueNames(r, INT32_MIN, INT32_MAX, &gauge.values);
  ReadAcknowledged(c, r, gauge.acknowledged_by);
  gauge.bar = LoadBar(c, r, gauge.unit);
  TakeStale(c.bench, r, gauge);
  if (gauge.min && gauge.max && *gauge.min >= *gauge.max) {
    r.Complain("min", "no value between min and max", "write min lower than max");
  }
  if (gauge.warn_above && gauge.warn_below && *gauge.warn_above <= *gauge.warn_below) {
    r.Complain("warn_above", "it warns at any value", "write warn_above higher than warn_below");
  }
  for (const Ref& ref : r.GetRefs("proves")) {
    Resolve(c.problems, ref, CircuitNames(c.bench), "circuit");
    gauge.proves.push_back(ref.text);
  }
  display.gauges.push_back(std::move(gauge));
}

}  // namespace

void LoadDisplay(BenchContext& c, const Node& node) {
  Display& display = c.bench.display.emplace();
  display.place = node.Where();
  Reader r(c.problems, node, "the display");
  TakeAll(r, kDisplayKeys, display);
  if (const Node* switching = r.Find("switching")) display.switching = LoadSwitching(c, *switching);
  LoadLayouts(c, r.Find("layouts"), display);
  EachNamed(c.problems, r.Find("gauges"), "'gauges'",
            [&](const std::string& name, const Place& place, const Node& data) {
              LoadGauge(c, name, place, data, display);
            });
}

}  // namespace drycrank::profile
