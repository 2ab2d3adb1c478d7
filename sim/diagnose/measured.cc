// SPDX-License-Identifier: Apache-2.0
#include "diagnose/measured.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "diagnose/rank.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

constexpr double kSure = 0.97;  // of a yes that is foretold
// A bad contact jumps when its plug is moved; so does, rarely, what was near it.
constexpr double kContactJumps = 0.6, kOtherJumps = 0.04;
constexpr double kBridgeOhm = 0.05;

double LogSum(double a, double b) {
  const double high = std::max(a, b);
  return high + std::log(std::exp(a - high) + std::exp(b - high));
}

double LogGauss(double z, double sigma) {
  return -0.5 * z * z - std::log(sigma * std::sqrt(2 * 3.141592653589793));
}

bool IsContactOf(const profile::Fault& f, const std::string& plug) {
  const bool contact = f.Is<fault::Open>() || f.Is<fault::SeriesResistance>();
  return contact && f.at.starts_with(plug + ".");
}

double YesOrNo(const Answered& answered, const Foretold& foretold) {
  return answered.value > 0.5 ? foretold.yes : 1 - foretold.yes;
}

bool IsYesOrNo(const Test& test) {
  return std::holds_alternative<ComesRight>(test) || std::holds_alternative<Jumps>(test);
}

// What a bridge put into a cavity meets there.
std::string PlaceAt(const std::string& place, std::span<const profile::Fault> faults) {
  if (place.find('.') == std::string::npos) return place;
  const std::string node = NodeAt(place + "~", faults);
  return node.substr(0, node.find('~'));
}

// Of the scale on which its answers lie. A signal's is in deviations, so that its unit is no matter.
double LengthOf(const Test& test) {
  if (const auto* probing = std::get_if<Probing>(&test)) return ScaleLength(probing->meter);
  return IsYesOrNo(test) ? 2 : 100;
}

}  // namespace

std::vector<profile::Fault> AsFaults(const profile::Bench& bench, const Stand& stand,
                                     std::span<const profile::Fault> faults) {
  std::vector<profile::Fault> all(faults.begin(), faults.end());
  for (const std::string& name : stand.pulled) {
    const int index = profile::IndexOf(bench.connectors, name);
    if (index < 0) continue;
    for (const std::string& pin : Nth(bench.connectors, index).pins) {
      profile::Fault open;
      open.kind = fault::Open{};
      open.at = name + "." + pin;
      all.push_back(open);
    }
  }
  if (!stand.bridge_a.empty()) {
    profile::Fault bridge;
    bridge.kind = fault::ShortTogether{kBridgeOhm};
    bridge.at = PlaceAt(stand.bridge_a, faults);
    bridge.with = PlaceAt(stand.bridge_b, faults);
    all.push_back(bridge);
  }
  return all;
}

MeasuredModel::MeasuredModel(const profile::Bench& bench, Predictor& predictor,
                             const std::vector<std::vector<double>>& observed)
    : bench_(bench),
      predictor_(predictor),
      meter_(bench),
      rest_(predictor.situations().empty() ? RestOf(bench) : predictor.situations().front()) {
  if (observed.empty() || predictor.healthy().empty()) return;
  for (std::size_t r = 0; r < observed[0].size(); ++r) {
    const Reading& reading = predictor.readings()[r];
    if (reading.turning && rest_.engine_rpm() <= 0) continue;
    if (Surprise(reading, observed[0][r], predictor.healthy()[0][r]) > kFarZ) {
      wrong_.push_back(static_cast<int>(r));
    }
  }
}

Predictions MeasuredModel::PredictOn(const Stand& stand, std::span<const profile::Fault> faults) {
  return predictor_.PredictAt(stand.situation, AsFaults(bench_, stand, faults));
}

Foretold MeasuredModel::Foretell(const Test& test, std::span<const profile::Fault> faults) {
  return std::visit([&](const auto& kind) { return ForetellOf(kind, faults); }, test);
}

Foretold MeasuredModel::ForetellOf(const Probing& test, std::span<const profile::Fault> faults) {
  Foretold foretold;
  foretold.meter = meter_.Expect(test, faults);
  return foretold;
}

Foretold MeasuredModel::ForetellOf(const SignalTest& test, std::span<const profile::Fault> faults) {
  Foretold foretold;
  foretold.signal = Nth(PredictOn(test.stand, faults), test.reading);
  return foretold;
}

