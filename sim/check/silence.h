// SPDX-License-Identifier: Apache-2.0
//
// What an expectation was not told meets nothing: a judge of reports that is met although its messages
// stayed away for a while has not observed that while: three periods of a message and at least a quarter
// of a second, or a whole stretch of judged time of more than one and a half. A message that comes by event
// has no period, and is not missed.
#ifndef DRYCRANK_CHECK_SILENCE_H_
#define DRYCRANK_CHECK_SILENCE_H_

#include <vector>

#include "check/judge.h"

namespace drycrank::check {

// The same judge, but for that. `judge` is kept.
JudgePtr WatchedForSilence(const profile::Bench& bench, JudgePtr judge);

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_SILENCE_H_
