// SPDX-License-Identifier: Apache-2.0
//
// A bench under constant conditions, looked at where a probe would be: what the harness hands to
// the controller's inputs between two instants, and the state of things beside it.
#ifndef DRYCRANK_TOOLS_DRAW_NOTES_BENCH_VIEW_H_
#define DRYCRANK_TOOLS_DRAW_NOTES_BENCH_VIEW_H_

#include <string>
#include <utility>
#include <vector>

#include "profile/load.h"
#include "report/report.h"
#include "study/oscilloscope.h"

namespace drycrank::tools {

struct Conditions {
  double speed_rpm = 0;
  bool cranking = false;                                // with compression ripple
  std::vector<std::pair<std::string, double>> stimuli;  // held
  std::vector<profile::Fault> faults;
};

class BenchView {
 public:
  // Throws std::runtime_error with the file's problems.
  explicit BenchView(const std::string& bench_file);

  // Plays the bench from standstill to the window's end.
  void Play(const Conditions& conditions, study::ScopeWindow window);

  // Of the last Play.
  report::ScopeChannel Volts(const std::string& name, const std::string& terminal) const;
  // `trigger` as in the controller's list, with the levels of its input circuit.
  report::ScopeChannel TriggerVolts(const std::string& trigger) const;
  report::ScopeChannel Logic(const std::string& name, const std::string& trigger) const;
  report::ScopeChannel Speed() const;
  TimeNs synchronised_ns() const { return synchronised_ns_; }  // kNever: not in the time played

  // Where metal is in front of a trigger's sensor, at the constant speed of the last Play.
  report::ScopeChannel Metal(const std::string& trigger) const;
  // Centres of its teeth within the window.
  std::vector<TimeNs> ToothCentres(const std::string& trigger) const;

  const profile::Bench& bench() const { return bench_; }

 private:
  class Probe;
  int Input(const std::string& terminal) const;
  int Channel(const std::string& trigger) const;

  profile::Bench bench_;
  double speed_rpm_ = 0;
  study::ScopeWindow window_;
  std::vector<std::deque<Wave>> waves_;   // per input
  std::vector<std::vector<Edge>> edges_;  // per controller trigger
  std::vector<std::pair<TimeNs, double>> speed_;
  TimeNs synchronised_ns_ = kNever;
};

}  // namespace drycrank::tools

#endif  // DRYCRANK_TOOLS_DRAW_NOTES_BENCH_VIEW_H_
