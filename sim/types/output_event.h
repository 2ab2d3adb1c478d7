// SPDX-License-Identifier: Apache-2.0
//
// What an engine controller does at an output of a cylinder: a coil is driven (dwell) until it goes
// off, which is the spark; an injector is open while it is on. Where a cylinder, or a rotor, has
// two plugs, the trailing coil fires the second. A switch is an output of no cylinder, as a pump's.
#ifndef DRYCRANK_TYPES_OUTPUT_EVENT_H_
#define DRYCRANK_TYPES_OUTPUT_EVENT_H_

#include "types/time.h"

namespace drycrank {

enum class OutputKind { kCoil, kTrailingCoil, kInjector, kSwitch };
// The spark of a second plug is one as well.
inline bool IsCoil(OutputKind kind) {
  return kind == OutputKind::kCoil || kind == OutputKind::kTrailingCoil;
}

struct OutputEvent {
  TimeNs t_ns = 0;
  OutputKind kind = OutputKind::kCoil;
  int cylinder = 1;  // as in firing_order; of a switch: its index among the controller's outputs
  bool on = false;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_OUTPUT_EVENT_H_
