// SPDX-License-Identifier: Apache-2.0
//
// A shipped scenario for tests of the run stage; a problem in it fails the test that asks for it.
#ifndef DRYCRANK_TESTS_RUN_LOADED_H_
#define DRYCRANK_TESTS_RUN_LOADED_H_

#include <gtest/gtest.h>

#include <string>

#include "profile/load.h"

namespace drycrank::run {

inline profile::LoadedScenario Shipped(const std::string& name) {
  profile::LoadedScenario loaded =
      profile::LoadScenario(DRYCRANK_PROFILES_DIR "/scenarios/" + name + ".yaml");
  for (const Diagnostic& problem : loaded.problems) ADD_FAILURE() << Format(problem);
  return loaded;
}

}  // namespace drycrank::run

#endif  // DRYCRANK_TESTS_RUN_LOADED_H_
