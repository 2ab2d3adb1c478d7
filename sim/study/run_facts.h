// SPDX-License-Identifier: Apache-2.0
//
// Collects for a run's report, beside the verdicts: begin and end of each step, notes, frames
// counted.
#ifndef DRYCRANK_STUDY_RUN_FACTS_H_
#define DRYCRANK_STUDY_RUN_FACTS_H_

#include <string>
#include <vector>

#include "profile/scenario_file.h"
#include "record/stretch_notes.h"
#include "report/report.h"
#include "run/observer.h"

namespace drycrank::study {

class RunFacts : public run::RunObserver {
 public:
  RunFacts(const profile::Bench& bench, const profile::Scenario& scenario)
      : scenario_(scenario), stretches_(bench) {}

  void OnStep(std::size_t step, TimeNs t_ns) override;
  void OnFrame(const bus::TimedFrame& frame) override;
  void OnNote(const std::string& note, TimeNs t_ns) override;
  void OnUnobservable(int bus, const std::string& why, TimeNs t_ns) override {
    stretches_.Begin(bus, why, t_ns);
  }
  void OnObservable(int bus, TimeNs t_ns) override { stretches_.End(bus, t_ns); }
  void OnFinish(TimeNs t_ns) override;

  const std::vector<report::StepTime>& steps() const { return steps_; }
  const std::vector<std::string>& notes() const { return notes_; }
  TimeNs duration_ns() const { return duration_ns_; }
  struct Count {
    std::uint64_t sent = 0, received = 0;
  };
  Count count(std::size_t bus) const { return bus < counts_.size() ? counts_[bus] : Count{}; }

 private:
  const profile::Scenario& scenario_;
  record::StretchNotes stretches_;
  std::vector<report::StepTime> steps_;
  std::vector<std::string> notes_;
  std::vector<Count> counts_ = std::vector<Count>(8);
  TimeNs duration_ns_ = 0;
};

// Did a run end before the scenario did? `steps`: those that were begun. A wait for something, as the
// last step, may end at any time.
bool EndedEarly(const profile::Scenario& scenario, const std::vector<report::StepTime>& steps);

// The scenario with each wait replaced by the time it took: the same motion without asking anyone.
profile::Scenario WithStepTimes(const profile::Scenario& scenario,
                                const std::vector<report::StepTime>& steps);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_RUN_FACTS_H_
