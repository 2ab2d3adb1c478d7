// SPDX-License-Identifier: Apache-2.0
//
// Questions of a walk to a bench: which of the controller's values a sensor reaches over the
// wiring, between which values of its quantity, and which messages tell of it.
#ifndef DRYCRANK_WALK_VALUES_H_
#define DRYCRANK_WALK_VALUES_H_

#include <string>
#include <vector>

#include "profile/bench.h"

namespace drycrank::walk {

struct Span {
  double low = 0, high = 0;
  double At(double share) const { return low + share * (high - low); }
};

// REQUIRES for all: bench.controller.

// A message of the simulator carries the stimulus.
bool IsSentBySimulator(const profile::Bench& bench, int stimulus);
// The controller's values at the input that the sensor is wired to.
std::vector<std::string> ChannelsOf(const profile::Bench& bench, const profile::Sensor& sensor);
// Where sensor, stimulus and the controller's table are all at home, in the stimulus' unit and
// zero.
Span SpanOf(const profile::Bench& bench, const profile::Sensor& sensor);
// The first message of the controller that carries the value, as MESSAGE.SIGNAL; empty: none.
std::string CarryingSignal(const profile::Bench& bench, const std::string& value);
// Of the message of "message.signal"; 0: there is none, or it has no period.
double PeriodS(const profile::Bench& bench, const std::string& signal);
// Of the messages that carry what the sensors of a stimulus measure; -1: of all sensors.
double SlowestPeriodS(const profile::Bench& bench, int stimulus);
// A controller reads absolute pressure where its sensor measures absolute pressure.
bool IsAbsolute(const profile::Bench& bench, const std::string& value);
// A value that the width of pulses carries, not their frequency.
bool IsWidthChannel(const profile::Bench& bench, const std::string& name);
// Of the trigger's wires that lead to this input of the controller.
std::vector<std::string> CircuitsToInput(const profile::Bench& bench, const std::string& input);

}  // namespace drycrank::walk

#endif  // DRYCRANK_WALK_VALUES_H_
