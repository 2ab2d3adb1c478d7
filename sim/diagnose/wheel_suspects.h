// SPDX-License-Identifier: Apache-2.0
//
// What may be wrong with a wheel or its sensor that no reading at rest tells the size of; weighed
// where something of the cycle failed, with what the inputs saw (edges.h):
//
//   wheel runout       an eccentric wheel: only by its edges, which come early and late by turns
//   electrical noise   edges that no tooth makes: by chance, so what the decoder makes of them is
//                      restless (channels.h)
//   cam slow           a phaser on its way: its angle lies between that of the step before and its
//                      own (slow_cam.h)
#ifndef DRYCRANK_DIAGNOSE_WHEEL_SUSPECTS_H_
#define DRYCRANK_DIAGNOSE_WHEEL_SUSPECTS_H_

#include <span>
#include <vector>

#include "diagnose/hypothesis.h"

namespace drycrank::diagnose {

inline constexpr const char* kRunout = "wheel runout";
inline constexpr const char* kNoise = "electrical noise";
inline constexpr const char* kSlowCam = "cam slow";

// With the priors of `suspects`, which are those of Suspects(bench).
std::vector<Hypothesis> WheelSuspects(const profile::Bench& bench,
                                      std::span<const Hypothesis> suspects);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_WHEEL_SUSPECTS_H_
