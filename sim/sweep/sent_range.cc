// SPDX-License-Identifier: Apache-2.0
#include "sweep/sent_range.h"

#include <algorithm>

#include "types/unit.h"

namespace drycrank::sweep {
namespace {

constexpr int kMostBits = 40;  // a wider signal is driven in its lowest 2^40 steps
constexpr double kFloatSpan = 1000, kFloatFiner = 10;
constexpr double kFloatBeyond = 0.25;  // of what is shown, on either side

SentRange OfFloat(const profile::Signal& signal, const profile::Readout& readout) {
  const auto in_signal = [&](double value) {
    return Convert(value, readout.unit, signal.unit).value_or(value);
  };
  const double digit = readout.bar ? SegmentOf(*readout.bar) / kFloatFiner
                                   : std::pow(10.0, -readout.decimals);
  const double step =
      ConvertDifference(digit, readout.unit, signal.unit).value_or(digit) / kFloatFiner;
  const double least = in_signal(LowestShown(readout).value_or(-kFloatSpan)),
               most = in_signal(HighestShown(readout).value_or(kFloatSpan));
  const double beyond = kFloatBeyond * std::abs(most - least);
  const bool is_said = signal.max > signal.min;  // it is held there as it is sent
  const double low = is_said ? signal.min : std::min(least, most) - beyond;
  const double high = is_said ? signal.max : std::max(least, most) + beyond;
  return {std::llround(low / step), std::llround(high / step), 0, step};
}

}  // namespace

std::int64_t SentRange::Nearest(double physical) const {
  const double number = std::round((physical - base) / step);
  return static_cast<std::int64_t>(
      std::clamp(number, static_cast<double>(low), static_cast<double>(high)));
}

SentRange SentRangeOf(const profile::Signal& signal, const profile::Readout& readout) {
  if (signal.is_float) return OfFloat(signal, readout);
  const std::int64_t count = std::int64_t{1} << std::min(signal.length_bits, kMostBits);
  SentRange range{signal.is_signed ? -count / 2 : 0, signal.is_signed ? count / 2 - 1 : count - 1,
                  signal.offset, signal.scale};
  if (signal.not_available == range.high) --range.high;
  if (signal.not_available == range.low) ++range.low;
  if (signal.max > signal.min) {
    const std::int64_t a = range.Nearest(signal.min), b = range.Nearest(signal.max);
    range.low = std::min(a, b);
    range.high = std::max(a, b);
  }
  // Numbered so that a higher number is a higher value.
  if (range.step < 0) {
    range = {-range.high, -range.low, range.base, -range.step};
  }
  return range;
}

}  // namespace drycrank::sweep
