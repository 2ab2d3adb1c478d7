// SPDX-License-Identifier: Apache-2.0
//
// How long a controller takes to see a value that it watches: its samples, its filter, the periods or turns
// that it counts; and to know that nothing sensible comes.
#ifndef DRYCRANK_STUDY_LIMIT_SIGHT_H_
#define DRYCRANK_STUDY_LIMIT_SIGHT_H_

#include "profile/bench.h"
#include "profile/protection.h"

namespace drycrank::study {

// What the controller needs to see a value.
struct Seeing {
  double measuring_ms = 0;  // two samples, and two periods or two turns of what it counts
  double filter_ms = 0;     // time constant

  // Of a jump: until what it has passes the level on the way, or one so much nearer to its end.
  double JumpMs(double from, double to, double level, double tolerance) const;
  // Of a value that moves on.
  double LagMs() const { return measuring_ms + filter_ms; }
};
Seeing SeeingOf(const profile::Bench& bench, const profile::Protection& protection);

// Until it is known that nothing comes, or nothing sensible.
double BlindMs(const profile::Bench& bench, const profile::Protection& protection);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_LIMIT_SIGHT_H_
