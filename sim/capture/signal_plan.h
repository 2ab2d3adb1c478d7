// SPDX-License-Identifier: Apache-2.0
//
// What a capture gives when it is played: which triggers of the bench, in volts or in levels.
//
//   coil, in volts       as it is, its resting value taken for 0 V
//   coil, in 0 and 1     + and - twice what arms the input: its edges cross 0 V
//   Hall, in volts       at the controller's pin as it is; at the sensor its levels
//   Hall, in 0 and 1     at the pin 0 V and 5 V, or more where the input wants it; at the sensor the
//                        levels: low is an output that conducts
//   Hall, behind a capacitor   its levels have sunk: 0 and 1, from its steps
//
// At a sensor a level is 0 or 1.
#ifndef DRYCRANK_CAPTURE_SIGNAL_PLAN_H_
#define DRYCRANK_CAPTURE_SIGNAL_PLAN_H_

#include <string>
#include <vector>

#include "capture/capture_levels.h"
#include "profile/bench.h"
#include "profile/played_capture.h"

namespace drycrank::capture {

struct PlayedSignal {
  ChannelLevels levels;
  int trigger = 0;          // of the bench
  std::vector<int> inputs;  // of the controller, that see it
  bool as_volts = false;
  bool is_coil = false;
  double low_v = 0, high_v = 1;  // where it is levels
  double arm_v = 0;              // coil: what arms the input; 0: it has a threshold
};

struct [[nodiscard]] SignalPlan {
  std::string file;
  TraceHints hints;
  double begin_ns = 0, end_ns = 0;  // what of the file is played
  bool by_change = false;
  std::vector<PlayedSignal> signals;  // with different triggers
  std::string left_out;  // rows that are not played, in words; empty: none
  Diagnostics problems;
};
// Reads the file once. REQUIRES: bench.controller.
SignalPlan PlanOf(const profile::Bench& bench, const profile::PlayedCapture& played);

// All that keeps it from being played, too few samples included: reads it twice.
Diagnostics ProblemsOf(const profile::Bench& bench, const profile::PlayedCapture& played);

}  // namespace drycrank::capture

#endif  // DRYCRANK_CAPTURE_SIGNAL_PLAN_H_
