// SPDX-License-Identifier: Apache-2.0
//
// Tests that may tell suspects apart, before it is worked out what they tell (next_test.h). Of volts
// only those are made whose nodes differ among the suspects, by a network of each without the meter.
#ifndef DRYCRANK_DIAGNOSE_TESTS_WORTH_TRYING_H_
#define DRYCRANK_DIAGNOSE_TESTS_WORTH_TRYING_H_

#include <set>
#include <span>
#include <string>
#include <vector>

#include "diagnose/measured.h"

namespace drycrank::diagnose {

// What the suspects name.
struct Scene {
  std::set<std::string> terminals;  // of contacts, shorts, swaps
  std::set<std::string> plugs;      // of those, and of suspect devices; none of the controller
  std::set<std::string> contact_plugs;
  std::set<std::string> wires;    // circuits
  std::set<std::string> devices;  // sensors and triggers
};
using Suspected = std::span<const profile::Fault>;
Scene SceneOf(const profile::Bench& bench, std::span<const Suspected> suspects);

// Nodes whose volts differ most among suspects, at most `most`: shares weigh them.
std::vector<Test> VoltsTests(const MeasuredModel& model, std::span<const Suspected> suspects,
                             std::span<const double> shares, const std::set<std::string>& cannot,
                             std::size_t most);
std::vector<Test> OhmTests(const MeasuredModel& model, const Scene& scene,
                           std::span<const Suspected> suspects);
std::vector<Test> AmpereTests(const MeasuredModel& model);
std::vector<Test> BridgeTests(const MeasuredModel& model, const Scene& scene,
                              std::span<const Suspected> suspects);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_TESTS_WORTH_TRYING_H_
