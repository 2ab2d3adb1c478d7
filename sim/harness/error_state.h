// SPDX-License-Identifier: Apache-2.0
//
// What the error counters of a node on a bus come to while what it sends fails. By the fault
// confinement of ISO 11898-1 (from memory): each frame that fails is 8 more in its transmit error
// counter, each that gets through 1 less; from 128 on the node is error passive, past 255 off the
// bus. It tries again at once, so that 16 tries, or 32, take milliseconds.
//
//   nobody acknowledges               an error-passive sender counts that no further: it stays there
//   it does not read back what it     each try counts, until it is off the bus
//   sends: joined wires, a wire at a supply
#ifndef DRYCRANK_HARNESS_ERROR_STATE_H_
#define DRYCRANK_HARNESS_ERROR_STATE_H_

namespace drycrank::harness {

enum class ErrorState { kActive, kPassive, kBusOff };

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_ERROR_STATE_H_
