// SPDX-License-Identifier: Apache-2.0
#include "output/steps.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "types/unit.h"

namespace drycrank::output {
namespace {

constexpr int kHalvings = 60;  // to the last digit
constexpr double kRounding = 1e-9;
constexpr double kEnd = 1e-4;  // of the band, where its end's slope is taken

using Curve = std::function<double(double)>;

// Beyond the band it goes on straight where the sensor does not go on: a count just outside would stand for
// nothing there, and look as if a step reached far.
Curve GoneOn(const Curve& curve, double from, double to) {
  const double h = (to - from) * kEnd;
  const auto slope = [&](double a, double b) { return (curve(b) - curve(a)) / (b - a); };
  const bool ends_low = curve(from - h) == curve(from), ends_high = curve(to + h) == curve(to);
  const double low = slope(from, from + h), high = slope(to - h, to);
  return [=, &curve](double q) {
    if (q < from && ends_low) return curve(from) + (q - from) * low;
    if (q > to && ends_high) return curve(to) + (q - to) * high;
    return curve(q);
  };
}

// The quantity between `low` and `high` that has this value; beyond them the nearer of the two.
double QuantityOf(double value, double low, double high, const Curve& curve) {
  const bool rises = curve(high) > curve(low);
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = (low + high) / 2;
    ((curve(middle) < value) == rises ? low : high) = middle;
  }
  return (low + high) / 2;
}

}  // namespace

int Steps::Nearest(double value) const {
  const double count = std::round(value / scale - offset);
  return static_cast<int>(std::clamp<double>(count, least, most));
}

double Steps::LeastValue() const { return std::min(ValueOf(least), ValueOf(most)); }
double Steps::MostValue() const { return std::max(ValueOf(least), ValueOf(most)); }

Steps StepsBetween(double at_least, double at_most, int least, int most) {
  const double scale = (at_most - at_least) / (most - least);
  return {scale, at_least / scale - least, least, most};
}

GivenBand BandOf(const Steps& steps, double from, double to, const Curve& sensor) {
  const Curve curve = GoneOn(sensor, from, to);
  // A count outside of the band may be the nearest one to its end.
  const double low = from - (to - from), high = to + (to - from);
  const auto quantity = [&](double value) { return QuantityOf(value, low, high, curve); };
  const auto error_at = [&](double q) {
    return std::abs(q - quantity(steps.ValueOf(steps.Nearest(curve(q)))));
  };
  GivenBand band;
  const auto within = [&](double q) {
    const double value = curve(q);
    return std::abs(value - steps.ValueOf(steps.Nearest(value))) <=
           std::abs(steps.scale) * (0.5 + kRounding);
  };
  band.reaches = within(from) && within(to);
  band.worst_error = std::max(error_at(from), error_at(to));
  const auto [first, last] = std::minmax(
      {curve(from) / steps.scale - steps.offset, curve(to) / steps.scale - steps.offset});
  const int begin = static_cast<int>(std::max<double>(steps.least, std::floor(first)));
  const int end = static_cast<int>(std::min<double>(steps.most, std::ceil(last)));
  for (int count = begin; count < end; ++count) {
    const double here = quantity(steps.ValueOf(count)), next = quantity(steps.ValueOf(count + 1));
    band.widest_step = std::max(band.widest_step, std::abs(next - here));
    const double between = quantity(steps.ValueOf(count) + steps.scale / 2);
    if (between < from || between > to) continue;
    band.worst_error =
        std::max({band.worst_error, std::abs(between - here), std::abs(between - next)});
  }
  return band;
}

std::string Words(const GivenBand& band, double from, double to, const std::string& unit) {
  const std::string shown = DisplayUnit(unit);
  if (!band.reaches) {
    return fmt::format("between {:g} and {:g} {}: not all of it can be given", from, to, shown);
  }
  return fmt::format("between {:g} and {:g} {}: steps of {:.2g} {}, {:.2g} {} off at most", from,
                     to, shown, band.widest_step, shown, band.worst_error, shown);
}

}  // namespace drycrank::output
