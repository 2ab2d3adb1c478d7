// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>

#include "scenario/timeline.h"

namespace drycrank::scenario {
namespace {

bool Equal(double a, double b) {
  return std::abs(a - b) <= 1e-9 * std::max({1.0, std::abs(a), std::abs(b)});
}

}  // namespace

bool Holds(const profile::Condition& condition, double value) {
  switch (condition.compare) {
    case profile::Compare::kEqual:
      return Equal(value, condition.value);
    case profile::Compare::kNotEqual:
      return !Equal(value, condition.value);
    case profile::Compare::kAbove:
      return value > condition.value;
    case profile::Compare::kBelow:
      return value < condition.value;
  }
  return false;
}

double Margin(const profile::Condition& condition, double value) {
  const double difference = value - condition.value;
  const bool equal = Equal(value, condition.value);
  switch (condition.compare) {
    case profile::Compare::kEqual:
      return equal ? 0.0 : -std::abs(difference);
    case profile::Compare::kNotEqual:
      return equal ? 0.0 : std::abs(difference);
    case profile::Compare::kAbove:
      return difference;
    case profile::Compare::kBelow:
      return -difference;
  }
  return 0;
}

}  // namespace drycrank::scenario
