// SPDX-License-Identifier: Apache-2.0
//
// Who of the three that talk on a bench hears whom on each bus, by its wires (harness/bus_pairs.h).
#ifndef DRYCRANK_PLANT_HEARING_H_
#define DRYCRANK_PLANT_HEARING_H_

#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "harness/error_state.h"
#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::harness {
class BusNetwork;
}

namespace drycrank::plant {

// The computer has clipped on to the pair behind the controller's plug.
enum class Party { kComputer, kController, kDisplay };
using harness::ErrorState;
// "error passive: nobody acknowledges what it sends".
const char* InWords(ErrorState state);

class Hearing {
 public:
  bool Hears(Party from, Party to) const { return heard_[Index(from)][Index(to)]; }
  // Is it answered at all? What is not is repeated for ever, and nobody ever has it.
  bool IsAnswered(Party from) const { return Hears(from, from); }
  void Set(Party from, Party to, bool heard) { heard_[Index(from)][Index(to)] = heard; }

  // Of controller and display, where they are nodes; while they send.
  ErrorState StateOf(Party party) const { return states_[Index(party)]; }
  void SetState(Party party, ErrorState state) { states_[Index(party)] = state; }
  // Has it its supply? The controller's is looked after by its stand-in.
  bool IsPowered(Party party) const { return powered_[Index(party)]; }
  void SetPowered(Party party, bool powered) { powered_[Index(party)] = powered; }

  friend bool operator==(const Hearing&, const Hearing&) = default;

 private:
  static std::size_t Index(Party party) { return static_cast<std::size_t>(party); }
  std::array<std::array<bool, 3>, 3> heard_{
      {{true, true, true}, {true, true, true}, {true, true, true}}};
  std::array<ErrorState, 3> states_{};
  std::array<bool, 3> powered_{true, true, true};
};

// Has any bus its nodes on the schedule? Where none has, everybody hears everybody.
bool HasBusWires(const profile::Bench& bench);
// Per bus of the bench.
std::vector<Hearing> HearingOf(const profile::Bench& bench,
                               std::span<const profile::Fault* const> faults);
// The same, for one set of faults after another.
std::vector<Hearing> HearingOf(const profile::Bench& bench, harness::BusNetwork& network,
                               std::span<const profile::Fault* const> faults);

}  // namespace drycrank::plant

#endif  // DRYCRANK_PLANT_HEARING_H_
