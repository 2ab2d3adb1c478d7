// SPDX-License-Identifier: Apache-2.0
//
// What a device itself gives at its own terminals, before the harness ("at the sensor"). The harness
// makes of it what the controller's terminals see (types/wave.h); an output makes of it what leaves
// the computer.
#ifndef DRYCRANK_TYPES_SOURCE_H_
#define DRYCRANK_TYPES_SOURCE_H_

namespace drycrank {

enum class SourceKind {
  kResistance,      // value: ohm between plus and minus; a switch is one
  kSupplyFraction,  // value: signal = ground + value * (supply - ground), through output_ohm
  kVoltage,         // value: V, signal against ground, through output_ohm (type K: plus, minus)
  kPulses,          // an output transistor that conducts low_s of each period, hz times a second
  kSwitched,        // an output transistor that conducts (value 1) or not (0), edge by edge
  kEmf,             // value: V of a coil, plus against minus
};

struct Source {
  SourceKind kind = SourceKind::kResistance;
  double value = 0;
  double hz = 0;     // kPulses; 0: stands still
  double low_s = 0;  // kPulses: time per period for which it conducts, < 1 / hz

  friend bool operator==(const Source&, const Source&) = default;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_SOURCE_H_
