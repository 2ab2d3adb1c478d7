// SPDX-License-Identifier: Apache-2.0
//
// The harness between outputs and a stand-in that is by itself (heard_controller.h): outputs stand at
// the plugs of sensors and pickups, and between them and the controller are the bench's own wires, with
// faults in them. It is told what each output gives, and knows nothing of what the engine does.
//
//   samples, -1..1 ──► a coil's EMF, full_scale_v x sample        ┐
//                      an open collector, on above 0              ├──► wires, faults ──► volts at inputs
//   "coolant 10000" ─► ohm, volts, a supply's volts               ┘
//
// What stands at a plug is the output (hw-notes/front-ends.md), not the sensor:
//
//   in the place of      stands                                        so it does not show
//   a coil               an EMF behind the coil's own resistance
//   a Hall sensor        an open collector at the controller's ground  the sensor's supply and ground
//   a resistance         a resistance
//   volts, a share       volts against the controller's ground         the sensor's supply and ground
//   a switch             a contact
//
// A sensor that no output stands for is unplugged. Wires of a bus decide who hears whom (bus_pairs.h).
#ifndef DRYCRANK_RUN_HEARD_WIRES_H_
#define DRYCRANK_RUN_HEARD_WIRES_H_

#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"
#include "types/time.h"
#include "types/wave.h"

namespace drycrank::run {

// Which channel of the samples stands at the plug of a trigger.
struct Plug {
  int trigger = 0;  // index into bench.triggers
  int channel = 0;  // of the samples, from 0 on
  double full_scale_v = 1;
};

class HeardWires {
 public:
  using Sink = std::function<void(int input, const Wave& piece)>;

  // All supplies have supply_v until they are told. REQUIRES: bench.controller, which must outlive it;
  // faults of the harness alone.
  HeardWires(const profile::Bench& bench, std::vector<Plug> plugs,
             std::vector<profile::Fault> faults, double supply_v);
  ~HeardWires();

  // An output's level: ohm, volts, of a switch 1 (closed) or 0; of a supply volts. Empty, or why not.
  std::string Set(std::string_view name, double value);
  // One frame, at to_ns; the one before it was at from_ns, or there is none: from_ns == to_ns.
  void Hear(const float* samples, TimeNs from_ns, TimeNs to_ns, const Sink& sink);

  // Now.
  std::span<const double> input_v() const;
  double SupplyV() const;
  std::span<const double> reference_v() const;
  // Do frames get from the controller to the other end of this bus, and back?
  bool Carries(int bus) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace drycrank::run

#endif  // DRYCRANK_RUN_HEARD_WIRES_H_
