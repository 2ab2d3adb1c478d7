// SPDX-License-Identifier: Apache-2.0
//
// Judges of conditions that look at the controller's pins and at the crank, in the place of those that
// look at a signal.
#ifndef DRYCRANK_CHECK_LINE_CONDITIONS_H_
#define DRYCRANK_CHECK_LINE_CONDITIONS_H_

#include "check/judge.h"

namespace drycrank::check {

bool IsOnLines(const profile::Condition& condition);

// REQUIRES: IsOnLines(kind.condition)
JudgePtr MakeLineJudge(const Subject& subject, const expect::Always& kind);
JudgePtr MakeLineJudge(const Subject& subject, const expect::Never& kind);
JudgePtr MakeLineJudge(const Subject& subject, const expect::Within& kind);
JudgePtr MakeLineJudge(const Subject& subject, const expect::ForAtLeast& kind);

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_LINE_CONDITIONS_H_
