// SPDX-License-Identifier: Apache-2.0
//
// The wires of the buses inside this process, as the faults in force leave them: whose frames get
// onto the bus, and who has them from there (plant/hearing.h). A bus with an interface has real
// wires.
#ifndef DRYCRANK_RUN_BUS_WIRES_H_
#define DRYCRANK_RUN_BUS_WIRES_H_

#include <span>
#include <vector>

#include "plant/hearing.h"
#include "profile/bench.h"
#include "profile/fault.h"
#include "run/outlet.h"
#include "types/nth.h"

namespace drycrank::run {

class BusWires {
 public:
  // The bench must outlive it.
  explicit BusWires(const profile::Bench& bench)
      : bench_(bench), has_wires_(plant::HasBusWires(bench)), hearing_(bench.buses.size()) {}

  void SetFaults(std::span<const profile::Fault* const> faults) {
    if (has_wires_) hearing_ = plant::HearingOf(bench_, faults);
  }

  bool IsAnswered(int bus, Origin from) const {
    return Nth(hearing_, bus).IsAnswered(PartyOf(from));
  }
  bool IsHeard(int bus, Origin from, plant::Party to) const {
    return Nth(hearing_, bus).Hears(PartyOf(from), to);
  }

 private:
  static plant::Party PartyOf(Origin origin) {
    if (origin == Origin::kController) return plant::Party::kController;
    return origin == Origin::kDisplay ? plant::Party::kDisplay : plant::Party::kComputer;
  }

  const profile::Bench& bench_;
  bool has_wires_;
  std::vector<plant::Hearing> hearing_;  // per bus
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_BUS_WIRES_H_
