// SPDX-License-Identifier: Apache-2.0
//
// Coil inputs that adapt (standin/comparator.h): a lobe arms them at arm_share of the highest of
// the three lobes before it. The flux that changes at each tooth is the same, so a lobe is as high
// as it is short:
//
//   h = flux / (time from its begin to its end)          types/coil_lobe.h has where these are
//
// A lobe twice as long as one of the three before it is half as high, and with an arm_share above
// that no edge is seen there. While cranking the time up to crank angle A is that of ripple.h.
#ifndef DRYCRANK_PROOFREAD_ARMING_H_
#define DRYCRANK_PROOFREAD_ARMING_H_

#include <optional>

#include "profile/bench.h"

namespace drycrank::proofread {

struct WeakLobe {
  double share = 1;  // of the highest of the three before it
  int tooth = 0;
  double deg = 0, before_deg = 0;  // how long it is, and that highest one
};
// The lobe of a wheel that is lowest against those before it. Nothing: no coil, or no teeth, is
// wired there.
std::optional<WeakLobe> WeakestLobe(const profile::Bench& bench,
                                    const profile::TriggerChannel& channel, double ripple);
// Does each of its lobes arm an input that adapts?
bool EachLobeArms(const profile::Bench& bench, const profile::TriggerChannel& channel,
                  double ripple);

struct Compared;
void CompareArming(const profile::Bench& bench, Compared& out);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_ARMING_H_
