// SPDX-License-Identifier: Apache-2.0
//
// At which degrees of the crank that was driven a run's controller fired and injected in the last part
// of a step, as diagnose/fired.h takes it. A mean of less than three is none, and one of angles all over
// the cycle neither.
#ifndef DRYCRANK_STUDY_FIRED_READINGS_H_
#define DRYCRANK_STUDY_FIRED_READINGS_H_

#include <vector>

#include "check/crank.h"
#include "diagnose/fired.h"
#include "types/crank_motion.h"
#include "types/output_event.h"

namespace drycrank::study {

class FiredReadings {
 public:
  explicit FiredReadings(double cycle_deg) : cycle_deg_(cycle_deg) {}

  void OnMotion(const CrankMotion& motion) { crank_.OnMotion(motion); }
  void OnOutput(const OutputEvent& event);
  void OnStep() { ended_.clear(); }
  // Of what ended from then on.
  diagnose::FiredAt Since(TimeNs begin_ns) const;

 private:
  struct Ended {
    TimeNs t_ns;
    OutputKind kind;
    int cylinder;
    double deg;
  };
  double cycle_deg_;
  check::Crank crank_;
  std::vector<Ended> ended_;  // in this step
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_FIRED_READINGS_H_
