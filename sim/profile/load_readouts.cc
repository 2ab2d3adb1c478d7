// SPDX-License-Identifier: Apache-2.0
//
// What the display must show. Where nothing is written, it is what has been set in the display.
#include <fmt/format.h>

#include <algorithm>

#include "profile/keys_bus.h"
#include "profile/load_bench.h"
#include "profile/table_reader.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

constexpr double kUsualPeriods = 5, kLeastDashesAfterMs = 250;

void CheckEnds(Reader& r, const Readout& readout) {
  const auto needs = [&](const char* end, const char* limit, bool has_end, bool has_limit) {
    if (has_end && !has_limit) {
      r.Complain(end, fmt::format("no '{}' that could end", limit),
                 fmt::format("write {} too, or leave {} out", limit, end));
    }
  };
  needs("warn_above_ends", "warn_above", readout.warn_above_ends.has_value(),
        readout.warn_above.has_value());
  needs("warn_below_ends", "warn_below", readout.warn_below_ends.has_value(),
        readout.warn_below.has_value());
  if (readout.warn_above &&
      readout.warn_above_ends.value_or(*readout.warn_above) > *readout.warn_above) {
    r.Complain("warn_above_ends", "an end above the limit: the warning would end before it began",
               "write a value of warn_above or lower");
  }
  if (readout.warn_below &&
      readout.warn_below_ends.value_or(*readout.warn_below) < *readout.warn_below) {
    r.Complain("warn_below_ends", "an end below the limit: the warning would end before it began",
               "write a value of warn_below or higher");
  }
  if (readout.warn_above && readout.warn_below && *readout.warn_above <= *readout.warn_below) {
    r.Complain("warn_above", "it must warn at any value",
               "write warn_above higher than warn_below");
  }
  if (readout.min && readout.max && *readout.min >= *readout.max) {
    r.Complain("min", "no value between min and max", "write min lower than max");
  }
}

void LoadReadout(BenchContext& c, const std::string& name, const Place& place, const Node& node) {
  Readout readout;
  readout.name = readout.label = name;
  readout.place = place;
  Reader r(c.problems, node, fmt::format("readout '{}'", name), place);
  TableReader t(r, kReadoutKeys, readout);
  const auto ref = r.GetRef("signal");
  const SignalRef at = ref ? ResolveSignal(c.problems, c.bench, *ref) : SignalRef{};
  if (at.signal >= 0) {
    const Message& message = MessageAt(c.bench, {at.bus, at.message});
    readout.message = message.name;
    readout.signal = SignalAt(c.bench, at).name;
    readout.unit = SignalAt(c.bench, at).unit;
    readout.dashes_after_ms = UsualDashesAfterMs(message.period_ms);
  }
  t.Take("unit");
  if (at.signal >= 0) {
    const Signal& signal = SignalAt(c.bench, at);
    CheckUnits(c.problems, r.PlaceOf("unit"),
               fmt::format("signal '{}' on {}", signal.name, r.title()), signal.unit, readout.unit);
  }
  t.TakeRest(readout.unit);
  ReadValueNames(r, INT32_MIN, INT32_MAX, &readout.values);
  ReadAcknowledged(c, r, readout.acknowledged_by);
  readout.bar = LoadBar(c, r, readout.unit);
  CheckEnds(r, readout);
  c.bench.readouts.push_back(std::move(readout));
}

std::optional<double> Back(const std::optional<double>& limit, double by) {
  if (!limit) return std::nullopt;
  return *limit + by;
}

Readout AsSet(const Gauge& g) {
  Readout readout;
  readout.name = g.name;
  readout.label = g.label;
  readout.message = g.message;
  readout.signal = g.signal;
  readout.unit = g.unit;
  readout.decimals = g.decimals;
  readout.page = g.page;
  readout.min = g.min;
  readout.max = g.max;
  readout.values = g.values;
  readout.warn_above = g.warn_above;
  readout.warn_above_ends = Back(g.warn_above, -g.hysteresis);
  readout.warn_below = g.warn_below;
  readout.warn_below_ends = Back(g.warn_below, g.hysteresis_below.value_or(g.hysteresis));
  readout.lamp = g.lamp;
  readout.dashes = g.dashes;
  readout.dashes_after_ms = g.stale_ms;
  readout.place = g.place;
  readout.not_available = g.not_available;
  readout.lamp_blinks_hz = g.lamp_blinks_hz;
  readout.lamp_latches = g.lamp_latches;
  readout.acknowledged_by = g.acknowledged_by;
  readout.keeps = g.keeps;
  readout.bar = g.bar;
  return readout;
}

}  // namespace

double UsualDashesAfterMs(double period_ms) {
  return std::max(kLeastDashesAfterMs, kUsualPeriods * period_ms);
}

std::vector<Readout> RequiredReadouts(const Bench& bench) {
  if (!bench.readouts.empty() || !bench.display) return bench.readouts;
  std::vector<Readout> readouts;
  for (const Gauge& gauge : bench.display->gauges) readouts.push_back(AsSet(gauge));
  return readouts;
}

std::optional<Switching> RequiredSwitching(const Bench& bench) {
  if (bench.switching || !bench.readouts.empty() || !bench.display) return bench.switching;
  const Switching& set = bench.display->switching;
  const bool is_said = set.dark_ms > 0 || set.lamp_test_ms > 0 || !set.key.empty();
  return is_said ? std::optional(set) : std::nullopt;
}

namespace {

void ReadSignalName(BenchContext& c, Reader& r, const char* key, std::string& into) {
  const auto ref = r.GetRef(key);
  if (ref && ResolveSignal(c.problems, c.bench, *ref).signal >= 0) into = ref->text;
}

}  // namespace

void ReadAcknowledged(BenchContext& c, Reader& r, std::string& into) {
  ReadSignalName(c, r, "acknowledged_by", into);
}

std::optional<Bar> LoadBar(BenchContext& c, Reader& owner, const std::string& unit) {
  const Node* node = owner.Find("bar");
  if (node == nullptr) return std::nullopt;
  for (const char* key : {"decimals", "values"}) {
    if (owner.Has(key)) {
      owner.Complain(key, "a bar shows no number and no word",
                     fmt::format("leave out {} or bar; both need a readout each", key));
    }
  }
  Bar bar;
  Reader r(c.problems, *node, "the bar of " + owner.title());
  const std::size_t before = c.problems.size();
  TakeAll(r, kBarKeys, bar, nullptr, unit);
  const bool is_whole = r.Has("low") && r.Has("high") && bar.segments > 0;
  if (is_whole && c.problems.size() == before && bar.low >= bar.high) {
    r.Complain("low", "no value between its ends", "write low lower than high");
    return std::nullopt;
  }
  return is_whole ? std::optional(bar) : std::nullopt;
}

Switching LoadSwitching(BenchContext& c, const Node& node) {
  Switching switching;
  Reader r(c.problems, node, "'switching'");
  TakeAll(r, kSwitchingKeys, switching);
  ReadSignalName(c, r, "key", switching.key);
  if (switching.key.empty() && r.Has("off_after_ms")) {
    r.Complain("off_after_ms", "no key that could go off", "write key too, as key: body.ignition");
  }
  return switching;
}

void LoadReadouts(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'readouts'",
            [&](const std::string& name, const Place& place, const Node& data) {
              LoadReadout(c, name, place, data);
            });
}

}  // namespace drycrank::profile
