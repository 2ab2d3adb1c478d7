// SPDX-License-Identifier: Apache-2.0
//
// The diagnosis of a record as readings at the bench leave it, so that whoever says a share says the
// same one: groups, members, health and "not on the list" by their shares afterwards.
//
// A fault that a reading cleared is in no group any more: it is off what was read, less likely than
// kLeftShare, and lost far more than the suspect that lost least. Of a reading that fits nobody all
// lose alike: it clears nobody. Beyond the suspects that readings are weighed against
// (kMostSuspects) none is in a group either.
#ifndef DRYCRANK_DIAGNOSE_AFTER_READINGS_H_
#define DRYCRANK_DIAGNOSE_AFTER_READINGS_H_

#include <vector>

#include "diagnose/narrowed.h"
#include "diagnose/rank.h"

namespace drycrank::diagnose {

struct AfterReadings {
  Diagnosis diagnosis;                     // sizes, too, are those that the readings make likeliest
  std::vector<double> share_before;        // of each of its groups, by the record alone
  std::vector<const Candidate*> cleared;   // of the diagnosis before, likeliest of then first
  std::vector<std::size_t> against_first;  // readings that its first fault does not give
  std::vector<std::size_t> against;        // how many the first of each of its groups does not give
};
inline constexpr double kLeftShare = 0.005;

// `before` must outlive what it returns.
AfterReadings WithReadings(const Diagnosis& before, const Narrowed& narrowed);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_AFTER_READINGS_H_
