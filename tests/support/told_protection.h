// SPDX-License-Identifier: Apache-2.0
//
// What a controller may be told of a protection, one setting at a time.
#ifndef DRYCRANK_TESTS_SUPPORT_TOLD_PROTECTION_H_
#define DRYCRANK_TESTS_SUPPORT_TOLD_PROTECTION_H_

#include "profile/fault.h"

namespace drycrank::support {

inline profile::fault::Told ToldLimit(double at) {
  profile::fault::Told told;
  told.limit = at;
  return told;
}
inline profile::fault::Told ToldDelay(double ms) {
  profile::fault::Told told;
  told.delay_ms = ms;
  return told;
}
inline profile::fault::Told ToldActs(profile::fault::ToldToAct how) {
  profile::fault::Told told;
  told.acts = how;
  return told;
}

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_TOLD_PROTECTION_H_
