// SPDX-License-Identifier: Apache-2.0
//
// The electrical bench as one resistive network: supplies, contacts, wires, splices, sensors, loads
// and the controller's inputs, faults included. Node voltages by nodal analysis: G v = i.
//
// Every terminal of a connector has two nodes, the device's pin and the wire's end, joined by a
// contact (5 mohm). A fault is an edit of the network: an open contact is left out, a swap joins
// each pin to the other's wire, an offset is a source in the contact. Each node leaks 1 Gohm to the
// reference node (the first supply's minus), so that a wire hanging free has a voltage; so small
// that it moves no reading by 0.1 mV in any network here.
//
// While a run goes on, what changes fast costs little: the EMF of a coil enters by one
// multiplication with its transfer, a switching transistor is a change of rank one. What changes
// slowly, resistances and sensors' outputs, is entered into the sparse matrix and that factored
// again (reduction.h). Reverse diodes and a sensor's minimum supply voltage are states (branch.h),
// tried one after the other until all agree with the voltages; each Solve begins from the same
// states, those of power-up, so that it depends on the values alone. What nobody asks for is not
// computed; a sensor's supply is looked at again when it may have moved as far as its minimum.
//
// The parts: network.h (nodes, resistors, sources), branch.h (a device's law), topology.h (bench
// and faults to network, with a picture of a terminal), reduction.h (what is solved per step),
// sparse_lu.h, netlist.h.
//
// After construction nothing is allocated.
#ifndef DRYCRANK_HARNESS_HARNESS_H_
#define DRYCRANK_HARNESS_HARNESS_H_

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"

namespace drycrank::harness {

struct Topology;

// What drives the network. Devices are numbered: triggers in the order of the bench, then sensors.
//   Hall trigger, pulse sensor   0 = output off, 1 = output conducting
//   variable reluctance          EMF in V, plus against minus
//   resistive sensors, switches  ohm
//   ratiometric                  fraction of supply
//   voltage, type K              V
using DeviceValues = std::vector<double>;

class Harness {
 public:
  // `faults`: those in force (harness kinds and not_fitted; others are passed over).
  Harness(const profile::Bench& bench, std::span<const profile::Fault* const> faults);
  // Of a network that more was joined to, as a meter.
  explicit Harness(Topology topology);
  ~Harness();
  Harness(Harness&&) noexcept;
  Harness& operator=(Harness&&) noexcept;

  std::size_t device_count() const;
  std::size_t input_count() const;  // controller inputs, in the order of bench.controller->inputs

  // Voltages at the controller's inputs as it measures them: against its own ground, or between the
  // two terminals of a differential input. REQUIRES: values.size() == device_count(),
  // input_v.size() == input_count().
  void Solve(std::span<const double> values, std::span<double> input_v);
  // The same of these inputs alone; the others' places in input_v stay as they are.
  void SolveAt(std::span<const double> values, std::span<const int> inputs,
               std::span<double> input_v);

  // Volts at each input per volt of this device's EMF, the others' states as in the last Solve. For
  // sources only (variable reluctance, voltage, type K); zero for one without its supply.
  // REQUIRES: gain.size() == input_count().
  void Transfer(int device, std::span<double> gain) const;

  // Of the last Solve. Any node by name: a terminal's device pin "CLT.1", its wire end "CLT.1~", a
  // splice. Against the reference node; NaN for a name that is none. For tests, meters' pages and
  // diagnosis.
  double Voltage(std::string_view node) const;
  std::vector<std::string> NodeNames() const;
  // Controller's own supply between its supply and ground terminals, and each reference output.
  double ControllerSupply() const;
  double Reference(int index) const;

  // The network of the last Solve as an ngspice netlist (".op"), for an independent check; diodes
  // appear as the same piecewise-linear element.
  std::string Netlist() const;

  // How many Solves ended without states that agree: a sensor whose output, when it conducts, takes
  // away its own supply. The voltages are then those of the last states tried.
  int unsettled_count() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace drycrank::harness

#endif  // DRYCRANK_HARNESS_HARNESS_H_
