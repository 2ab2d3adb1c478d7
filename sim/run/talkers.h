// SPDX-License-Identifier: Apache-2.0
//
// All that talks in a run besides cyclic messages: the tester, and the stand-in controller's
// diagnostics and J1939 node. A frame of one origin is heard by the talkers of the others.
#ifndef DRYCRANK_RUN_TALKERS_H_
#define DRYCRANK_RUN_TALKERS_H_

#include <cstdint>
#include <memory>
#include <vector>

#include "bus/talker.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "run/outlet.h"
#include "run/tester.h"
#include "standin/controller.h"

namespace drycrank::run {

class Talkers {
 public:
  // Nothing is added where bench and scenario do not ask for it. `controller` must outlive it.
  void AddController(const profile::Controller& config, const standin::Controller& controller);
  void AddTester(const profile::Bench& bench, const profile::Scenario& scenario);

  void OnFrame(const bus::TimedFrame& frame, Origin origin);
  TimeNs NextDue() const;
  bool TakeDue(TimeNs t_ns, bus::TimedFrame& out, Origin& origin);
  // Questions not asked because the controller still owed an answer.
  std::uint64_t passed_over() const { return tester_ == nullptr ? 0 : tester_->passed_over(); }

 private:
  struct Seat {
    std::unique_ptr<bus::Talker> talker;
    Origin origin = Origin::kSimulator;
  };
  std::vector<Seat> seats_;
  const Tester* tester_ = nullptr;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_TALKERS_H_