Foretold MeasuredModel::ForetellOf(const ComesRight& test, std::span<const profile::Fault> faults) {
  const Predictions readings = PredictOn(test.stand, faults);
  const bool right = std::ranges::all_of(wrong_, [&](int r) {
    return diagnose::Apart(Nth(predictor_.readings(), r), Nth(readings, r),
                           Nth(predictor_.healthy()[0], r)) < kFarZ;
  });
  Foretold foretold;
  foretold.yes = right ? kSure : 1 - kSure;
  return foretold;
}

Foretold MeasuredModel::ForetellOf(const Jumps& test, std::span<const profile::Fault> faults) {
  const bool contact = std::ranges::any_of(
      faults, [&](const profile::Fault& f) { return IsContactOf(f, test.plug); });
  Foretold foretold;
  foretold.yes = contact ? kContactJumps : kOtherJumps;
  return foretold;
}

double MeasuredModel::Off(const Answered& answered, const Foretold& foretold) const {
  if (const auto* probing = std::get_if<Probing>(&answered.test)) {
    return std::abs(OnScale(probing->meter, answered.value) - foretold.meter.y) /
           foretold.meter.sigma;
  }
  if (const auto* signal = std::get_if<SignalTest>(&answered.test)) {
    return Surprise(Nth(predictor_.readings(), signal->reading), answered.value, foretold.signal);
  }
  return YesOrNo(answered, foretold) < 1 - 0.99 * kSure ? 2 * kFarZ : 0;
}

double MeasuredModel::LogLikelihoodOfSlip(const Answered& answered) const {
  return std::log(kSlips) - std::log(LengthOf(answered.test));
}

double MeasuredModel::LogLikelihood(const Answered& answered, const Foretold& foretold) const {
  double fits = 0;
  if (std::holds_alternative<Probing>(answered.test)) {
    fits = LogGauss(Off(answered, foretold), foretold.meter.sigma);
  } else if (IsYesOrNo(answered.test)) {
    fits = std::log(YesOrNo(answered, foretold));
  } else {
    fits = -Cost(Off(answered, foretold));
  }
  return LogSum(std::log(1 - kSlips) + fits, LogLikelihoodOfSlip(answered));
}

double MeasuredModel::Apart(const Test& test, const Foretold& a, const Foretold& b) const {
  if (std::holds_alternative<Probing>(test)) {
    return std::abs(a.meter.y - b.meter.y) / std::hypot(a.meter.sigma, b.meter.sigma) *
           std::sqrt(2.0);
  }
  if (const auto* signal = std::get_if<SignalTest>(&test)) {
    return diagnose::Apart(Nth(predictor_.readings(), signal->reading), a.signal, b.signal);
  }
  return std::abs(a.yes - b.yes) > 0.2 ? 2 * kFarZ : 0;
}

double MeasuredModel::LogLikelihoodOfUnknown(std::span<const Answered> answers) {
  double total = 0;
  for (const Answered& answered : answers) {
    const double anywhere = -std::log(LengthOf(answered.test));
    const double healthy = LogLikelihood(answered, Foretell(answered.test, {}));
    total += LogSum(healthy, anywhere) + std::log(0.5);
  }
  return total;
}

std::string MeasuredModel::InWords(const Test& test, const Foretold& foretold) const {
  if (const auto* probing = std::get_if<Probing>(&test)) {
    return diagnose::InWords(probing->meter, FromScale(probing->meter, foretold.meter.y));
  }
  if (const auto* signal = std::get_if<SignalTest>(&test)) {
    const Reading& reading = Nth(predictor_.readings(), signal->reading);
    if (foretold.signal.is_none()) return reading.name + " is not sent";
    return reading.name + " " + diagnose::InWords(reading, foretold.signal);
  }
  return foretold.yes > 0.3 ? "yes" : "no";
}

std::string MeasuredModel::InWords(const Answered& answered) const {
  if (const auto* probing = std::get_if<Probing>(&answered.test)) {
    return diagnose::InWords(probing->meter, answered.value);
  }
  if (const auto* signal = std::get_if<SignalTest>(&answered.test)) {
    const Reading& reading = Nth(predictor_.readings(), signal->reading);
    if (std::isnan(answered.value)) return reading.name + " is not sent";
    return reading.name + " " + diagnose::InWords(reading, answered.value);
  }
  return answered.value > 0.5 ? "yes" : "no";
}

}  // namespace drycrank::diagnose
