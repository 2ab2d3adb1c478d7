// SPDX-License-Identifier: Apache-2.0
#include "sweep/trend.h"

#include <algorithm>
#include <cmath>

namespace drycrank::sweep {

void Trend::Begin(double digit) {
  numbers_.clear();
  digit_ = digit;
}

void Trend::Told(TimeNs since_ns, TimeNs now_ns, double number) {
  numbers_.push_back({since_ns, now_ns, number});
}

std::vector<std::pair<Trend::Number, double>> Trend::Away() const {
  std::vector<std::pair<Number, double>> away;
  for (const Number& n : numbers_) {
    const double d = std::abs(n.number - numbers_.back().number) / digit_;
    if (d < kNearDigits) break;
    away.emplace_back(n, d);
  }
  return away;
}

void Trend::End() {
  const auto away = numbers_.empty() ? std::vector<std::pair<Number, double>>() : Away();
  if (away.size() < 3) return;
  const auto& [first, from] = away.front();
  const auto& [last, to] = away.back();
  const double whole = std::log(from / to);
  if (whole < 1) return;
  const auto middle = std::ranges::min_element(
      away, {}, [&](const auto& at) { return std::abs(std::log(from / at.second) - whole / 2); });
  const double part = std::log(from / middle->second);
  if (part <= 0 || part >= whole) return;
  const auto passed = [](const Number& a, const Number& b) {
    return static_cast<double>(b.now_ns - a.since_ns);
  };
  const double early = passed(first, middle->first) / part,
               late = passed(middle->first, last) / (whole - part);
  is_other_ = is_other_ || std::max(early, late) > kUneven * std::min(early, late);
  ++looks_;
  if (whole <= longest_) return;
  longest_ = whole;
  tau_ns_ = passed(first, last) / whole;
}

std::optional<TimeNs> Trend::tau_ns() const {
  if (is_other_ || looks_ < kEnoughLooks) return std::nullopt;
  return std::llround(kMore * tau_ns_);
}

}  // namespace drycrank::sweep
