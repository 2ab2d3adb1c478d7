// SPDX-License-Identifier: Apache-2.0
//
// What a run says of one circuit. Proven is a counterfactual: had this circuit been broken, an
// expectation that was met would have failed, and by how much. Whoever knows what would have been
// reported fills this in (study/circuits_shown.h); here are the words alone.
//
//   proven      a met expectation would have failed with it open
//   failed      tried, and what was reported is what this circuit would make of it, open or shorted
//   not shown   neither; `gap` says why
#ifndef DRYCRANK_CHECK_COVERAGE_H_
#define DRYCRANK_CHECK_COVERAGE_H_

#include <string>
#include <vector>

#include "types/time.h"

namespace drycrank::check {

enum class CircuitState { kProven, kFailed, kNotShown };

// Why a circuit is not shown.
enum class Gap {
  kNone,          // it is shown
  kNeedsMeter,    // nothing that is expected would notice it broken
  kAnotherWay,    // carried by another way: broken, it moves nothing
  kNotDriven,     // of a real controller: no output of the simulator reaches this wire
  kNotObserved,   // what would notice it was not observed
  kNotAsked,      // a person or a capture must say it, and did not
  kNotFitted,     // on paper only
  kFaultInForce,  // a fault put in by the scenario was in force whenever it was judged
  kRepairFirst,   // it shares a wire, splice or plug with a failed one
  kOtherFault,    // what would notice it failed, but not as a break or short of this would make it
};

// Of a circuit with Gap::kFaultInForce.
inline constexpr const char* kPutIn = "a fault of the scenario was in force all the time";

// What one expectation says of a circuit.
struct CircuitWord {
  int expectation = 0;
  std::string step;   // in which it says so; empty: a witness
  TimeNs t_ns = 0;    // the end of that step, or the worst moment of a failure
  std::string would;  // "80.0 °C": what would have been reported with the circuit open
  double margin = 0;  // by so much that violates the expectation, in `unit`; NaN: no such number
  std::string unit;
};

struct CircuitCoverage {
  std::string circuit;
  CircuitState state = CircuitState::kNotShown;
  Gap gap = Gap::kNeedsMeter;
  std::string why = {};                   // of a circuit that is not shown, a sentence
  std::vector<CircuitWord> proofs = {};   // the largest margin first
  std::vector<CircuitWord> against = {};  // what failed as this circuit would make it fail
  std::vector<int> concerned = {};        // expectations that would notice it, whatever they said
  std::string signed_by = {}, signed_why = {};  // not shown, and answered for by a person
};

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_COVERAGE_H_
