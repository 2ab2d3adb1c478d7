// SPDX-License-Identifier: Apache-2.0
//
// What a walk leaves open: the circuits that neither an expectation nor a question is about, each
// with its reason.
#ifndef DRYCRANK_WALK_GAPS_H_
#define DRYCRANK_WALK_GAPS_H_

#include <map>
#include <set>
#include <string>
#include <vector>

#include "profile/bench.h"
#include "walk/walk.h"

namespace drycrank::walk {

// Circuits that any of these would prove.
std::set<std::string> ProvenBy(const std::vector<profile::Expectation>& expectations);

// Fills not_provable and not_fitted. `reasons`: by sensor, why it has no expectation.
void ListUnproven(const profile::Bench& bench, const std::map<std::string, std::string>& reasons,
                  Walk& walk);

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_GAPS_H_
