// SPDX-License-Identifier: Apache-2.0
//
// What each expectation of a scenario listens to, as its judge says.
#ifndef DRYCRANK_CHECK_LISTENED_H_
#define DRYCRANK_CHECK_LISTENED_H_

#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::check {

struct Listened {
  std::vector<profile::MessageRef> messages;
  bool talk = false;  // to frames that are no message of the bench
};
// One per expectation.
std::vector<Listened> ListenedBy(const profile::Bench& bench, const profile::Scenario& scenario);

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_LISTENED_H_
