// SPDX-License-Identifier: Apache-2.0
//
// A bench, healthy or cut, reckoned by the tests' own hand: no code of harness/, plant/, sensor/,
// standin/, diagnose/ or study/. From the bench as read and the steps of a walk that only holds
// values, to what a run would judge.
//
//   G v = i        dense, Gauss with row pivots, once per state of the outputs: a contact of 5 mohm
//                  at each pin, wires by a table of their own, 1 Gohm from each node to the battery's
//                  minus, the controller's supply as a resistance, its joined pins (supply, ground
//                  5 mohm, sensor ground 20 mohm), pull-ups and inputs against its ground
//   output         fraction * (supply - ground) behind its resistance while it has its least supply;
//                  1 Mohm to its ground else. A Hall output: on_ohm or off_ohm, and a diode from
//                  ground to signal, 1 ohm beyond its knee
//   value          volts * 5 V / the reference as measured, when told so; out of low_v .. high_v the
//                  fallback; else the told table, straight between its rows; then as its frame has it
//   silent         less than min_supply_v between supply and ground: no message at all
//   crank          of a controller with a crank input alone: speed and position while the Hall
//                  output crosses both thresholds; 0 and stopped else
//
// A cut is a wire, or a contact: the pin parted from all that is crimped in.
#ifndef DRYCRANK_TESTS_STUDY_NODAL_WORLD_H_
#define DRYCRANK_TESTS_STUDY_NODAL_WORLD_H_

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "check/checker.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "report/report.h"

namespace drycrank::study {

struct Cut {
  std::set<int> wires;  // indices
  std::set<std::string> contacts;
};

struct Volts {
  double supply_v = 0;
  std::vector<double> reference_v, input_v;
};

// The volts with each stimulus at a value; `crank_on`: the Hall output of the crank conducts.
Volts VoltsOf(const profile::Bench& bench, const Cut& cut, const std::vector<double>& stimuli,
              bool crank_on = false);

class NodalWorld {
 public:
  // Both outlive it. REQUIRES: every drive of the steps holds a value; expectations follow a
  // stimulus, or want a value above or equal to a number.
  NodalWorld(const profile::Bench& bench, const profile::Scenario& scenario);

  const std::vector<report::StepTime>& steps() const { return steps_; }
  std::vector<check::Verdict> Verdicts(const Cut& cut) const;

 private:
  // By the name of the controller's value; empty: silent.
  using Values = std::map<std::string, double>;
  Values ValuesAt(std::size_t step, const Cut& cut) const;
  std::optional<double> Received(const profile::SignalRef& at, const Values& values) const;
  check::Verdict Judge(std::size_t expectation, const std::vector<Values>& values) const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  std::vector<report::StepTime> steps_;
  std::vector<std::vector<double>> stimuli_;  // per step
};

// Does any expectation fail, or is it not observed?
bool AnyViolated(const std::vector<check::Verdict>& verdicts);

}  // namespace drycrank::study

#endif  // DRYCRANK_TESTS_STUDY_NODAL_WORLD_H_
