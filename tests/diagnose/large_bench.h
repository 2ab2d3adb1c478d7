// SPDX-License-Identifier: Apache-2.0
//
// A harness of any size for measurements of speed: groups of four thermistors and four pressure
// sensors, each group with a 5 V and a ground splice of its own. 22 circuits a group. Invented.
#ifndef DRYCRANK_TESTS_DIAGNOSE_LARGE_BENCH_H_
#define DRYCRANK_TESTS_DIAGNOSE_LARGE_BENCH_H_

#include <fmt/format.h>

#include <cmath>
#include <set>
#include <string>
#include <vector>

#include "diagnose/predict.h"
#include "profile/bench.h"
#include "profile/sensors.h"
#include "types/random.h"

namespace drycrank::diagnose {

// With an input's noise, of half a step of its signal, and in its steps. A sensor's own error would
// be one draw for all its readings (nuisance.h): none here.
inline Observation ReadWithNoise(const Predictor& predictor, Observation rows, Random& random) {
  for (Values& row : rows) {
    for (std::size_t r = 0; r < row.size(); ++r) {
      const Reading& reading = predictor.readings()[r];
      const double step = profile::SignalAt(predictor.bench(), reading.signal).scale;
      if (!reading.discrete) row[r] = step * std::round(row[r] / step + 0.5 * random.Gauss());
    }
  }
  return rows;
}

class LargeBench {
 public:
  // `always_on`: the sensors work without supply, so that nothing in the bench has a state.
  explicit LargeBench(int circuits, bool always_on = false) : always_on_(always_on) {
    bench_.name = "large";
    bench_.stimuli.push_back({"engine_speed", "", "rpm", 0, 0, 20000, {}, {}});
    bench_.engine.firing_order = {1};
    bench_.engine.firing_angles_deg = {0};
    bench_.supplies.push_back({"battery", "BAT.1", "BAT.2", 12.6, 0.02});
    bench_.connectors.push_back({"BAT", "", "", {"1", "2"}, {}});
    bench_.buses.emplace_back().name = "bus";
    bench_.controller.emplace();
    bench_.controller->supply = Pin();
    Join("supply", "BAT.1", bench_.controller->supply);
    bench_.controller->ground = Pin();
    Join("ground", "BAT.2", bench_.controller->ground);
    bench_.controller->decoder.firing_order = {1};
    for (int group = 0; Circuits() < circuits; ++group)
      AddGroup(fmt::format("g{}", group), circuits);
    AddSituation("at rest", 0, 0);
    for (std::size_t i = 1; i < bench_.stimuli.size(); ++i) {
      for (const double share : {0.2, 0.8}) {
        AddSituation(fmt::format("{} at {}", bench_.stimuli[i].name, share), i, share);
      }
    }
  }

  const profile::Bench& bench() const { return bench_; }
  const std::vector<Situation>& situations() const { return situations_; }
  int Circuits() const { return static_cast<int>(names_.size()); }

 private:
  void Join(const std::string& circuit, const std::string& from, const std::string& to) {
    profile::Wire& wire = bench_.wires.emplace_back();
    wire.circuit = circuit;
    wire.from = from;
    wire.to = to;
    names_.insert(circuit);
  }

  // The controller's next free terminal; plugs of 40.
  std::string Pin() {
    const int plug = pins_ / 40 + 1, pin = pins_ % 40 + 1;
    ++pins_;
    const std::string name = fmt::format("E{}", plug);
    if (pin == 1) bench_.connectors.push_back({name, "", "", {}, {}});
    const int index = profile::IndexOf(bench_.connectors, name);
    bench_.connectors[static_cast<std::size_t>(index)].pins.push_back(std::to_string(pin));
    return fmt::format("{}.{}", name, pin);
  }

  void AddGroup(const std::string& name, int circuits) {
    const std::string ground = name + "_G", five = name + "_5V";
    bench_.splices.insert(bench_.splices.end(), {ground, five});
    const std::string ground_pin = Pin(), five_pin = Pin();
    bench_.controller->sensor_grounds.push_back(ground_pin);
    profile::ReferenceOutput& reference = bench_.controller->references.emplace_back();
    reference.terminal = five_pin;
    Join(name + "_ground", ground, ground_pin);
    Join(name + "_5v", five, five_pin);
    for (int i = 0; i < 8 && Circuits() < circuits; ++i) {
      AddSensor(fmt::format("{}s{}", name, i), i % 2 == 0, ground, five);
    }
  }

  void AddSensor(const std::string& name, bool thermistor, const std::string& ground,
                 const std::string& five) {
    const std::string plug = "S" + name, pin = Pin();
    const int stimulus = static_cast<int>(bench_.stimuli.size());
    bench_.stimuli.push_back({name, "", "", 40, 0, 100, {}, {}});
    profile::Sensor& sensor = bench_.sensors.emplace_back();
    sensor.name = name;
    sensor.stimulus = stimulus;
    sensor.max = 100;
    profile::AnalogChannel& channel = bench_.controller->analog.emplace_back();
    channel.name = name;
    channel.terminal = pin;
    channel.low_v = 0.1;
    channel.high_v = 4.9;
    profile::InputCircuit& input = bench_.controller->inputs.emplace_back();
    input.terminal = pin;
    if (thermistor) {
      bench_.connectors.push_back({plug, "", "", {"1", "2"}, {}});
      profile::NtcSensor model{plug + ".1", plug + ".2", {}};
      model.curve = profile::TableNtc{{{0, 6000}, {50, 800}, {100, 180}}};
      sensor.model = model;
      input.pull_up_ohm = 1000;
      // By hand: 5 V * r / (r + 1000).
      channel.value_at_volts = {{0.7627, 100}, {2.2222, 50}, {4.2857, 0}};
    } else {
      bench_.connectors.push_back({plug, "", "", {"1", "2", "3"}, {}});
      profile::RatiometricSensor model;
      model.supply = plug + ".3";
      model.ground = plug + ".2";
      model.signal = plug + ".1";
      if (always_on_) model.min_supply_v = -1e9;
      sensor.model = model;
      input.input_ohm = 470e3;
      channel.value_at_volts = {{0.5, 0}, {4.5, 100}};
      Join(name + "_5v", plug + ".3", five);
    }
    Join(name + "_signal", plug + ".1", pin);
    Join(name + "_ground", plug + ".2", ground);
    AddMessage(name);
  }

  void AddMessage(const std::string& name) {
    profile::Message& message = bench_.buses[0].messages.emplace_back();
    message.name = "m_" + name;
    message.id = static_cast<std::uint32_t>(0x100 + bench_.buses[0].messages.size());
    message.sender = profile::Sender::kController;
    message.period_ms = 100;
    profile::Signal value;
    value.name = "value";
    value.length_bits = 16;
    value.scale = 0.1;
    value.carries = name;
    profile::Signal fault;
    fault.name = "fault";
    fault.start_bit = 16;
    fault.carries = name + ".fault";
    message.signals = {value, fault};
  }

  void AddSituation(const std::string& name, std::size_t driven, double share) {
    Situation situation{name, {0}};
    for (std::size_t i = 1; i < bench_.stimuli.size(); ++i) {
      situation.stimuli.push_back(i == driven ? 100 * share : 30 + 3.0 * double(i % 8));
    }
    situations_.push_back(situation);
  }

  profile::Bench bench_;
  std::vector<Situation> situations_;
  std::set<std::string> names_;
  int pins_ = 0;
  bool always_on_ = false;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_TESTS_DIAGNOSE_LARGE_BENCH_H_
