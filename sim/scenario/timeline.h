// SPDX-License-Identifier: Apache-2.0
//
// The timeline of a scenario while it is played: which step is on, what value each stimulus has as a
// closed form of time, which faults are in force. Pure: time is passed in, conditions are fed in.
// A record is judged by playing it again with the step times that it noted.
#ifndef DRYCRANK_SCENARIO_TIMELINE_H_
#define DRYCRANK_SCENARIO_TIMELINE_H_

#include <cstddef>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "types/time.h"

namespace drycrank::scenario {

// A stimulus as a function of time from begin_ns on.
struct Track {
  profile::DriveKind kind = profile::DriveKind::kHold;
  TimeNs begin_ns = 0;
  double from = 0;  // value at the begin (ramp)
  double to = 0;    // hold, ramp, sine mean, crank
  double over_s = 0;
  double amplitude = 0, period_s = 1;
  const profile::Points* points = nullptr;

  double Value(TimeNs t_ns) const;
  // Integral of the value from begin_ns to t_ns, value-seconds.
  double Integral(TimeNs t_ns) const;
};

class Timeline {
 public:
  // Bench and scenario must outlive the timeline.
  Timeline(const profile::Bench& bench, const profile::Scenario& scenario);

  // Starts step `index` at t_ns. REQUIRES: in order, t_ns not before the last one.
  void BeginStep(std::size_t index, TimeNs t_ns);
  std::size_t step() const { return step_; }  // the one that is on
  std::size_t step_count() const;
  TimeNs step_begin_ns() const { return step_begin_ns_; }
  // When the step ends by its length or its limit.
  TimeNs StepEndNs() const;
  // A signal was received. True when this ends the step that is on.
  bool Observe(const profile::SignalRef& signal, double value) const;

  double Value(int stimulus, TimeNs t_ns) const;
  const Track& track(int stimulus) const;
  // Integral of a stimulus since the start of the run, value-seconds (engine_speed: rpm * s).
  double Integral(int stimulus, TimeNs t_ns) const;

  // A value given by hand while the bench runs: holds from t_ns on.
  void Override(int stimulus, double value, TimeNs t_ns);

  // Indices into scenario.faults of those in force at t_ns, and the next instant at which that set
  // changes by the clock (kNever: not before the next step).
  std::vector<int> FaultsAt(TimeNs t_ns) const;
  TimeNs NextFaultChangeNs(TimeNs t_ns) const;

 private:
  const profile::Bench* bench_;
  const profile::Scenario* scenario_;
  std::size_t step_ = 0;
  TimeNs step_begin_ns_ = 0;
  std::vector<Track> tracks_;
  std::vector<double> integral_;  // up to each track's begin
};

// Whether `value` meets the condition.
bool Holds(const profile::Condition& condition, double value);
// How far it is from doing the opposite: >= 0 when it holds, in the signal's unit.
double Margin(const profile::Condition& condition, double value);

}  // namespace drycrank::scenario

#endif  // DRYCRANK_SCENARIO_TIMELINE_H_
