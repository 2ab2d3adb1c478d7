// SPDX-License-Identifier: Apache-2.0
//
// Real time: CLOCK_MONOTONIC since construction or the last Start(). Waiting is for an instant,
// never for a span, so lateness of one wait does not add to the next.
#ifndef DRYCRANK_IO_REAL_CLOCK_H_
#define DRYCRANK_IO_REAL_CLOCK_H_

#include "types/clock.h"

namespace drycrank::io {

class RealClock : public Clock {
 public:
  // Also asks the kernel not to delay this thread's timers (the default slack is 50 us).
  RealClock();

  void Start() override;
  TimeNs OriginNs() const override { return since_1970_ns_; }
  bool IsReal() const override { return true; }
  TimeNs Now() override;
  // Negative descriptors are left out, so an in-process bus may stand in the list. A signal ends
  // the wait early, so that a stop is not slept over. REQUIRES: at most kMaxDescriptors.
  void WaitUntil(TimeNs due_ns, std::span<const int> descriptors) override;

  static constexpr std::size_t kMaxDescriptors = 32;

 private:
  TimeNs origin_ns_ = 0;      // CLOCK_MONOTONIC at the start of the run
  TimeNs since_1970_ns_ = 0;  // CLOCK_REALTIME at the same moment
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_REAL_CLOCK_H_
