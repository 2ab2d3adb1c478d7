// SPDX-License-Identifier: Apache-2.0
#include "diagnose/other_curve.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <string>
#include <utility>

#include "diagnose/used_range.h"
#include "plant/sources.h"
#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Fault;

constexpr double kAreaOfOne = -4,
                 kAreaOfTwo = -7;  // nats: a few per cent of a decade; and of 1500 K
constexpr double kNudge = 0.02, kSameUnit = 0.05;  // of the span
constexpr double kOwnMove = 0.5;                   // of the nudge
constexpr double kK = 273.15, k25K = 298.15, kShortOhm = 0.1;

struct Point {
  double x = 0, y = 0;  // the quantity; what was read of it
};

Fault Make(const profile::FaultKind& kind, const std::string& at, const std::string& with = "") {
  Fault made;
  made.kind = kind;
  made.at = at;
  made.with = with;
  made.name = at;
  return made;
}

class Fitter {
 public:
  Fitter(Predictor& predictor, const Facts& facts, const profile::Sensor& sensor)
      : predictor_(predictor),
        facts_(facts),
        sensor_(sensor),
        stimulus_(Nth(predictor.bench().stimuli, sensor.stimulus)),
        low_(UsedRangeOf(predictor.bench(), sensor).low),
        high_(UsedRangeOf(predictor.bench(), sensor).high) {}

  std::optional<OtherCurve> Fit() {
    const int value = ValueOf();
    if (value < 0 || low_ >= high_) return std::nullopt;
    const std::vector<Point> points = Read(static_cast<std::size_t>(value));
    if (points.empty()) return std::nullopt;
    OtherCurve other;
    if (std::holds_alternative<profile::RatiometricSensor>(sensor_.model)) {
      if (!FitShare(points)) return std::nullopt;
      other.log_area = kAreaOfOne;
    } else {
      other.log_area = FitOhm(points);
    }
    for (const Situation& situation : predictor_.situations()) {
      other.at.push_back(XIn(situation));
      other.faults.push_back(FaultsAt(other.at.back()));
    }
    return other;
  }

 private:
  double XIn(const Situation& situation) const { return Nth(situation.stimuli, sensor_.stimulus); }
  double KelvinOf(double x) const { return kK + Convert(x, stimulus_.unit, "degC").value_or(x); }
  // Of the part as drawn.
  double OhmAt(double x) const {
    return plant::SourceOf(predictor_.bench(), sensor_, [&](int) { return x; }, {}).value;
  }

  // Which of the controller's values moves with it; -1: none, or in another unit.
  int ValueOf() {
    const double nudge_by = kNudge * (high_ - low_);
    const Fault nudge = Make(fault::SensorOffset{nudge_by}, sensor_.name);
    Trial trial(predictor_, std::span(&nudge, 1));
    for (std::size_t s = 0; s < predictor_.situations().size(); ++s) {
      const ControllerValues now = trial.Values(s);
      const ControllerValues& healthy = predictor_.healthy_values()[s];
      for (std::size_t v = 0; v < std::min(now.size(), healthy.size()); ++v) {
        const bool number = now[v].is_value() && healthy[v].is_value() && facts_.FaultOf(v) >= 0;
        // A shared ground moves others too, by less.
        if (!number || std::abs(now[v].low() - healthy[v].low()) < kOwnMove * nudge_by) continue;
        const double apart = std::abs(healthy[v].low() - XIn(predictor_.situations()[s]));
        return apart < kSameUnit * (high_ - low_) ? static_cast<int>(v) : -1;
      }
    }
    return -1;
  }

  // Where the controller found nothing wrong with it.
  std::vector<Point> Read(std::size_t value) const {
    std::set<std::size_t> wrong;
    for (const Fact& fact : facts_.all()) {
      const bool state = facts_.FaultOf(value) == static_cast<int>(fact.value);
      if (state && !(fact.seen == 0)) wrong.insert(fact.situation);
    }
    std::vector<Point> points;
    for (const Fact& fact : facts_.all()) {
      if (fact.value != value || fact.block < 0 || wrong.contains(fact.situation)) continue;
      if (fact.seen <= low_ || fact.seen >= high_) continue;
      points.push_back({XIn(predictor_.situations()[fact.situation]), fact.seen});
    }
    return points;
  }

