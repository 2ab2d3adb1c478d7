// SPDX-License-Identifier: Apache-2.0
//
// What a run showed when it had settled: for each step that ended with every stimulus at rest, the
// situation and the last value of every reading (diagnose/reading.h). Seen from outside only:
// frames, and the stimuli that were ordered. A state that came and went shortly before the end is
// told by what it was besides: a decoder that loses its position mostly has it.
#ifndef DRYCRANK_STUDY_READINGS_H_
#define DRYCRANK_STUDY_READINGS_H_

#include <vector>

#include "diagnose/reading.h"
#include "profile/scenario_file.h"
#include "run/observer.h"
#include "scenario/timeline.h"
#include "study/edge_readings.h"
#include "study/fired_readings.h"
#include "study/strangers.h"

namespace drycrank::study {

class Readings : public run::RunObserver {
 public:
  // All three must outlive it; the timeline is the run's own.
  Readings(const profile::Bench& bench, const profile::Scenario& scenario,
           const scenario::Timeline& timeline);

  void OnStep(std::size_t step, TimeNs t_ns) override;
  void OnFrame(const bus::TimedFrame& frame) override;
  void OnMotion(const CrankMotion& motion) override {
    fires_.OnMotion(motion);
    turns_.OnMotion(motion);
  }
  void OnEdge(const Edge& edge) override { turns_.OnEdge(edge); }
  void OnOutput(const standin::OutputEvent& event) override { fires_.OnOutput(event); }
  void OnFinish(TimeNs t_ns) override;

  const std::vector<diagnose::Situation>& situations() const { return situations_; }
  const diagnose::Observation& observation() const { return observation_; }
  // Per situation, what was fired; nothing for a run whose outputs nobody saw.
  const diagnose::FiredSeen& fired() const { return fired_; }
  // Per situation, what the trigger inputs saw; nothing for a run of which no edges are known.
  diagnose::EdgesSeen edges() const;
  std::vector<diagnose::Stranger> strangers() const { return strangers_.Heard(); }

 private:
  void EndStep(TimeNs t_ns);
  bool AtRest(TimeNs t_ns) const;
  double StateAt(std::size_t reading, TimeNs t_ns) const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  const scenario::Timeline& timeline_;
  std::vector<diagnose::Reading> readings_;
  std::vector<double> last_;
  std::vector<TimeNs> last_ns_;
  std::vector<double> before_;      // per reading: its value before the last change ...
  std::vector<TimeNs> changed_ns_;  // ... and when that was; -1: never
  int step_ = -1;
  TimeNs step_begin_ns_ = 0;
  std::vector<scenario::Track> tracks_;  // as the step began, per stimulus
  std::vector<diagnose::Situation> situations_;
  diagnose::Observation observation_;
  FiredReadings fires_;
  diagnose::FiredSeen fired_;
  EdgeReadings turns_;
  diagnose::EdgesSeen edges_;
  Strangers strangers_;
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_READINGS_H_
