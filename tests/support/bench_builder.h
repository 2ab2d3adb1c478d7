// SPDX-License-Identifier: Apache-2.0
//
// Benches and faults in code, for tests of the stages behind profile/. All names and data invented.
#ifndef DRYCRANK_TESTS_SUPPORT_BENCH_BUILDER_H_
#define DRYCRANK_TESTS_SUPPORT_BENCH_BUILDER_H_

#include <deque>
#include <string>
#include <utility>
#include <vector>

#include "profile/bench.h"
#include "profile/fault.h"
#include "profile/sensors.h"
#include "profile/triggers.h"

namespace drycrank::support {

class BenchBuilder {
 public:
  // Pins "1" to "pins".
  BenchBuilder& Connector(const std::string& name, int pins) {
    profile::Connector& connector = bench_.connectors.emplace_back();
    connector.name = name;
    for (int pin = 1; pin <= pins; ++pin) connector.pins.push_back(std::to_string(pin));
    return *this;
  }
  BenchBuilder& Splice(const std::string& name) {
    bench_.splices.push_back(name);
    return *this;
  }
  // 0.5 mm2: 39 mohm per metre (tests/reference/wire_resistance.csv).
  BenchBuilder& Wire(const std::string& circuit, const std::string& from, const std::string& to,
                     double length_m = 1) {
    profile::Wire& wire = bench_.wires.emplace_back();
    wire.circuit = circuit;
    wire.from = from;
    wire.to = to;
    wire.length_m = length_m;
    return *this;
  }
  BenchBuilder& Supply(const std::string& plus, const std::string& minus, double voltage_v,
                       double series_ohm = 0.02) {
    bench_.supplies.push_back({"supply", plus, minus, voltage_v, series_ohm});
    return *this;
  }
  BenchBuilder& Load(const std::string& plus, const std::string& minus, double ohm) {
    bench_.loads.push_back({"load", plus, minus, ohm});
    return *this;
  }
  BenchBuilder& Controller(const std::string& supply, const std::string& ground,
                           std::vector<std::string> sensor_grounds = {}) {
    bench_.controller.emplace();
    bench_.controller->supply = supply;
    bench_.controller->ground = ground;
    bench_.controller->sensor_grounds = std::move(sensor_grounds);
    return *this;
  }
  BenchBuilder& Reference(const std::string& terminal) {
    bench_.controller->references.push_back({terminal});
    return *this;
  }
  BenchBuilder& Input(const std::string& terminal, double pull_up_ohm = 0, double pull_up_v = 5,
                      double input_ohm = 1e6) {
    bench_.controller->inputs.push_back({terminal, "", pull_up_ohm, pull_up_v, input_ohm, {}});
    return *this;
  }
  BenchBuilder& Differential(const std::string& plus, const std::string& minus, double input_ohm) {
    bench_.controller->inputs.push_back({plus, minus, 0, 5, input_ohm, {}});
    return *this;
  }
  BenchBuilder& Trigger(const std::string& name, profile::Pickup pickup) {
    profile::Trigger& trigger = bench_.triggers.emplace_back();
    trigger.name = name;
    trigger.pickup = std::move(pickup);
    return *this;
  }
  BenchBuilder& Sensor(const std::string& name, profile::SensorModel model) {
    profile::Sensor& sensor = bench_.sensors.emplace_back();
    sensor.name = name;
    sensor.model = std::move(model);
    return *this;
  }
  profile::Bench Build() const { return bench_; }

 private:
  profile::Bench bench_;
};

// Common devices on pins 1, 2, 3 of a connector.
inline profile::HallPickup Hall(const std::string& connector) {
  profile::HallPickup hall;
  hall.supply = connector + ".1";
  hall.ground = connector + ".2";
  hall.signal = connector + ".3";
  return hall;
}
inline profile::VariableReluctancePickup Coil(const std::string& connector) {
  profile::VariableReluctancePickup coil;
  coil.plus = connector + ".1";
  coil.minus = connector + ".2";
  return coil;
}
inline profile::NtcSensor Ntc(const std::string& connector) {
  return {connector + ".1", connector + ".2", {}};
}
inline profile::RatiometricSensor Ratiometric(const std::string& connector) {
  profile::RatiometricSensor sensor;
  sensor.supply = connector + ".1";
  sensor.ground = connector + ".2";
  sensor.signal = connector + ".3";
  return sensor;
}
inline profile::VoltageSensor VoltageOutput(const std::string& connector) {
  profile::VoltageSensor sensor;
  sensor.supply = connector + ".1";
  sensor.ground = connector + ".2";
  sensor.signal = connector + ".3";
  return sensor;
}

// Owns faults and hands them on as the stages take them.
class FaultList {
 public:
  FaultList() = default;
  FaultList(const FaultList& other) : faults_(other.faults_) { Point(); }
  FaultList& operator=(const FaultList&) = delete;

  FaultList& Add(const profile::FaultKind& kind, const std::string& at,
                 const std::string& with = "") {
    profile::Fault& fault = faults_.emplace_back();
    fault.kind = kind;
    fault.at = at;
    fault.with = with;
    Point();
    return *this;
  }
  const std::vector<const profile::Fault*>& pointers() const { return pointers_; }

 private:
  void Point() {
    pointers_.clear();
    for (const profile::Fault& fault : faults_) pointers_.push_back(&fault);
  }
  std::deque<profile::Fault> faults_;
  std::vector<const profile::Fault*> pointers_;
};

}  // namespace drycrank::support

#endif  // DRYCRANK_TESTS_SUPPORT_BENCH_BUILDER_H_
