// SPDX-License-Identifier: Apache-2.0
//
// What of a bench can be read from outside once it has settled: the signals that controller and
// display put on the buses. A diagnosis compares such readings with what each fault would give.
//
// Counts that only grow (cycles, injections, losses) are left out: they tell how long a run was.
#ifndef DRYCRANK_DIAGNOSE_READING_H_
#define DRYCRANK_DIAGNOSE_READING_H_

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "diagnose/prediction.h"
#include "profile/bench.h"

namespace drycrank::diagnose {

// A steady state of the bench: every stimulus held.
struct Situation {
  std::string name;             // of the step that held it
  std::vector<double> stimuli;  // one per bench.stimuli, in its unit

  double engine_rpm() const { return stimuli.empty() ? 0 : stimuli[0]; }
};

// Every stimulus at its initial value.
Situation RestOf(const profile::Bench& bench);

struct Reading {
  profile::SignalRef signal;
  std::string name;       // "engine_temps.coolant"
  std::string unit;       // may be empty
  std::string carries;    // what its sender puts there
  bool discrete = false;  // a state, a fault code, a unit: equal or not
  bool turning = false;   // means something only while the engine turns
  // Words of a state by its value, where there are any.
  std::map<double, std::string> names;
  // Deviation that a healthy bench may have, in `unit`: sensor, input and the signal's own step.
  double sigma = 1;
};

// "12.5 °C"; a state with its word: "2 (signal high)"; "nothing" for NaN.
std::string InWords(const Reading& reading, double value);
// The same, "12 to 15 °C", "comes and goes between 12 °C and 15 °C".
std::string InWords(const Reading& reading, const Prediction& prediction);

// What a value of the controller may deviate by on a healthy bench, in its unit; half for states.
double ControllerSigma(const profile::Controller& controller, const std::string& carries);
bool IsCount(std::string_view carries);     // only grows: cycles, injections, losses
bool IsDiscrete(std::string_view carries);  // a state, a fault code, a unit

// In the order of the bench's buses, messages, signals.
std::vector<Reading> ReadingsOf(const profile::Bench& bench);

// Values of all readings in one situation, as seen. NaN: nothing was received.
using Values = std::vector<double>;
// One per situation.
using Observation = std::vector<Values>;
// What would be seen were it so; of a band its middle.
Observation AsSeen(const PredictedRows& rows);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_READING_H_
