// SPDX-License-Identifier: Apache-2.0
#include "capture/csv_clock.h"

#include <algorithm>
#include <cmath>

#include "capture/csv_shape.h"
#include "capture/quantile.h"

namespace drycrank::capture {
namespace {

constexpr double kSameStep = 0.3;   // all distances alike: they differ by less than this share
constexpr double kFar = 1.5;        // a distance of so many usual ones
constexpr double kFarOfMost = 1.3;  // and of so many that 95 of 100 keep to
constexpr double kKeepTo = 0.95;

std::vector<double> DistancesOf(const std::vector<std::optional<double>>& numbers) {
  std::vector<double> distances;
  for (std::size_t i = 1; i < numbers.size(); ++i) {
    if (numbers[i] && numbers[i - 1]) distances.push_back(*numbers[i] - *numbers[i - 1]);
  }
  std::ranges::sort(distances);
  return distances;
}

}  // namespace

double StepOf(const std::vector<std::optional<double>>& numbers) {
  const std::vector<double> distances = DistancesOf(numbers);
  return distances.empty() ? 0 : QuantileOf(distances, 0.5);
}

void TimeDigits::Add(std::string_view written, char decimal) {
  int digits = 0, decimals = 0;
  bool is_behind = false;
  std::size_t at = 0;
  for (; at < written.size() && written[at] != 'e' && written[at] != 'E'; ++at) {
    is_behind = is_behind || written[at] == decimal;
    if (written[at] < '0' || written[at] > '9') continue;
    decimals += is_behind ? 1 : 0;
    digits += digits > 0 || written[at] != '0' ? 1 : 0;
  }
  if (at < written.size()) {
    const double power = NumberOf(written.substr(at + 1), decimal).value_or(0);
    decimals -= static_cast<int>(std::clamp(power, -400.0, 400.0));
  }
  decimals_ = std::max(decimals_, decimals);
  digits_ = std::max(digits_, digits);
}

double TimeDigits::RoundedTo(double time) const {
  const double far = std::abs(time);
  const double whole = far > 0 ? std::floor(std::log10(far)) + 1 : -decimals_;
  const double by_digits = std::pow(10, whole - digits_);
  return std::max({std::pow(10, -decimals_), by_digits, std::ldexp(far, -23)});
}

CsvClock ClockOf(const std::vector<std::optional<double>>& times, double ns_per_time,
                 double index_step) {
  CsvClock clock;
  clock.index_step = index_step;
  const std::vector<double> all = DistancesOf(times);
  const auto above = std::ranges::upper_bound(all, 0.0);
  const std::vector<double> moved(above, all.end());  // coarse times stand still in between
  if (moved.empty()) return clock;
  const double usual = QuantileOf(moved, 0.5);
  const double farthest = std::max(kFar * usual, kFarOfMost * QuantileOf(all, kKeepTo));
  const auto end = std::ranges::upper_bound(all, farthest);
  double sum = 0;
  for (auto at = all.begin(); at != end; ++at) sum += *at;
  clock.step_ns = ns_per_time * sum / static_cast<double>(end - all.begin());
  clock.is_even = all.back() <= all.front() * (1 + kSameStep);
  // Where the usual distance is not near the mean, no clock ticks.
  const bool is_clock =
      QuantileOf(all, kKeepTo) <= 2.2 * usual && QuantileOf(moved, 0.05) >= 0.4 * usual;
  if (is_clock) clock.farthest_ns = ns_per_time * farthest;
  return clock;
}

}  // namespace drycrank::capture
