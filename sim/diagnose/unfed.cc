// SPDX-License-Identifier: Apache-2.0
#include "diagnose/unfed.h"

#include "diagnose/electrical.h"

namespace drycrank::diagnose {

void TakeControllerOff(profile::Bench& bench) {
  if (!bench.controller) return;
  for (profile::ReferenceOutput& output : bench.controller->references) output.voltage_v = 0;
  for (profile::InputCircuit& input : bench.controller->inputs) input.pull_up_v = 0;
}

profile::Bench WithControllerOff(const profile::Bench& bench) {
  profile::Bench off = bench;
  TakeControllerOff(off);
  return off;
}

bool IsControllerFed(const profile::Bench& bench, const harness::Harness& harness) {
  return !bench.controller || harness.ControllerSupply() >= bench.controller->min_supply_v;
}

harness::Harness HarnessAsFed(const profile::Bench& bench, const Situation& situation,
                              std::span<const profile::Fault> faults) {
  harness::Harness harness = HarnessIn(bench, situation, faults);
  if (IsControllerFed(bench, harness)) return harness;
  return HarnessIn(WithControllerOff(bench), situation, faults);
}

}  // namespace drycrank::diagnose
