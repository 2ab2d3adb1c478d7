// SPDX-License-Identifier: Apache-2.0
//
// What an engine controller does at an output of a cylinder: a coil is driven (dwell) until it goes
// off, which is the spark; an injector is open while it is on. A switch is an output of no cylinder, as
// a pump's.
#ifndef DRYCRANK_TYPES_OUTPUT_EVENT_H_
#define DRYCRANK_TYPES_OUTPUT_EVENT_H_

#include "types/time.h"

namespace drycrank {

enum class OutputKind { kCoil, kInjector, kSwitch };
struct OutputEvent {
  TimeNs t_ns = 0;
  OutputKind kind = OutputKind::kCoil;
  int cylinder = 1;  // as in firing_order; of a switch: its index among the controller's outputs
  bool on = false;
};

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_OUTPUT_EVENT_H_
