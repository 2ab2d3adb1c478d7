// SPDX-License-Identifier: Apache-2.0
#include "diagnose/facts.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "bus/layout.h"
#include "profile/controller_values.h"
#include "standin/controller.h"

namespace drycrank::diagnose {
namespace {

// Of an input and its converter, in volts: common practice, no source.
constexpr double kOwnV = 1.5e-3, kCommonV = 2e-3;
constexpr double kSpeedRpm = 6, kCamDeg = 0.3, kSupplyV = 0.03, kShareOfHz = 1e-3;
constexpr double kRootTwelve = 3.4641016151377544;

// The least and the greatest that a signal can carry.
double Most(const profile::Signal& signal, double towards) {
  std::uint8_t data[64] = {};
  bus::InsertBits(signal, bus::BitsFor(signal, towards), data);
  return bus::PhysicalValue(signal, data);
}

}  // namespace

Facts::Facts(const Predictor& predictor, const Observation& observed, const std::set<int>& without)
    : predictor_(predictor), situations_(observed.size()) {
  const profile::Bench& bench = predictor.bench();
  Name(*bench.controller);
  for (std::size_t r = 0; r < predictor.readings().size(); ++r) {
    const Reading& reading = predictor.readings()[r];
    const profile::Message& message =
        profile::MessageAt(bench, {reading.signal.bus, reading.signal.message});
    messages_.push_back(message.name);
    const auto at = std::find(names_.begin(), names_.end(), reading.carries);
    const bool own = message.sender == profile::Sender::kController;
    if (!own || at == names_.end() || !EverCame(r, observed)) continue;
    const auto value = static_cast<std::size_t>(at - names_.begin());
    if (!without.contains(channel_of_[value])) Add(r, value, observed);
  }
}

void Facts::Name(const profile::Controller& controller) {
  names_ = standin::ControllerValueNames(controller);
  std::map<std::string, int> numbers;
  for (const std::string& name : names_) {
    const auto fault = std::find(names_.begin(), names_.end(), name + ".fault");
    fault_of_.push_back(fault == names_.end() ? -1 : static_cast<int>(fault - names_.begin()));
    std::string channel = name.ends_with(".fault") ? name.substr(0, name.size() - 6) : name;
    const bool position =
        name == "engine_speed" || name.starts_with("sync_") || name.starts_with("cam_angle.");
    if (position) channel = "engine_speed";
    const int next = static_cast<int>(numbers.size());
    channel_of_.push_back(numbers.emplace(channel, next).first->second);
  }
  channels_ = static_cast<int>(numbers.size());
}

// A reading of a page that is never sent, or behind a code for "not measured", tells nothing; that
// a whole message stays away does.
bool Facts::EverCame(std::size_t reading, const Observation& observed) const {
  const auto came = [&](std::size_t r) {
    return std::ranges::any_of(observed, [&](const Values& row) { return !std::isnan(row[r]); });
  };
  if (came(reading)) return true;
  const auto& readings = predictor_.readings();
  for (std::size_t r = 0; r < readings.size(); ++r) {
    const bool same = readings[r].signal.bus == readings[reading].signal.bus &&
                      readings[r].signal.message == readings[reading].signal.message;
    if (same && came(r)) return false;
  }
  return true;
}

std::vector<const Points*> Facts::TablesOf(const std::string& channel) const {
  std::vector<const Points*> tables;
  for (const profile::AnalogChannel& config : predictor_.bench().controller->analog) {
    if (config.name == channel) tables.push_back(&config.value_at_volts);
  }
  return tables;
}

double Facts::SlopeAt(std::span<const Points* const> tables, double value) {
  double least = 1e300;
  for (const Points* table : tables) {
    const Points& points = *table;
    for (std::size_t i = 1; i < points.size(); ++i) {
      const auto& [v0, y0] = points[i - 1];
      const auto& [v1, y1] = points[i];
      if (value < std::min(y0, y1) || value > std::max(y0, y1) || v0 == v1) continue;
      least = std::min(least, std::abs((y1 - y0) / (v1 - v0)));
    }
  }
  return least < 1e300 ? least : 0;
}

void Facts::Add(std::size_t reading, std::size_t value, const Observation& observed) {
  const Reading& r = predictor_.readings()[reading];
  const profile::Signal& signal = profile::SignalAt(predictor_.bench(), r.signal);
  const double step = signal.is_float ? 0 : std::abs(signal.scale) / kRootTwelve;
  const double end_a = signal.is_float ? -1e30 : Most(signal, -1e15);
  const double end_b = signal.is_float ? 1e30 : Most(signal, 1e15);
  double low = 1e300, high = -1e300;
  for (std::size_t s = 0; s < observed.size(); ++s) {
    const ControllerValues& healthy = predictor_.healthy_values()[s];
    if (!healthy.empty()) low = std::min(low, healthy[value].low());
    if (!healthy.empty()) high = std::max(high, healthy[value].high());
    if (!std::isnan(observed[s][reading])) low = std::min(low, observed[s][reading]);
    if (!std::isnan(observed[s][reading])) high = std::max(high, observed[s][reading]);
  }
  const std::vector<const Points*> tables = TablesOf(r.carries);
  std::map<std::tuple<double, double>, int> known;
  for (std::size_t s = 0; s < observed.size(); ++s) {
    if (r.turning && predictor_.situations()[s].engine_rpm() <= 0) continue;
    Fact fact{s, reading, value, observed[s][reading], r.discrete};
    fact.low = std::min(end_a, end_b), fact.high = std::max(end_a, end_b);
    fact.span = std::max({high - low, 100 * r.sigma, 1.0 * std::abs(signal.scale)});
    const double slope = SlopeAt(tables, fact.seen);
    double own = slope * kOwnV, common = slope * kCommonV;
    if (r.carries == "engine_speed") own = kSpeedRpm;
    if (r.carries == "supply_voltage") own = kSupplyV;
    if (r.carries.starts_with("cam_angle.")) own = kCamDeg;
    for (const profile::FrequencyChannel& channel : predictor_.bench().controller->frequency) {
      if (channel.name == r.carries) own = std::max(kShareOfHz * std::abs(fact.seen), r.sigma / 4);
    }
    fact.noise = std::max(std::hypot(step, own), 1e-5 * fact.span);
    if (!fact.state && !std::isnan(fact.seen)) {
      const ControllerValues& healthy = predictor_.healthy_values()[s];
      const double at = healthy.empty() ? 0 : std::round(healthy[value].low() * 1e6);
      const int next = static_cast<int>(blocks_.size());
      const auto [home, is_new] = known.emplace(std::tuple{at, fact.seen}, next);
      fact.block = home->second;
      if (is_new) blocks_.push_back({s, reading, value, std::hypot(step, common)});
    }
    facts_.push_back(fact);
  }
}

Prediction Facts::At(const std::vector<ControllerValues>& rows, const Fact& fact,
                     const std::set<std::string>* missing) const {
  const ControllerValues& row = rows[fact.situation];
  const bool any_missing = missing != nullptr && !missing->empty();
  if (row.empty() || (any_missing && missing->contains(messages_[fact.reading]))) {
    return Prediction::None();
  }
  return Sent(row[fact.value], fact);
}

Prediction Facts::Sent(const Prediction& p, const Fact& fact) {
  double low = std::clamp(p.low(), fact.low, fact.high);
  if (p.is_value()) return Prediction::Value(fact.state ? std::round(low) : low);
  double high = std::clamp(p.high(), fact.low, fact.high);
  if (fact.state) low = std::round(low), high = std::round(high);
  if (!p.is_restless()) return Prediction::Band(low, high);
  double usual = std::clamp(p.usual(), fact.low, fact.high);
  if (fact.state) usual = std::round(usual);
  return Prediction::Restless(low, high, usual, p.usual_share());
}

std::vector<double> CommonOf(const Facts& facts) {
  std::vector<double> common;
  for (const Block& block : facts.blocks()) common.push_back(block.common);
  return common;
}

}  // namespace drycrank::diagnose
