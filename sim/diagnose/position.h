// SPDX-License-Identifier: Apache-2.0
//
// What the controller makes of its trigger inputs while the engine turns at a steady speed: the
// wheels' edges at the levels the harness gives them, through the stand-in's own input circuits and
// decoder. Answers are kept by what the inputs see.
#ifndef DRYCRANK_DIAGNOSE_POSITION_H_
#define DRYCRANK_DIAGNOSE_POSITION_H_

#include <map>
#include <span>
#include <string>
#include <vector>

#include "diagnose/electrical.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

struct Position {
  double speed_rpm = 0;
  int sync_state = 0;  // standin/controller.h
  int sync_reason = 0;
  std::vector<double> cam_deg;  // per decoder.cams
  // Values (standin::ControllerValueNames) that come out now so, now so: a decoder that loses and
  // finds its position again, a wave that noise decides.
  std::vector<std::string> unsteady;
};

class PositionModel {
 public:
  explicit PositionModel(const profile::Bench& bench);

  const Position& Find(const Electrical& electrical, const ElectricalModel& model,
                       const Situation& situation, std::span<const profile::Fault> faults);
  // Do all inputs with a wheel's channel see the same, and has the controller its supply in both?
  bool IsSame(const Electrical& a, const Electrical& b) const;
  std::size_t simulated() const { return known_.size(); }

 private:
  std::vector<int> Key(const Electrical& electrical, const ElectricalModel& model,
                       const Situation& situation, std::span<const profile::Fault> faults) const;
  Position Simulate(const Electrical& electrical, const ElectricalModel& model,
                    const Situation& situation, std::span<const profile::Fault> faults) const;
  void Watch(const Electrical& electrical, const ElectricalModel& model, const Situation& situation,
             std::span<const profile::Fault> faults, std::uint64_t seed,
             std::vector<Position>& looks) const;

  const profile::Bench& bench_;
  std::vector<int> inputs_;  // those with a trigger channel
  std::map<std::vector<int>, Position> known_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_POSITION_H_
