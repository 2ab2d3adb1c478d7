// SPDX-License-Identifier: Apache-2.0
//
// Keeps the waves, edges and outputs of one whole cycle of the crank, and lays beside them where
// the edges are due: the cycle after the first synchronisation (or after a while of teeth without
// one), or the one in which a given instant lies.
#ifndef DRYCRANK_STUDY_CYCLE_VIEW_H_
#define DRYCRANK_STUDY_CYCLE_VIEW_H_

#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "check/crank.h"
#include "profile/bench.h"
#include "report/cycle.h"
#include "run/runner.h"

namespace drycrank::check {
struct BuiltEdge;
}

namespace drycrank::study {

class CycleView : public run::RunObserver {
 public:
  // The runner is the one that is observed; without a stand-in in it no edge is seen, and no cycle.
  // `at_ns`: nothing waits for synchronisation.
  CycleView(const profile::Bench& bench, const run::Runner& runner,
            std::optional<TimeNs> at_ns = {});

  void OnMotion(const CrankMotion& motion) override;
  void OnWave(int input, const Wave& piece) override;
  void OnEdge(const Edge& edge) override;
  void OnOutput(const standin::OutputEvent& event) override;
  void OnSample(TimeNs t_ns) override;

  // All of the cycle has been seen.
  bool is_whole() const { return is_whole_; }
  // Nothing: no whole cycle came. Without a title, one of what it waited for.
  std::optional<report::CyclePicture> Picture(const std::string& title = {}) const;

 private:
  struct Probe {
    int input = -1;    // of the controller
    int trigger = -1;  // of the bench, as drawn; -1: none
    std::deque<Wave> waves;
    std::deque<std::pair<CrankAngle, bool>> edges;
  };
  struct Done {
    CrankAngle at;
    standin::OutputEvent event;
  };

  std::int64_t CycleOf(const CrankAngle& at) const;
  std::optional<double> InView(const CrankAngle& at) const;
  CrankAngle Begin() const;
  bool HasBegun(TimeNs t_ns);
  std::string Title() const;
  void Trim(std::int64_t now);
  void End();
  TimeNs TimeOf(double deg) const;
  report::CycleRow RowOf(std::size_t probe) const;
  void AddVolts(const Probe& probe, report::CycleRow& row) const;
  void KeepThisTurn(const profile::Trigger& built, std::vector<check::BuiltEdge>& due) const;
  void AddDue(std::size_t probe, report::CycleRow& row) const;
  void AddOutputs(report::CyclePicture& picture) const;
  void AddStates(report::CyclePicture& picture) const;

  const profile::Bench& bench_;
  const run::Runner& runner_;
  const std::optional<TimeNs> at_ns_;
  const double cycle_deg_;
  check::Crank crank_;
  std::vector<Probe> probes_;  // per controller trigger
  std::deque<Done> outputs_;
  std::deque<std::pair<CrankAngle, standin::SyncState>> states_;
  std::deque<std::pair<TimeNs, CrankAngle>> samples_;
  TimeNs first_edge_ns_ = kNever;
  std::optional<std::int64_t> cycle_;  // the one to show
  std::vector<double> advance_deg_;    // of each probe's wheel, when the cycle was over
  bool is_synchronised_ = false, is_whole_ = false;
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_CYCLE_VIEW_H_
