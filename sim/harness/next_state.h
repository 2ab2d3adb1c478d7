// SPDX-License-Identifier: Apache-2.0
//
// What the solution of a network says of its devices' states (branch.h), for those who try them until
// they agree (variants.h). Answers are a of variants.h.
#ifndef DRYCRANK_HARNESS_NEXT_STATE_H_
#define DRYCRANK_HARNESS_NEXT_STATE_H_

#include <Eigen/Dense>

#include "harness/branch.h"

namespace drycrank::harness {

inline constexpr int kMostPasses = 24;
inline constexpr Eigen::Index kMany = 64;  // devices of a large harness

// Of device d, by its current and supply voltage in the answers.
inline State NextState(const Branch& branch, const State& now, const Law& law,
                       const Eigen::VectorXd& answer, Eigen::Index d, Eigen::Index devices) {
  const double supply_v = answer[devices + d];
  return StateAt(branch, now, law.ohm * answer[d] + law.fraction * supply_v + law.emf, supply_v);
}

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_NEXT_STATE_H_
