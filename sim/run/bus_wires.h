// SPDX-License-Identifier: Apache-2.0
//
// The wires of the buses inside this process, as the faults in force leave them: whose frames get
// onto the bus, and who has them from there (plant/hearing.h). A bus with an interface has real
// wires.
#ifndef DRYCRANK_RUN_BUS_WIRES_H_
#define DRYCRANK_RUN_BUS_WIRES_H_

#include <array>
#include <cstddef>
#include <optional>
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
      : bench_(bench),
        has_wires_(plant::HasBusWires(bench)),
        hearing_(bench.buses.size()),
        told_(bench.buses.size()) {}

  void SetFaults(std::span<const profile::Fault* const> faults) {
    if (has_wires_) hearing_ = plant::HearingOf(bench_, faults);
  }

  bool IsAnswered(int bus, Origin from) const {
    return Nth(hearing_, bus).IsAnswered(PartyOf(from));
  }
  bool IsHeard(int bus, Origin from, plant::Party to) const {
    return Nth(hearing_, bus).Hears(PartyOf(from), to);
  }
  // What the error counters of a sender come to, when it is another than when it was asked last.
  std::optional<plant::ErrorState> TakeNews(int bus, Origin from) {
    const plant::Party party = PartyOf(from);
    const plant::ErrorState now = Nth(hearing_, bus).StateOf(party);
    plant::ErrorState& told = Nth(Nth(told_, bus), party);
    if (now == told) return std::nullopt;
    told = now;
    return now;
  }

 private:
  static plant::Party PartyOf(Origin origin) {
    if (origin == Origin::kController) return plant::Party::kController;
    return origin == Origin::kDisplay ? plant::Party::kDisplay : plant::Party::kComputer;
  }

  const profile::Bench& bench_;
  bool has_wires_;
  std::vector<plant::Hearing> hearing_;  // per bus
  std::vector<std::array<plant::ErrorState, 3>> told_;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_BUS_WIRES_H_
