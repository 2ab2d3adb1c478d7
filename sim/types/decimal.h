// SPDX-License-Identifier: Apache-2.0
//
// Numbers that were written in decimals and reckoned in binary: 152 · 0.1 is 15.200000000000001, and is
// not above 15.2. What differs by less than a part in 10^9 of the greater, or 10^-9, is the same.
#ifndef DRYCRANK_TYPES_DECIMAL_H_
#define DRYCRANK_TYPES_DECIMAL_H_

#include <algorithm>
#include <cmath>

namespace drycrank {

inline bool IsAbove(double value, double limit) {
  return value - limit > 1e-9 * std::max({1.0, std::abs(value), std::abs(limit)});
}

// To twelve digits: 15.2.
inline double Decimal(double value) {
  if (value == 0 || !std::isfinite(value)) return value;
  const int digits = 11 - static_cast<int>(std::floor(std::log10(std::abs(value))));
  const double power = std::pow(10.0, std::abs(digits));
  return digits >= 0 ? std::round(value * power) / power : std::round(value / power) * power;
}

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_DECIMAL_H_
