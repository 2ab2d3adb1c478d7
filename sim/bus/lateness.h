// SPDX-License-Identifier: Apache-2.0
//
// How late something was, over any number of times, in a fixed size: a histogram whose steps are a
// 32nd of the value (3 %), from 1 ns up. Adding takes no memory.
#ifndef DRYCRANK_BUS_LATENESS_H_
#define DRYCRANK_BUS_LATENESS_H_

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>

#include "types/time.h"

namespace drycrank::bus {

class Lateness {
 public:
  // Early counts as on time.
  void Add(TimeNs late_ns) {
    late_ns = std::max<TimeNs>(0, late_ns);
    ++steps_[StepOf(static_cast<std::uint64_t>(late_ns))];
    ++count_;
    worst_ns_ = std::max(worst_ns_, late_ns);
  }

  std::uint64_t count() const { return count_; }
  TimeNs worst_ns() const { return worst_ns_; }  // exact
  // What this share of all times did not pass, rounded up to the step: 0.999 -> p99.9. 0 of
  // nothing.
  TimeNs Quantile(double share) const {
    std::uint64_t seen = 0;
    for (std::size_t i = 0; i < steps_.size(); ++i) {
      seen += steps_[i];
      if (seen > 0 && static_cast<double>(seen) >= share * static_cast<double>(count_)) {
        return std::min(EndOf(i), worst_ns_);
      }
    }
    return 0;
  }

 private:
  static constexpr int kBits = 5;                // steps per doubling: 32
  static constexpr std::size_t kDoublings = 36;  // up to 2^40 ns, 18 min; above counts as that

  static std::size_t StepOf(std::uint64_t value) {
    const int shift = std::max(0, static_cast<int>(std::bit_width(value)) - (kBits + 1));
    const std::size_t step = (static_cast<std::size_t>(shift) << kBits) + (value >> shift);
    return std::min(step, (kDoublings << kBits) - 1);
  }
  static TimeNs EndOf(std::size_t step) {
    const std::size_t shift = step < 64 ? 0 : (step >> kBits) - 1;
    return static_cast<TimeNs>(((step - (shift << kBits) + 1) << shift) - 1);
  }

  std::array<std::uint32_t, kDoublings << kBits> steps_{};
  std::uint64_t count_ = 0;
  TimeNs worst_ns_ = 0;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_LATENESS_H_
