// SPDX-License-Identifier: Apache-2.0
//
// What can be seen of a protection from outside of the controller while it runs: that coils are charged
// no more, that injectors open no more, that an output is off, that a signal is not zero. Nothing of the
// stand-in's own state is read.
//
// A cut shows by what does not come: at this speed the next coil of any cylinder is due a firing interval
// after the last. The cut is taken to begin when that one was due; it may be up to an interval older.
#ifndef DRYCRANK_STUDY_LIMIT_SIGNS_H_
#define DRYCRANK_STUDY_LIMIT_SIGNS_H_

#include <vector>

#include "profile/bench.h"
#include "profile/protection.h"
#include "run/observer.h"
#include "types/points.h"
#include "types/time.h"

namespace drycrank::study {

class LimitSigns : public run::RunObserver {
 public:
  // All must outlive it. `speed_rpm`: as in LimitTrial.
  LimitSigns(const profile::Bench& bench, const profile::Protection& protection,
             const Points& speed_rpm);

  void OnOutput(const standin::OutputEvent& event) override;
  void OnFrame(const bus::TimedFrame& frame) override;

  struct Change {
    TimeNs t_ns = 0;
    bool acts = false;
  };
  // In the order of time, from the first sign of any kind on: before, it is not known.
  std::vector<Change> Changes(TimeNs end_ns) const;
  // How much later than it happens a change may be seen, at that time.
  TimeNs LatenessNs(TimeNs t_ns) const;

 private:
  std::vector<Change> Gaps(const std::vector<TimeNs>& begins_ns, TimeNs end_ns) const;
  TimeNs IntervalNs(TimeNs t_ns) const;

  const profile::Bench& bench_;
  const profile::Protection& protection_;
  const Points& speed_rpm_;
  double widest_deg_ = 0;                    // between two cylinders
  std::vector<TimeNs> sparks_ns_, fuel_ns_;  // begins
  std::vector<Change> told_;                 // by output or lamp
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_LIMIT_SIGNS_H_
