// SPDX-License-Identifier: Apache-2.0
//
// Stamps of a CAN controller's own clock on the kernel's time. The two clocks have different
// origins and rates. For each frame the kernel stamp is late by what the interrupt took, never
// early, so over a while
//     offset = min(kernel stamp - hardware stamp)
// is that of the promptest frame, and hardware stamp + offset has the hardware's spacing. The
// minimum is taken over the last one to two seconds: 100 ppm between the clocks are 0.2 ms at most.
#ifndef DRYCRANK_IO_HARDWARE_TIME_H_
#define DRYCRANK_IO_HARDWARE_TIME_H_

#include <algorithm>

#include "types/time.h"

namespace drycrank::io {

class HardwareTime {
 public:
  // How much earlier than the kernel stamp the frame was on the bus. [0, ...)
  TimeNs EarlierBy(TimeNs kernel_ns, TimeNs hardware_ns) {
    const TimeNs offset_ns = kernel_ns - hardware_ns;
    const bool jumped = offset_ns < now_ns_ - kSpanNs || offset_ns > now_ns_ + kSpanNs;
    if (!begun_ || jumped) {
      begun_ = true;
      before_ns_ = now_ns_ = offset_ns;
      span_begin_ns_ = kernel_ns;
    } else if (kernel_ns - span_begin_ns_ > kSpanNs) {
      before_ns_ = now_ns_;
      now_ns_ = offset_ns;
      span_begin_ns_ = kernel_ns;
    }
    now_ns_ = std::min(now_ns_, offset_ns);
    return offset_ns - std::min(before_ns_, now_ns_);
  }

 private:
  static constexpr TimeNs kSpanNs = kNsPerS;
  bool begun_ = false;
  TimeNs before_ns_ = 0, now_ns_ = 0;  // least offset of the last span, and of this one
  TimeNs span_begin_ns_ = 0;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_HARDWARE_TIME_H_
