// SPDX-License-Identifier: Apache-2.0
//
// All values that a signal's bits can say, as numbered steps: physical = base + number · step. Of a
// float, steps of a tenth of the last digit shown, of a bar of a hundredth of its segment, over the range that it may have, or where that is not
// said over what is shown and a quarter more on either side. A code for "not
// available" at either end is none of them.
#ifndef DRYCRANK_SWEEP_SENT_RANGE_H_
#define DRYCRANK_SWEEP_SENT_RANGE_H_

#include <cmath>
#include <cstdint>
#include <optional>

#include "profile/bench.h"
#include "types/decimal.h"

namespace drycrank::sweep {

struct SentRange {
  std::int64_t low = 0, high = 0;
  double base = 0, step = 1;

  double At(std::int64_t number) const { return Decimal(base + static_cast<double>(number) * step); }
  double HighEnd() const { return At(high); }
  // The nearest, held within the range.
  std::int64_t Nearest(double physical) const;
};

// What one segment stands for, in the unit shown.
inline double SegmentOf(const profile::Bar& bar) { return (bar.high - bar.low) / bar.segments; }

// What it is held within; nothing: all that the signal can say.
inline std::optional<double> LowestShown(const profile::Readout& readout) {
  return readout.bar ? std::optional(readout.bar->low) : readout.min;
}
inline std::optional<double> HighestShown(const profile::Readout& readout) {
  return readout.bar ? std::optional(readout.bar->high) : readout.max;
}

SentRange SentRangeOf(const profile::Signal& signal, const profile::Readout& readout);

}  // namespace drycrank::sweep

#endif  // DRYCRANK_SWEEP_SENT_RANGE_H_
