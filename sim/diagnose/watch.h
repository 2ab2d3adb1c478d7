// SPDX-License-Identifier: Apache-2.0
//
// What the controller makes of its inputs in a held situation, seen by playing it: the bench's own
// plant (plant/plant.h) behind the harness with the faults, and the stand-in. For all that turns or
// switches; what holds still is computed (channels.h). Answers are kept by what the inputs see, so
// that the many faults which make the same of them are played once.
//
// A value that moves by more than its step over the last second, or with another noise, is
// restless between the least and the greatest seen.
#ifndef DRYCRANK_DIAGNOSE_WATCH_H_
#define DRYCRANK_DIAGNOSE_WATCH_H_

#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <vector>

#include "diagnose/electrical.h"
#include "diagnose/value_row.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

class Watch {
 public:
  explicit Watch(const profile::Bench& bench);

  // What is asked for; all other values are left at 0.
  struct Asked {
    std::vector<int> inputs;  // their channels
    bool position = true;     // what the trigger inputs give
  };
  // `model` has solved the situation last; `electrical` is its answer.
  const ControllerValues& Find(const Electrical& electrical, ElectricalModel& model,
                               const Situation& situation, const Asked& asked);
  // Is the position known there, without anything being played for it?
  bool Knows(const Electrical& electrical, const ElectricalModel& model,
             const Situation& situation) const {
    return known_.contains(Key(electrical, model, situation, {{}, true}));
  }
  // Do all trigger inputs see the same, and has the controller its supply in both?
  bool IsSame(const Electrical& a, const Electrical& b) const;
  std::size_t played() const { return known_.size(); }

 private:
  std::vector<int> Key(const Electrical& electrical, const ElectricalModel& model,
                       const Situation& situation, const Asked& asked) const;
  bool AddByThresholds(int input, const Electrical& electrical, std::vector<int>& key) const;
  std::vector<int> NotFelt(const Electrical& electrical, std::span<const int> inputs) const;
  bool IsOfWheelsAlone(const Electrical& electrical, std::span<const int> not_felt) const;
  bool FeelsWheels(const Electrical& electrical, std::span<const int> inputs) const;
  std::vector<std::size_t> Wanted(const Asked& asked) const;
  ControllerValues Play(const Electrical& electrical, ElectricalModel& model,
                        const Situation& situation, const Asked& asked) const;

  const profile::Bench& bench_;
  std::vector<std::string> names_;
  std::vector<double> steps_;        // per value: less is no move
  std::vector<int> value_inputs_;    // per value: its channel's input; -1: of no channel
  std::vector<int> trigger_inputs_;  // those with a trigger channel
  std::vector<int> frequency_inputs_;
  bool speed_is_sensed_ = false;  // by a sensor besides the wheels
  // Per controller input: of its trigger channel, when that compares volts with two thresholds.
  std::vector<const profile::TriggerChannel*> thresholds_;
  std::map<std::vector<int>, ControllerValues> known_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_WATCH_H_
