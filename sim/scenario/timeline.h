// SPDX-License-Identifier: Apache-2.0
//
// The timeline of a scenario while it is played: which step is on, what value each stimulus has as
// a closed form of time, which faults are in force. Pure: time is passed in, conditions are fed in.
// A record is judged by playing it again with the step times that it noted.
//
// With x = seconds since the track's begin, and its integral I from there:
//   hold, crank   v = to                                    I = to x      (crank: the mean speed)
//   ramp          v = from + (to - from) min(x / over, 1)   I = trapezium, then to (x - over)
//   sine          v = to + A sin(2 pi x / T)                I = to x
//                                                               + A T / 2 pi (1 - cos(2 pi x / T))
//   points        straight between points, held after       I = trapeziums
//                 the last
// A ramp starts from the value that its stimulus has at that moment, be it in mid-sine.
#ifndef DRYCRANK_SCENARIO_TIMELINE_H_
#define DRYCRANK_SCENARIO_TIMELINE_H_

#include <cstddef>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "types/time.h"

namespace drycrank::scenario {

struct Range {
  double low = 0, high = 0;
};

// A stimulus as a function of time from begin_ns on. Before its begin: the value at the begin.
struct Track {
  profile::DriveKind kind = profile::DriveKind::kHold;
  TimeNs begin_ns = 0;
  double from = 0;  // value at the begin (ramp)
  double to = 0;    // hold, ramp, sine mean, crank
  double over_s = 0;
  double amplitude = 0, period_s = 1;
  const Points* points = nullptr;

  double Value(TimeNs t_ns) const;
  // Integral of the value from begin_ns to t_ns, value-seconds.
  double Integral(TimeNs t_ns) const;
  // Least and greatest value in [first_ns, last_ns]; exact, crests and corners included.
  Range Extremes(TimeNs first_ns, TimeNs last_ns) const;

  friend bool operator==(const Track&, const Track&) = default;
};

class Timeline {
 public:
  // Bench and scenario must outlive the timeline.
  Timeline(const profile::Bench& bench, const profile::Scenario& scenario);

  // Starts step `index` at t_ns. REQUIRES: in order, t_ns not before the last one.
  void BeginStep(std::size_t index, TimeNs t_ns);
  double start_deg() const { return scenario_->start_deg; }  // of the crank, at the begin
  std::size_t step() const { return step_; }                 // the one that is on
  std::size_t step_count() const;
  TimeNs step_begin_ns() const { return step_begin_ns_; }
  // When the step ends by its length or its limit.
  TimeNs StepEndNs() const { return step_end_ns_; }
  // A signal was received. True when this ends the step that is on.
  bool Observe(const profile::SignalRef& signal, double value) const;

  double Value(int stimulus, TimeNs t_ns) const;
  const Track& track(int stimulus) const;
  // Integral of a stimulus since the start of the run, value-seconds (engine_speed: rpm * s).
  double Integral(int stimulus, TimeNs t_ns) const;

  // A value given by hand while the bench runs: reached over_s after t_ns on a straight line (0: at
  // once), held from then on.
  void Override(int stimulus, double value, double over_s, TimeNs t_ns);
  // From t_ns on a starter turns the crank, at this mean speed.
  void Crank(double rpm, TimeNs t_ns);

  // Indices into scenario.faults of those in force at t_ns, and the next instant at which that set
  // changes by the clock (kNever: not before the next step). A fault by the clock is in force in
  // [from_s, to_s); one with steps goes by its steps alone. One that comes and goes is there for for_s
  // at the begin of each every_s since then.
  std::vector<int> FaultsAt(TimeNs t_ns) const;
  TimeNs NextFaultChangeNs(TimeNs t_ns) const;

 private:
  void Replace(int stimulus, const Track& track);
  TimeNs FaultBeginNs(const profile::Fault& fault) const;
  bool IsInItsTime(const profile::Fault& fault, TimeNs t_ns) const;

  const profile::Bench* bench_;
  const profile::Scenario* scenario_;
  std::size_t step_ = 0;
  TimeNs step_begin_ns_ = 0;
  TimeNs step_end_ns_ = 0;
  std::vector<Track> tracks_;
  std::vector<double> integral_;  // up to each track's begin
};

// Whether `value` meets the condition. Above and below are strict; equal means but for rounding
// (1e-9 of the value), since a signal's scale seldom has a finite binary fraction.
bool Holds(const profile::Condition& condition, double value);
// How far it is from doing the opposite: >= 0 when it holds, in the signal's unit; else <= 0. (0
// when it does not hold: a strict limit has been touched.)
double Margin(const profile::Condition& condition, double value);

}  // namespace drycrank::scenario

#endif  // DRYCRANK_SCENARIO_TIMELINE_H_
