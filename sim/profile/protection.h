// SPDX-License-Identifier: Apache-2.0
//
// What a controller must do by itself when a value leaves its limit: a bench says it once, for whoever
// sets the controller, for the stand-in, and for `drycrank limits`, which tries it.
//
//   value                 .------------------.             above: limit; release
//   limit   - - - - - - -/- - - - - - - - - - \ - - -
//   release - - - - - - / - - - - - - - - - - -\- - -
//                  ____/ |<- delay ->|          \____
//   acts                             .----------.
//                  __________________|          |____
//
// It looks only while the engine turns faster than needs_above_rpm; below, and while the controller has
// no supply, it lets go. A delay begins anew whenever the value is back within its limit.
#ifndef DRYCRANK_PROFILE_PROTECTION_H_
#define DRYCRANK_PROFILE_PROTECTION_H_

#include <string>

#include "profile/bench.h"
#include "types/diagnostic.h"

namespace drycrank::profile {

enum class ProtectionAction {
  kSparkCut,    // no coil is charged any more
  kFuelCut,     // no injector opens any more
  kLimitSpeed,  // neither, above limit_to_rpm
  kOutputOff,   // an output that is on while the engine turns goes off
  kLamp,        // a signal on the bus is not zero
};
enum class LimitSide { kAbove, kBelow };
enum class WhenBlind { kAnything, kActs, kStays };

struct Protection {
  std::string name;
  std::string label;
  std::string watches;    // a value of the controller: a channel, or engine_speed; its unit below
  std::string unit;       // canonical
  int stimulus = 0;       // what moves it
  bool absolute = false;  // the stimulus is a gauge pressure, the value an absolute one
  LimitSide side = LimitSide::kAbove;
  double limit = 0;
  double release = 0;  // lets go there; never beyond the limit
  double delay_ms = 0;
  double needs_above_rpm = 0;
  ProtectionAction action = ProtectionAction::kSparkCut;
  double limit_to_rpm = 0;  // kLimitSpeed
  int output = -1;          // kOutputOff: index into the controller's outputs
  SignalRef lamp;           // kLamp
  std::string lamp_text;
  double tolerance = 0;           // of limit and release, as they are tried
  double delay_tolerance_ms = 0;  // of the delay, besides what the controller needs to see a value
  WhenBlind when_open = WhenBlind::kAnything, when_shorted = WhenBlind::kAnything;
  Place place = {};

  bool IsBeyond(double value, double of) const {
    return side == LimitSide::kAbove ? value > of : value < of;
  }
};

// What a message carries of it: 1 while it acts, else 0.
inline std::string CarriedBy(const Protection& protection) {
  return "protection." + protection.name;
}

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_PROTECTION_H_
