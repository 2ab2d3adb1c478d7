// SPDX-License-Identifier: Apache-2.0
//
// What a diagnosis chooses among: the single faults that the schedule allows (hypothesis.h), each
// with its size free over the whole range, and what else goes wrong with wires and sensors:
//
//   short or leak to ground, to supply   0.05 ohm to 300 kohm at each wire
//   chafe                                any two wires of one plug, 0.05 ohm to 100 kohm
//   wires of two plugs swapped           same pin, plugs of one family
//   ground offset                        +-2 V lost in each contact, in those that carry a ground first
//   supply off                           +-6 V
//   sensor off, sensor stuck             over the range of the quantity
//   sensor of another curve              solved (other_curve.h); tried where nothing else explains
//
// Priors: a single fault has 0.63 in all, spread by the weights of profile/fault_priors.h.
#ifndef DRYCRANK_DIAGNOSE_SUSPECTS_H_
#define DRYCRANK_DIAGNOSE_SUSPECTS_H_

#include <vector>

#include "diagnose/hypothesis.h"

namespace drycrank::diagnose {

// What was drawn before anything was seen. Common practice, no source; the likelihoods decide.
inline constexpr double kPriorHealthy = 0.20, kPriorSingle = 0.63, kPriorDouble = 0.12,
                        kPriorUnknown = 0.05;

inline constexpr const char* kOtherCurve = "sensor of another curve";

std::vector<Hypothesis> Suspects(const profile::Bench& bench);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_SUSPECTS_H_
