// SPDX-License-Identifier: Apache-2.0
//
// The bench of the harness tests: one of each kind of device on one invented car, with a splice for
// the shared sensor ground and one for the ignition-switched supply.
//
//   BAT.1 --- S_SUP --- ECU.1 supply          CKP Hall 12 V   -> ECU.11 pull-up 2.2 k to 5 V
//             S_SUP --- CKP.1, OIL.1          CMP Hall 5 V    -> ECU.12 pull-up 1 k to 5 V
//   BAT.2 --- ECU.2 ground                    VRS coil        -> ECU.13/ECU.14 differential 10 k
//   ECU.3 sensor ground --- S_GND --- sensors CLT, IAT NTC    -> ECU.15, ECU.16 pull-up 2.2 k
//   ECU.4 reference 5 V --- S_REF --- sensors MAP ratiometric -> ECU.17
//                                             OIL voltage     -> ECU.18
//                                             EGT type K      -> ECU.19/ECU.20 differential 1 M
//                                             SW  switch      -> ECU.21 pull-up 1 k to 12 V
//                                             WSS frequency   -> ECU.22 pull-up 2.2 k to 5 V
//
// Devices: 0 CKP, 1 CMP, 2 VRS, 3 CLT, 4 IAT, 5 MAP, 6 OIL, 7 EGT, 8 SW, 9 WSS.
// Inputs:  0 CKP, 1 CMP, 2 VRS, 3 CLT, 4 IAT, 5 MAP, 6 OIL, 7 EGT, 8 SW, 9 WSS.
#ifndef DRYCRANK_TESTS_HARNESS_CAR_BENCH_H_
#define DRYCRANK_TESTS_HARNESS_CAR_BENCH_H_

#include <string>

#include "tests/support/bench_builder.h"

namespace drycrank::harness {

enum CarDevice { kCkp, kCmp, kVrs, kClt, kIat, kMap, kOil, kEgt, kSw, kWss };

inline profile::Bench CarBench() {
  support::BenchBuilder b;
  b.Connector("BAT", 2).Connector("ECU", 22);
  for (const char* three : {"CKP", "CMP", "MAP", "OIL", "WSS"}) b.Connector(three, 3);
  for (const char* two : {"VRS", "CLT", "IAT", "EGT", "SW", "FAN"}) b.Connector(two, 2);
  b.Splice("S_SUP").Splice("S_GND").Splice("S_REF").Splice("S_PWG");
  b.Supply("BAT.1", "BAT.2", 12.6).Load("FAN.1", "FAN.2", 1.5);
  b.Wire("main_plus", "BAT.1", "S_SUP", 1.5).Wire("ecu_plus", "S_SUP", "ECU.1", 0.5);
  b.Wire("main_minus", "BAT.2", "S_PWG", 1.5).Wire("ecu_minus", "S_PWG", "ECU.2", 0.5);
  b.Wire("fan_plus", "S_SUP", "FAN.1", 1).Wire("fan_minus", "FAN.2", "S_PWG", 1);
  b.Wire("ckp_plus", "S_SUP", "CKP.1", 2).Wire("oil_plus", "S_SUP", "OIL.1", 2);
  b.Wire("wss_plus", "S_SUP", "WSS.1", 3);
  b.Wire("sensor_ground", "ECU.3", "S_GND", 1).Wire("reference", "ECU.4", "S_REF", 1);
  b.Wire("cmp_plus", "S_REF", "CMP.1", 1.2).Wire("map_plus", "S_REF", "MAP.1", 0.8);
  for (const char* x : {"CKP", "CMP", "MAP", "OIL", "CLT", "IAT", "SW", "WSS"}) {
    const std::string name = x;
    b.Wire(name + "_ground", "S_GND", name + ".2", 0.7);
  }
  b.Wire("ckp_signal", "CKP.3", "ECU.11", 2.1).Wire("cmp_signal", "CMP.3", "ECU.12", 2.2);
  b.Wire("vrs_plus", "VRS.1", "ECU.13", 2.3).Wire("vrs_minus", "VRS.2", "ECU.14", 2.3);
  b.Wire("clt_signal", "CLT.1", "ECU.15", 1.4).Wire("iat_signal", "IAT.1", "ECU.16", 1.6);
  b.Wire("map_signal", "MAP.3", "ECU.17", 1.1).Wire("oil_signal", "OIL.3", "ECU.18", 1.9);
  b.Wire("egt_plus", "EGT.1", "ECU.19", 2.5).Wire("egt_minus", "EGT.2", "ECU.20", 2.5);
  b.Wire("sw_signal", "SW.1", "ECU.21", 1).Wire("wss_signal", "WSS.3", "ECU.22", 3);
  b.Controller("ECU.1", "ECU.2", {"ECU.3"}).Reference("ECU.4");
  b.Input("ECU.11", 2200).Input("ECU.12", 1000).Differential("ECU.13", "ECU.14", 10e3);
  b.Input("ECU.15", 2200).Input("ECU.16", 2200).Input("ECU.17").Input("ECU.18");
  b.Differential("ECU.19", "ECU.20", 1e6).Input("ECU.21", 1000, 12).Input("ECU.22", 2200);
  b.Trigger("crank", support::Hall("CKP")).Trigger("cam", support::Hall("CMP"));
  b.Trigger("crank_coil", support::Coil("VRS"));
  b.Sensor("coolant", support::Ntc("CLT")).Sensor("air", support::Ntc("IAT"));
  b.Sensor("manifold", support::Ratiometric("MAP")).Sensor("oil", support::VoltageOutput("OIL"));
  b.Sensor("exhaust", profile::TypeKSensor{"EGT.1", "EGT.2"});
  b.Sensor("brake", profile::SwitchSensor{"SW.1", "SW.2"});
  b.Sensor("wheel", profile::FrequencySensor{support::Hall("WSS")});
  return b.Build();
}

// A plausible moment: crank output on, cam off, coolant 2.1 kohm, manifold at 42 %, oil 2.7 V, ...
inline std::vector<double> CarValues() {
  return {1, 0, 0.8, 2100, 3300, 0.42, 2.7, 0.0205, 0.1, 1};
}

}  // namespace drycrank::harness

#endif  // DRYCRANK_TESTS_HARNESS_CAR_BENCH_H_
