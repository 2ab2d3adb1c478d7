// SPDX-License-Identifier: Apache-2.0
//
// What a controller may have been told wrong, when its angles, its synchronisation or its sparks
// are not as they should be:
//
//   firing order, advance      at its decoder, by the sparks that were seen (fired.h)
//   offset                     of each trigger channel, +-90 degrees of the crank: by the sparks, or by the
//                              cam angles that it reports (told_offsets.h)
//   edge                       of each trigger channel: the other one. Of a coil that is a rare mistake:
//                              two leads in each other's place look the same, and are more common
//   wheel                      of a channel with a gap or with even teeth: the common ones
//
// Tables are suspects always (hypothesis.h). A setting has the weight `controller_told_wrong` of
// profile/fault_priors.h.
#ifndef DRYCRANK_DIAGNOSE_TOLD_SUSPECTS_H_
#define DRYCRANK_DIAGNOSE_TOLD_SUSPECTS_H_

#include <span>
#include <string>
#include <vector>

#include "diagnose/hypothesis.h"

namespace drycrank::diagnose {

inline constexpr const char* kToldWrong = "controller told wrong";

// With the priors of `suspects`, which are those of Suspects(bench).
std::vector<Hypothesis> ToldSuspects(const profile::Bench& bench,
                                     std::span<const Hypothesis> suspects);
// What a fault of weight 1 has among them.
double PriorOfOne(const profile::Bench& bench, std::span<const Hypothesis> suspects);
// The trigger whose sensor is wired to the channel's terminal; empty: none is.
std::string TriggerBehind(const profile::Bench& bench, const profile::TriggerChannel& channel);
// Is its size told by an angle that was seen (fired.h, told_offsets.h), and not sought?
bool IsToldByAngle(const Hypothesis& hypothesis);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_TOLD_SUSPECTS_H_
