// SPDX-License-Identifier: Apache-2.0
//
// How likely each kind of single fault is beside the others, before anything was observed: what a
// bench may say otherwise under `fault_priors`. Weights, not shares; common practice, no source.
// They decide only among faults that explain the readings equally well.
#ifndef DRYCRANK_PROFILE_FAULT_PRIORS_H_
#define DRYCRANK_PROFILE_FAULT_PRIORS_H_

#include <map>
#include <span>
#include <string>
#include <string_view>

namespace drycrank::profile {

struct FaultPrior {
  std::string_view kind;  // as a key: wire_open
  double weight = 1;
};

// All kinds, with the usual weights.
std::span<const FaultPrior> UsualFaultPriors();

// By kind; kinds that are left out have the usual weight. 1e-6 to 1e6.
using FaultPriors = std::map<std::string, double>;
double PriorOf(const FaultPriors& priors, std::string_view kind);

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_FAULT_PRIORS_H_
