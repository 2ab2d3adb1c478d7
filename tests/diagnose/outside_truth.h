// SPDX-License-Identifier: Apache-2.0
//
// What is wrong with a bench, drawn from outside: places and sizes from the bench's drawing, never
// from the list that a diagnosis searches, and put into the tests' own world (tests/support).
//
//   40 %  one fault of a kind that a diagnosis knows, of any size; of a bench with parts one in four of
//         these is in a fuse, a relay or a whole plug
//   20 %  1 to 25 ohm, uniform, in a supply or ground contact of the controller
//   15 %  two of the first row, at different places
//   15 %  of no kind that it knows
//   10 %  nothing
#ifndef DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_TRUTH_H_
#define DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_TRUTH_H_

#include <functional>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"
#include "tests/support/departure.h"
#include "types/random.h"

namespace drycrank::diagnose {

enum class TruthGroup { kSingle, kCorrodedPin, kDouble, kOffTheList, kHealthy };
const char* Name(TruthGroup group);

struct Deviation {
  std::string kind, words;
  // Where: names of terminals, circuits, splices, sensors, channels, messages of which any will do; a
  // fault between two places has two sets.
  std::vector<std::set<std::string>> places;
  // Words of the kinds of fault (profile/fault.h) that say it.
  std::set<std::string> said_as;
  // In a step of the walk.
  std::function<void(support::Departure&, std::size_t step)> put_in;
};

struct Truth {
  TruthGroup group = TruthGroup::kHealthy;
  std::vector<Deviation> deviations;

  std::string kind() const;   // "healthy", "contact open", "contact open + sensor off"
  std::string words() const;  // with places and sizes
};

Truth DrawTruth(const profile::Bench& bench, Random& random);
// Ohm in the contact of a supply or ground of the controller.
Deviation CorrodedPin(const std::string& terminal, double ohm);
std::vector<std::string> SupplyPins(const profile::Controller& controller);  // and grounds

// All that is within tolerance: supply, copper, wires, contacts, sensors.
support::Departure DrawTolerances(const profile::Bench& bench, Random& random);

// Half the width of what a sensor may be off by, as a share of its channel's span.
inline constexpr double kSensorClass = 0.005;

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_TRUTH_H_
