// SPDX-License-Identifier: Apache-2.0
//
// The controller's protections against what it is told of its channels and what their sensors give:
// a limit that the value never passes, one that only a signal beyond the channel's own range limits
// would pass, a release that is never reached.
//
//   never acts      above: limit >= the end of the channel's table, or of the sensor's span; below: <=
//   never lets go   above: release <= the other end; below: >=
//   reads as broken the limit's volts lie outside low_v ... high_v of the channel: it goes on with its fallback
#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "profile/protection.h"
#include "profile/sensors.h"
#include "proofread/told.h"
#include "proofread/words.h"
#include "types/nth.h"
#include "types/points.h"
#include "types/unit.h"

namespace drycrank::proofread {
namespace {

using profile::AnalogChannel;
using profile::FrequencyChannel;
using profile::Protection;

// What a value can be, and who says so.
struct Reach {
  double low = 0, high = 0;
  std::string who;
};

Reach OfTable(const Points& table, const std::string& name, const Place& place) {
  const auto [low, high] = std::ranges::minmax_element(table, {}, &Points::value_type::second);
  return {low->second, high->second, fmt::format("the table of '{}' ({})", name, At(place))};
}

// In the channel's unit; nothing where the units say nothing of each other, or the sensor measures
// nothing.
std::optional<Reach> OfSensor(const profile::Bench& bench, const profile::Sensor& sensor,
                              const Protection& p) {
  const Span law = LawSpan(bench, sensor);
  const std::string& unit = Nth(bench.stimuli, sensor.stimulus).unit;
  const auto one = Convert(Sensed(bench, sensor, law.low), unit, p.unit);
  const auto other = Convert(Sensed(bench, sensor, law.high), unit, p.unit);
  if (law.low >= law.high || !one || !other) return std::nullopt;
  return Reach{std::min(*one, *other), std::max(*one, *other),
               fmt::format("sensor '{}' ({})", sensor.name, At(sensor.place))};
}

class OneProtection {
 public:
  OneProtection(const profile::Bench& bench, const Protection& p, Compared& out)
      : bench_(bench), p_(p), out_(out) {}

  void Compare() {
    for (const AnalogChannel& channel : bench_.controller->analog) {
      if (channel.name != p_.watches) continue;
      HoldAgainst(OfTable(channel.value_at_volts, channel.name, channel.place));
      HoldAgainstLimits(channel);
    }
    for (const FrequencyChannel& channel : bench_.controller->frequency) {
      if (channel.name != p_.watches) continue;
      const bool hertz = !channel.value_at_hz.empty();
      HoldAgainst(OfTable(hertz ? channel.value_at_hz : channel.value_at_low_ms, channel.name,
                          channel.place));
    }
    HoldAgainstSensors();
  }

 private:
  bool IsAbove() const { return p_.side == profile::LimitSide::kAbove; }

  // Of several that say the same, the first is enough.
  void HoldAgainst(const Reach& reach) {
    if (said_) return;
    const double end = IsAbove() ? reach.high : reach.low;
    if (!p_.IsBeyond(end, p_.limit)) {
      Add(fmt::format("it never acts: {} gives {} at {}, not {} than {}", reach.who,
                      Value(end, p_.unit), IsAbove() ? "most" : "least",
                      IsAbove() ? "more" : "less", Value(p_.limit, p_.unit)),
          "set another limit, or a table and a sensor that reach beyond it");
      return;
    }
    const double back = IsAbove() ? reach.low : reach.high;
    if (p_.IsBeyond(back, p_.release)) {
      Add(fmt::format("once it acts it never lets go: {} gives {} at {}, and it lets go at {}",
                      reach.who, Value(back, p_.unit), IsAbove() ? "least" : "most",
                      Value(p_.release, p_.unit)),
          "set another release, or a table and a sensor that come back to it");
    }
  }
  void HoldAgainstLimits(const AnalogChannel& channel) {
    if (said_ || channel.value_at_volts.size() < 2) return;
    const double volts = InterpolateInverse(channel.value_at_volts, p_.limit);
    if (volts >= channel.low_v && volts <= channel.high_v) return;
    const bool low = volts < channel.low_v;
    Add(fmt::format(
            "its limit stands at {:.4g} V, where '{}' takes its signal for too {} ({} {:g} V, {}) "
            "and goes on with {}",
            volts, channel.name, low ? "low" : "high", low ? "below" : "above",
            low ? channel.low_v : channel.high_v, At(channel.place),
            Value(channel.fallback, channel.unit)),
        "set the channel's range limits wider, or another limit");
  }
  void HoldAgainstSensors() {
    for (const profile::Sensor& sensor : bench_.sensors) {
      if (sensor.stimulus != p_.stimulus || p_.watches == "engine_speed") continue;
      if (const auto reach = OfSensor(bench_, sensor, p_)) HoldAgainst(*reach);
    }
  }
  void Add(const std::string& why, std::string remedy) {
    out_.disagreements.push_back(
        {p_.place, fmt::format("protection '{}': {}", p_.name, why), std::move(remedy)});
    said_ = true;
  }

  const profile::Bench& bench_;
  const Protection& p_;
  Compared& out_;
  bool said_ = false;
};

}  // namespace

void CompareProtections(const profile::Bench& bench, Compared& out) {
  for (const Protection& protection : bench.protections) {
    OneProtection(bench, protection, out).Compare();
  }
}

}  // namespace drycrank::proofread
