// SPDX-License-Identifier: Apache-2.0
//
// What a reported value should be, from the stimulus or a fixed value, as a band.
//
// A report is old when it arrives: up to one message period since it was put together, and one more
// when a period was missed, and what the controller needs to sample and filter. So with
//     age = 2 * message period + 20 ms        (display: the periods of both messages on the way)
// a report at t is right when it is within tolerance of some value that the stimulus had in
// [t - age, t]:
//     band = [least - tolerance, greatest + tolerance] of the stimulus over [t - age, t]
// While the stimulus holds, the band is the tolerance alone: no constant error can hide in the age.
// While it ramps, the band is wider by slope * age.
#ifndef DRYCRANK_CHECK_WANTED_H_
#define DRYCRANK_CHECK_WANTED_H_

#include <string>
#include <string_view>

#include "check/checker.h"
#include "check/judge.h"
#include "scenario/timeline.h"
#include "types/time.h"

namespace drycrank::check {

inline constexpr double kSampleAgeMs = 20;

class Wanted {
 public:
  // `unit`: that of the reported value; empty = the stimulus' own. `tolerance` in `unit`.
  Wanted(const Subject& subject, const expect::Target& target, std::string unit, double tolerance,
         double period_ms);

  // False: the stimulus has no value in this unit, nothing can be judged.
  bool comparable() const { return comparable_; }
  const std::string& unit() const { return unit_; }
  // A value of the stimulus (not a difference) in `unit`, made absolute if the target is.
  double InUnit(double stimulus_value) const { return stimulus_value * factor_ + offset_; }

  // To be called whenever a step begins, so that the drive before it is remembered.
  void Update();
  // What should be, in words: "24.9° ± 2.1°"; where the band is wider than the tolerance that was
  // asked for, of what it is made:
  // "(2.0° tolerance + 0.1° for changes while the message was under way)".
  // `rounding`: the share of `tolerance` that stands for the last digit shown.
  std::string Due(const TracePoint& point, int decimals, double rounding = 0) const;
  // The report with its band; `wanted` is the middle of the band, `tolerance` half its width.
  TracePoint Compare(TimeNs t_ns, double reported);

 private:
  scenario::Range StimulusOver(TimeNs first_ns, TimeNs last_ns) const;

  const scenario::Timeline* timeline_;
  int stimulus_;
  double fixed_ = 0;
  std::string unit_;
  double tolerance_;
  TimeNs age_ns_;
  bool comparable_ = true;
  double factor_ = 1, offset_ = 0;
  scenario::Track now_, before_;
};

// The target's tolerance, written in its stimulus' unit, as a difference in `unit`.
double ToleranceIn(const profile::Bench& bench, const expect::Target& target,
                   std::string_view unit);

// Tolerance less deviation; what is rounding only is 0.
double MarginOf(const TracePoint& point);

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_WANTED_H_
