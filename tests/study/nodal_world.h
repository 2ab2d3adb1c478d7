// SPDX-License-Identifier: Apache-2.0
//
// A bench, healthy or cut, reckoned by the tests' own hand: no code of harness/, plant/, sensor/,
// standin/, diagnose/ or study/. From the bench as read and the steps of a walk that only holds
// values, to what a run would judge.
//
// The volts are those of tests/support/nodal_network.h, the values those of nodal_reports.h beside it.
//
// A cut is a wire, or a contact: the pin parted from all that is crimped in.
#ifndef DRYCRANK_TESTS_STUDY_NODAL_WORLD_H_
#define DRYCRANK_TESTS_STUDY_NODAL_WORLD_H_

#include <vector>

#include "check/checker.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "report/report.h"
#include "tests/support/nodal_reports.h"

namespace drycrank::study {

using support::Cut;

class NodalWorld {
 public:
  // Both outlive it. REQUIRES: every drive of the steps holds a value; expectations follow a
  // stimulus, or want a value above or equal to a number.
  NodalWorld(const profile::Bench& bench, const profile::Scenario& scenario);

  const std::vector<report::StepTime>& steps() const { return steps_; }
  std::vector<check::Verdict> Verdicts(const Cut& cut) const;

 private:
  check::Verdict Judge(std::size_t expectation,
                       const std::vector<support::ControllerReports>& reports) const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  std::vector<report::StepTime> steps_;
  std::vector<std::vector<double>> stimuli_;  // per step
};

// Does any expectation fail, or is it not observed?
bool AnyViolated(const std::vector<check::Verdict>& verdicts);

}  // namespace drycrank::study

#endif  // DRYCRANK_TESTS_STUDY_NODAL_WORLD_H_
