// SPDX-License-Identifier: Apache-2.0
#include "proofread/signal_span.h"

#include <algorithm>
#include <cmath>

#include "types/unit.h"

namespace drycrank::proofread {

SignalSpan SpanOf(const profile::Signal& signal, const std::string& unit) {
  if (signal.is_float) return {-HUGE_VAL, HUGE_VAL};
  const double count = std::pow(2.0, signal.length_bits);
  const double raw_low = signal.is_signed ? -count / 2 : 0, raw_high = raw_low + count - 1;
  double a = raw_low * signal.scale + signal.offset, b = raw_high * signal.scale + signal.offset;
  if (signal.max > signal.min) {
    a = signal.min;
    b = signal.max;
  }
  const auto shown = [&](double value) {
    return Convert(value, signal.unit, unit).value_or(value);
  };
  return {std::min(shown(a), shown(b)), std::max(shown(a), shown(b))};
}

}  // namespace drycrank::proofread
