// SPDX-License-Identifier: Apache-2.0
//
// Benches small enough to work by hand: battery 12 V behind 20 mohm, wires of 1 m (39 mohm) between
// two contacts of 5 mohm (49 mohm in all; to a splice 44 mohm), sensor ground spliced at S_GND:
//
//   battery -- 49 mohm -- ECU.1   controller, 30 ohm   ECU.2 -- 49 mohm -- battery minus
//   ECU.2 -- 20 mohm (inside) -- ECU.3 -- 44 mohm -- S_GND -- 44 mohm -- each sensor's pin 2
#ifndef DRYCRANK_TESTS_HARNESS_SMALL_BENCH_H_
#define DRYCRANK_TESTS_HARNESS_SMALL_BENCH_H_

#include <string>
#include <vector>

#include "harness/harness.h"
#include "tests/support/bench_builder.h"

namespace drycrank::harness {

inline support::BenchBuilder SmallBench() {
  support::BenchBuilder b;
  b.Connector("BAT", 2).Connector("ECU", 9).Splice("S_GND").Supply("BAT.1", "BAT.2", 12);
  b.Wire("ecu_plus", "BAT.1", "ECU.1").Wire("ecu_minus", "BAT.2", "ECU.2");
  b.Wire("sensor_ground", "ECU.3", "S_GND").Controller("ECU.1", "ECU.2", {"ECU.3"});
  return b;
}

// Thermistor `name` to ECU.`pin`, pull-up 2.2 kohm to 5 V.
inline void AddNtc(support::BenchBuilder& b, const std::string& name, const std::string& pin) {
  b.Connector(name, 2).Wire(name + "_signal", name + ".1", "ECU." + pin);
  b.Wire(name + "_ground", name + ".2", "S_GND").Sensor(name, support::Ntc(name));
  b.Input("ECU." + pin, 2200);
}

// Three pins on connector `name`: supply from `supply`, ground at S_GND, signal to ECU.7.
inline void AddThreeWires(support::BenchBuilder& b, const std::string& name,
                          const std::string& supply) {
  b.Connector(name, 3).Wire(name + "_supply", supply, name + ".1");
  b.Wire(name + "_ground", name + ".2", "S_GND").Wire(name + "_signal", name + ".3", "ECU.7");
}

inline profile::Bench TwoNtcBench() {
  support::BenchBuilder b = SmallBench();
  AddNtc(b, "CLT", "4");
  AddNtc(b, "IAT", "5");
  return b.Build();
}

// Hall sensor fed with 12 V, pull-up 1 kohm to 5 V.
inline profile::Bench HallBench() {
  support::BenchBuilder b = SmallBench();
  AddThreeWires(b, "CMP", "BAT.1");
  b.Trigger("cam", support::Hall("CMP")).Input("ECU.7", 1000);
  return b.Build();
}

// Ratiometric sensor fed with the controller's 5 V reference.
inline profile::Bench PressureBench() {
  support::BenchBuilder b = SmallBench();
  AddThreeWires(b, "MAP", "ECU.6");
  b.Reference("ECU.6").Sensor("pressure", support::Ratiometric("MAP")).Input("ECU.7");
  return b.Build();
}

// Coil of 900 ohm on a differential input of 10 kohm.
inline profile::Bench CoilBench() {
  support::BenchBuilder b = SmallBench();
  b.Connector("CKP", 2).Wire("ckp_plus", "CKP.1", "ECU.8").Wire("ckp_minus", "CKP.2", "ECU.9");
  b.Trigger("crank", support::Coil("CKP")).Differential("ECU.8", "ECU.9", 10e3);
  return b.Build();
}

// The controller's input voltages for one set of values.
inline std::vector<double> Readings(const profile::Bench& bench, const std::vector<double>& values,
                                    const support::FaultList& faults = {}) {
  Harness harness(bench, faults.pointers());
  std::vector<double> input_v(harness.input_count());
  harness.Solve(values, input_v);
  return input_v;
}

}  // namespace drycrank::harness

#endif  // DRYCRANK_TESTS_HARNESS_SMALL_BENCH_H_
