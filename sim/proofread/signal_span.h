// SPDX-License-Identifier: Apache-2.0
//
// What a signal can say: all of its bits, within its min and max.
#ifndef DRYCRANK_PROOFREAD_SIGNAL_SPAN_H_
#define DRYCRANK_PROOFREAD_SIGNAL_SPAN_H_

#include <string>

#include "profile/bench.h"

namespace drycrank::proofread {

struct SignalSpan {
  double low = 0, high = 0;
};
// In `unit`, or in the signal's own where it does not fit.
SignalSpan SpanOf(const profile::Signal& signal, const std::string& unit);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_SIGNAL_SPAN_H_
