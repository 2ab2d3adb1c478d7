// SPDX-License-Identifier: Apache-2.0
//
// The crank and cam picture around synchronisation, as an oscilloscope on the controller's trigger
// inputs would show it. What the inputs make of it stands in degrees (cycle_view.h).
#ifndef DRYCRANK_STUDY_OSCILLOSCOPE_H_
#define DRYCRANK_STUDY_OSCILLOSCOPE_H_

#include <deque>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "profile/bench.h"
#include "report/report.h"
#include "run/observer.h"
#include "standin/controller.h"

namespace drycrank::study {

// Which stretch to show.
struct ScopeWindow {
  TimeNs begin_ns = 0, end_ns = 0;
};

// The pieces of one input as points of a line within the window, lobes as chords.
std::vector<std::pair<TimeNs, double>> LinePoints(const std::deque<Wave>& pieces,
                                                  ScopeWindow window);
// The levels that the controller's input circuit compares the voltage with.
std::vector<std::pair<double, std::string>> LevelsOf(const profile::TriggerChannel& trigger);

// Keeps the last seconds of waves until it has seen what it waits for: the first synchronisation,
// or without one a fixed time after the first tooth. Memory is bounded.
class Oscilloscope : public run::RunObserver {
 public:
  // `controller` tells the state as seen from outside; may be nullptr (a real controller).
  Oscilloscope(const profile::Bench& bench, const standin::Controller* controller);
  // Shows this stretch instead of waiting for anything.
  Oscilloscope(const profile::Bench& bench, ScopeWindow window);

  void OnWave(int input, const Wave& piece) override;
  void OnEdge(const Edge& edge) override;
  void OnSample(TimeNs t_ns) override;
  void OnFinish(TimeNs t_ns) override;

  std::optional<ScopeWindow> window() const { return window_; }
  bool synchronised() const { return synchronised_ns_ != kNever; }
  report::ScopePicture Picture(const std::string& title) const;

 private:
  struct Probe {
    int input = -1;
    std::deque<Wave> pieces;
  };
  void Trim(TimeNs t_ns);
  bool Frozen() const { return window_ && frozen_; }
  report::ScopeChannel VoltageOf(std::size_t trigger) const;

  const profile::Bench& bench_;
  const standin::Controller* controller_ = nullptr;
  std::vector<Probe> probes_;  // per controller trigger
  TimeNs first_edge_ns_ = kNever;
  TimeNs synchronised_ns_ = kNever;
  std::optional<ScopeWindow> window_;
  bool frozen_ = false;
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_OSCILLOSCOPE_H_
