// SPDX-License-Identifier: Apache-2.0
//
// Which steps of its signal a sweep sends of a readout (readout_sweep.h).
#include <algorithm>
#include <cmath>
#include <utility>

#include "sweep/readout_sweep.h"
#include "sweep/sent_range.h"

namespace drycrank::sweep {
namespace {

using profile::Bar;
using profile::Readout;
using profile::Signal;
using Numbers = std::set<std::int64_t>;

constexpr int kEvenPoints = 7;   // between the ends of the range
constexpr int kStepsAround = 2;  // of the last digit, on either side of a limit
constexpr std::int64_t kRoundedTries = 5000;
constexpr double kRoundedDigits = 20, kTie = 0.015;  // of a digit

void AddAround(const SentRange& range, const Scale& scale, double digit,
               const std::optional<double>& limit, Numbers& numbers) {
  if (!limit) return;
  for (int step = -kStepsAround; step <= kStepsAround; ++step) {
    numbers.insert(range.Nearest(scale.Sent(*limit + step * digit)));
  }
  const std::int64_t at = range.Nearest(scale.Sent(*limit));
  numbers.insert({std::max(range.low, at - 1), std::min(range.high, at + 1)});
}

// The steps next to where one digit shown becomes the next, nearest to it on either side: there the
// least change of scale or offset is seen. In the lower and in the upper part of [low, high].
void AddRounded(const SentRange& range, const Scale& scale, double digit, std::int64_t low,
                std::int64_t high, Numbers& numbers) {
  const double step = std::abs(scale.Shown(range.At(low + 1)) - scale.Shown(range.At(low)));
  const auto digits = static_cast<std::int64_t>(std::min(1e9, kRoundedDigits * digit / step));
  const std::int64_t stride = 1 + digits / kRoundedTries;
  for (const std::int64_t from : {low + (high - low) / 8, high - (high - low) / 4}) {
    std::pair<double, std::int64_t> over{1, from}, under{1, from};  // how far in digits, where
    for (std::int64_t n = from; n <= std::min(high, from + digits); n += stride) {
      const double shown = scale.Shown(range.At(n)) / digit - 0.5, part = shown - std::floor(shown);
      if (part < kTie || part > 1 - kTie) continue;  // displays round a half up, away or to even
      over = std::min(over, {part, n});
      under = std::min(under, {1 - part, n});
    }
    numbers.insert({over.second, under.second});
  }
}

// Both sides of where so many segments are lit, or more.
void AddLighting(const SentRange& range, const Scale& scale, const Bar& bar, int segments,
                 Numbers& numbers) {
  const auto is_lit = [&](std::int64_t n) {
    return LitSegments(bar, scale.Shown(range.At(n))) >= segments;
  };
  std::int64_t dark = range.low, lit = range.high;
  if (is_lit(dark) == is_lit(lit)) return;
  if (is_lit(dark)) std::swap(dark, lit);
  while (std::abs(lit - dark) > 1) {
    const std::int64_t middle = dark + (lit - dark) / 2;
    (is_lit(middle) ? lit : dark) = middle;
  }
  numbers.insert({dark, lit});
}

// Both ends, and where the first, two in the middle, and the last segment are lit.
void AddBar(const SentRange& range, const Scale& scale, double step, const Bar& bar,
            Numbers& numbers) {
  AddAround(range, scale, step, bar.low, numbers);
  AddAround(range, scale, step, bar.high, numbers);
  for (const int lit : {1, bar.segments / 2, bar.segments / 2 + 1, bar.segments}) {
    AddLighting(range, scale, bar, lit, numbers);
  }
}

}  // namespace

Numbers PointsOf(const Signal& signal, const Readout& readout) {
  const SentRange range = SentRangeOf(signal, readout);
  const Scale scale(signal, readout);
  const double step =
      std::abs(scale.Shown(range.At(range.low + 1)) - scale.Shown(range.At(range.low)));
  const double digit = readout.bar ? step : std::pow(10.0, -readout.decimals);
  Numbers numbers{range.low, range.high};
  const auto end = [&](const std::optional<double>& shown, std::int64_t otherwise) {
    return shown ? range.Nearest(scale.Sent(*shown)) : otherwise;
  };
  const std::int64_t low = end(LowestShown(readout), range.low),
                     high = end(HighestShown(readout), range.high);
  AddAround(range, scale, digit, readout.min, numbers);
  AddAround(range, scale, digit, readout.max, numbers);
  // At odd sixteenths, so that they end in all digits.
  for (int k = 0; k <= kEvenPoints; ++k) {
    numbers.insert(low + (high - low) * (2 * k + 1) / (2 * kEvenPoints + 2));
  }
  AddAround(range, scale, digit, readout.warn_above, numbers);
  AddAround(range, scale, digit, readout.warn_above_ends, numbers);
  AddAround(range, scale, digit, readout.warn_below, numbers);
  AddAround(range, scale, digit, readout.warn_below_ends, numbers);
  for (const auto& [value, name] : readout.values) {
    numbers.insert(range.Nearest(scale.Sent(static_cast<double>(value))));
  }
  if (readout.bar) {
    AddBar(range, scale, digit, *readout.bar, numbers);
  } else if (readout.values.empty()) {
    AddRounded(range, scale, digit, low, high, numbers);
  }
  return numbers;
}

}  // namespace drycrank::sweep