  double FitOhm(const std::vector<Point>& points) {
    const double count = static_cast<double>(points.size());
    const bool thermistor = std::holds_alternative<profile::NtcSensor>(sensor_.model);
    double u_mean = 0, z_mean = 0, log_ratio = 0;
    for (const Point& point : points) {
      u_mean += U(point.x) / count;
      z_mean += std::log(OhmAt(point.y)) / count;
      log_ratio += std::log(OhmAt(point.y) / OhmAt(point.x)) / count;
    }
    double uu = 0, uz = 0;
    for (const Point& point : points) {
      uu += std::pow(U(point.x) - u_mean, 2);
      uz += (U(point.x) - u_mean) * (std::log(OhmAt(point.y)) - z_mean);
    }
    ratio_ = std::exp(log_ratio);
    if (!thermistor || uu / count < 1e-12) return kAreaOfOne;
    slope_ = uz / uu;
    at_25_ = z_mean - slope_ * u_mean;
    by_law_ = true;
    return kAreaOfTwo;
  }
  double U(double x) const { return 1 / KelvinOf(x) - 1 / k25K; }
  double OtherOhmAt(double x) const {
    return by_law_ ? std::exp(at_25_ + slope_ * U(x)) : ratio_ * OhmAt(x);
  }

  bool FitShare(const std::vector<Point>& points) {
    double xx = 0, xy = 0;
    for (const Point& point : points) {
      xx += std::pow(point.x - low_, 2);
      xy += (point.x - low_) * (point.y - low_);
    }
    if (xx <= 0) return false;
    ratio_ = xy / xx;
    return true;
  }

  std::vector<Fault> FaultsAt(double x) const {
    const profile::DeviceLeads leads = profile::LeadsOf(sensor_.model);
    const auto stuck = [&](double at) { return Make(fault::SensorStuck{at}, sensor_.name); };
    if (std::holds_alternative<profile::RatiometricSensor>(sensor_.model)) {
      const double at = low_ + ratio_ * (x - low_);
      if (at <= high_) return {stuck(std::max(at, low_))};
      return {stuck(high_), Make(fault::ShortTogether{kShortOhm}, leads.signal, leads.supply)};
    }
    const double ohm = OtherOhmAt(std::clamp(x, low_, high_));
    double more = OhmAt(low_) > OhmAt(high_) ? low_ : high_, less = low_ + high_ - more;
    const double most = OhmAt(more), least = OhmAt(less);
    if (ohm >= most) {
      return {stuck(more), Make(fault::SeriesResistance{ohm - most + 1e-3}, leads.signal)};
    }
    if (ohm <= least) {
      const double beside = ohm * least / std::max(least - ohm, 1e-6 * least);
      return {stuck(less), Make(fault::ShortTogether{beside}, leads.signal, leads.ground)};
    }
    for (int i = 0; i < 60; ++i) {
      const double middle = (more + less) / 2;
      (OhmAt(middle) > ohm ? more : less) = middle;
    }
    return {stuck((more + less) / 2)};
  }

  Predictor& predictor_;
  const Facts& facts_;
  const profile::Sensor& sensor_;
  const profile::Stimulus& stimulus_;
  double low_, high_;
  bool by_law_ = false;
  double ratio_ = 1, slope_ = 0, at_25_ = 0;
};

}  // namespace

std::optional<OtherCurve> OtherCurveOf(Predictor& predictor, const Facts& facts,
                                       const profile::Sensor& sensor) {
  const bool has_others = std::holds_alternative<profile::NtcSensor>(sensor.model) ||
                          std::holds_alternative<profile::PlatinumSensor>(sensor.model) ||
                          std::holds_alternative<profile::RatiometricSensor>(sensor.model);
  if (!has_others) return std::nullopt;
  return Fitter(predictor, facts, sensor).Fit();
}

std::vector<Fault> Lasting(const OtherCurve& other, const std::vector<Situation>& situations) {
  std::vector<Fault> all;
  for (std::size_t s = 0; s < other.at.size(); ++s) {
    const auto first = std::ranges::find(other.at, other.at[s]) - other.at.begin();
    if (first < static_cast<std::ptrdiff_t>(s)) continue;
    for (Fault fault : other.faults[s]) {
      for (std::size_t later = s; later < other.at.size(); ++later) {
        if (other.at[later] == other.at[s]) fault.during.push_back(situations[later].name);
      }
      all.push_back(std::move(fault));
    }
  }
  return all;
}

}  // namespace drycrank::diagnose
