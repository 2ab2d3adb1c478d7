// SPDX-License-Identifier: Apache-2.0
//
// The run's own tester: asks the controller, stand-in or real, what the scenario's expectations
// want to know. One question per slot, at k * slot_ms, in turn; a slot in which the controller
// still owes an answer is passed over and counted. It only asks; the checker judges, from the
// frames.
//
//   slot 1   slot 2   slot 3   slot 4         OBD goes to all controllers (functional_id),
//   PID 05   PID 0B   codes    PID 05 ...     UDS to the one (request_id)
#ifndef DRYCRANK_RUN_TESTER_H_
#define DRYCRANK_RUN_TESTER_H_

#include <vector>

#include "bus/talker.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "protocol/isotp.h"

namespace drycrank::run {

class Tester : public bus::Talker {
 public:
  // Does the scenario ask for anything that takes a question?
  static bool IsNeeded(const profile::Bench& bench, const profile::Scenario& scenario);
  // REQUIRES: IsNeeded.
  Tester(const profile::Bench& bench, const profile::Scenario& scenario);

  void OnFrame(const bus::TimedFrame& frame) override;
  TimeNs NextDue() const override;
  bool TakeDue(TimeNs t_ns, bus::TimedFrame& out) override;

  std::uint64_t passed_over() const { return passed_over_; }

 private:
  bus::Frame Request(const profile::Question& question) const;

  const profile::OnBoardDiagnostics& config_;
  std::vector<profile::Question> questions_;  // each once
  std::size_t next_ = 0;
  TimeNs slot_ns_, due_ns_;
  TimeNs awaiting_until_ns_ = 0;
  protocol::IsoTp link_;
  std::uint64_t passed_over_ = 0;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_TESTER_H_
