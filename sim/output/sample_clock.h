// SPDX-License-Identifier: Apache-2.0
//
// Which sample an instant of the run is, on a straight line: `place` at `t_ns`, rate_hz of them a second.
#ifndef DRYCRANK_OUTPUT_SAMPLE_CLOCK_H_
#define DRYCRANK_OUTPUT_SAMPLE_CLOCK_H_

#include "types/time.h"

namespace drycrank::output {

struct SampleClock {
  TimeNs t_ns = 0;
  double place = 0;  // samples
  double rate_hz = 0;

  // Whole seconds apart, so that hours lose no digits.
  double Place(TimeNs at_ns) const {
    const TimeNs since_ns = at_ns - t_ns, seconds = since_ns / kNsPerS,
                 rest_ns = since_ns % kNsPerS;
    return place + static_cast<double>(seconds) * rate_hz +
           static_cast<double>(rest_ns) * rate_hz / static_cast<double>(kNsPerS);
  }
  TimeNs TimeOf(double at) const { return t_ns + FromSeconds((at - place) / rate_hz); }
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_SAMPLE_CLOCK_H_
