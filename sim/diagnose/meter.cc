// SPDX-License-Identifier: Apache-2.0
#include "diagnose/meter.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <variant>

#include "diagnose/electrical.h"
#include "diagnose/unfed.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::diagnose {
namespace {

constexpr double kTestV = 0.2, kTestOhm = 1e3;  // of the meter itself: too little for a diode
constexpr double kAwayOhm = 1e9;                // of a supply that is taken off
// On the bench a sensor is set; with the key off it is as warm as the room.
constexpr double kSensorShare = 1.03, kSensorShareKeyOff = 1.3;
constexpr double kTolerances = 2.5;  // of a supply, in deviations
constexpr double kLeastA = 0.005;

void TakePowerOff(profile::Bench& bench) {
  for (profile::Supply& supply : bench.supplies) {
    supply.voltage_v = 0;
    supply.series_ohm = kAwayOhm;
  }
  TakeControllerOff(bench);
}

profile::Fault OpenAt(const std::string& terminal) {
  profile::Fault fault;
  fault.kind = profile::fault::Open{};
  fault.at = terminal;
  fault.name = terminal + " pulled";
  return fault;
}

// All contacts of these plugs open, besides the faults.
std::vector<profile::Fault> WithPulled(const profile::Bench& bench,
                                       std::span<const profile::Fault> faults,
                                       const std::vector<std::string>& pulled) {
  std::vector<profile::Fault> all(faults.begin(), faults.end());
  for (const std::string& name : pulled) {
    const int index = profile::IndexOf(bench.connectors, name);
    if (index < 0) continue;
    for (const std::string& pin : Nth(bench.connectors, index).pins) {
      all.push_back(OpenAt(name + "." + pin));
    }
  }
  return all;
}

harness::Topology TopologyOf(const profile::Bench& bench,
                             const std::vector<profile::Fault>& faults) {
  std::vector<const profile::Fault*> pointers;
  for (const profile::Fault& fault : faults) pointers.push_back(&fault);
  return harness::MakeTopology(bench, pointers);
}

// Key on; a controller that too little reaches is off.
harness::Topology KeyOnTopology(const profile::Bench& bench,
                                const std::vector<profile::Fault>& faults,
                                const harness::DeviceValues& values) {
  harness::Topology topology = TopologyOf(bench, faults);
  if (faults.empty()) return topology;
  harness::Harness harness(topology);
  std::vector<double> unused(static_cast<std::size_t>(harness.input_count()));
  harness.Solve(values, unused);
  if (IsControllerFed(bench, harness)) return topology;
  return TopologyOf(WithControllerOff(bench), faults);
}

// All wires that end at the terminal end at a node of the meter's instead.
void LeadThrough(profile::Bench& bench, const std::string& terminal, const std::string& meter) {
  bench.splices.push_back(meter);
  for (profile::Wire& wire : bench.wires) {
    if (wire.from == terminal) wire.from = meter;
    if (wire.to == terminal) wire.to = meter;
  }
}

// What holds a bus pair up, what a contact loses, a reference that is off: with the key off none of
// it gives anything.
harness::Network AtRest(const harness::Network& network) {
  harness::Network quiet(network.names().front());
  for (const std::string& name : network.names()) quiet.Node(name);
  for (const harness::Resistor& r : network.resistors()) quiet.JoinByWire(r.a, r.b, r.ohm);
  for (const harness::Source& s : network.sources()) quiet.Drive(s.plus, s.minus, 0, s.ohm);
  return quiet;
}

double VoltsAcross(const Metered& metered) {
  harness::Harness harness(metered.topology);
  std::vector<double> unused(static_cast<std::size_t>(harness.input_count()));
  harness.Solve(metered.values, unused);
  const std::vector<std::string>& names = metered.topology.network.names();
  return harness.Voltage(Nth(names, metered.across.plus)) -
         harness.Voltage(Nth(names, metered.across.minus));
}

double OwnSigma(Meter meter, double y) {
  if (meter == Meter::kVolts) return 0.02 + 0.01 * std::abs(y);
  if (meter == Meter::kOhms) return 0.08 + 0.3 * std::exp(-y);
  return 0.1;
}

}  // namespace

double OnScale(Meter meter, double value) {
  if (meter == Meter::kVolts) return value;
  if (meter == Meter::kOhms) return std::log(1 + std::clamp(value, 0.0, kOpenOhm));
  return std::log(kLeastA + std::abs(value));
}

double FromScale(Meter meter, double y) {
  if (meter == Meter::kVolts) return y;
  if (meter == Meter::kAmperes) return std::max(std::exp(y) - kLeastA, 0.0);
  const double ohm = std::exp(y) - 1;
  return ohm >= 0.999 * kOpenOhm ? std::numeric_limits<double>::infinity() : ohm;
}

double ScaleLength(Meter meter) {
  if (meter == Meter::kVolts) return 20;
  if (meter == Meter::kOhms) return std::log(1 + kOpenOhm);
  return std::log(20 / kLeastA);
}

std::string InWords(Meter meter, double value) {
  if (meter == Meter::kVolts) {
    return std::abs(value) < 0.005 ? "0.00 V" : fmt::format("{:.2f} V", value);
  }
  if (meter == Meter::kAmperes) {
    return std::abs(value) < 0.1 ? fmt::format("{:.0f} mA", 1000 * std::abs(value))
                                 : fmt::format("{:.2f} A", std::abs(value));
  }
  if (value >= kOpenOhm) return "open (more than 2 MΩ)";
  if (value < 999.5) return WithUnit(fmt::format("{:.{}f}", value, value < 100 ? 1 : 0), "ohm");
  if (value < 999.5e3) return WithUnit(fmt::format("{:.3g}", value / 1e3), "kohm");
  return WithUnit(fmt::format("{:.3g}", value / 1e6), "Mohm");
}

double DialOf(Meter meter, double across_v) {
  if (meter == Meter::kVolts) return across_v;
  if (meter == Meter::kAmperes) return across_v / kShuntOhm;
  // A divider: v = test R / (R + own). Rounding, or the leak of every node, is no resistance.
  const double ohm = across_v >= kTestV ? kOpenOhm : kTestOhm * across_v / (kTestV - across_v);
  return ohm >= kOpenOhm ? std::numeric_limits<double>::infinity() : std::max(ohm, 0.0);
}

std::string NodeAt(const std::string& probe, std::span<const profile::Fault> faults) {
  std::string node = probe;
  for (const profile::Fault& f : faults) {
    if (!f.Is<profile::fault::TerminalsSwapped>()) continue;
    if (node == f.at + "~") {
      node = f.with + "~";
    } else if (node == f.with + "~") {
      node = f.at + "~";
    }
  }
  return node;
}

MeterModel::MeterModel(const profile::Bench& bench)
    : bench_(bench), key_off_(bench), raised_(bench) {
  TakePowerOff(key_off_);
  for (profile::Supply& supply : raised_.supplies) supply.voltage_v += supply.tolerance_v;
}

Metered MeterModel::Connect(const Probing& probing, std::span<const profile::Fault> faults) const {
  return Connect(probing, faults, {});
}

Metered MeterModel::Connect(const Probing& probing, std::span<const profile::Fault> faults,
                            const Moved& moved) const {
  const bool off = probing.meter == Meter::kOhms;
  const std::vector<profile::Fault> all = WithPulled(bench_, faults, probing.pulled);
  const profile::Bench& powered = moved.raised ? raised_ : bench_;
  const bool amperes = probing.meter == Meter::kAmperes;
  const std::string meter = "the meter";
  const auto led_through = [&] {
    profile::Bench bench = powered;
    const std::string node = NodeAt(probing.plus, faults);
    LeadThrough(bench, node.substr(0, node.find('~')), meter);
    return bench;
  };
  std::vector<const profile::Fault*> pointers;
  for (const profile::Fault& fault : all) pointers.push_back(&fault);
  const harness::DeviceValues values = DevicesIn(bench_, probing.situation, pointers);
  Metered metered{off       ? TopologyOf(key_off_, all)
                  : amperes ? TopologyOf(led_through(), all)
                            : KeyOnTopology(powered, all, values),
                  values,
                  {}};
  harness::Network& network = metered.topology.network;
  const std::string minus = amperes ? meter : probing.minus;
  metered.across = {network.Find(NodeAt(probing.plus, faults)),
                    minus.empty() ? 0 : network.Find(NodeAt(minus, faults))};
  assert(metered.across.plus != harness::kNoNode && metered.across.minus != harness::kNoNode);
  if (off) {
    network = AtRest(network);
    network.Drive(metered.across.plus, metered.across.minus, kTestV, kTestOhm);
  } else {
    network.Join(metered.across.plus, metered.across.minus,
                 probing.meter == Meter::kVolts ? kMeterInputOhm : kShuntOhm);
  }
  Move(probing.situation, moved, metered.values);
  for (std::size_t d = 0; d < metered.values.size(); ++d) {
    const bool resistor = metered.topology.branches[d].kind == harness::BranchKind::kResistor;
    if (off && !resistor) metered.values[d] = 0;
  }
  return metered;
}

// Does what the device gives come and go there?
bool MeterModel::Switches(const Situation& situation, std::size_t device) const {
  if (device < bench_.triggers.size()) {
    return situation.engine_rpm() > 0 &&
           std::holds_alternative<profile::HallPickup>(bench_.triggers[device].pickup);
  }
  const profile::Sensor& sensor = bench_.sensors[device - bench_.triggers.size()];
  return std::holds_alternative<profile::FrequencySensor>(sensor.model) &&
         Nth(situation.stimuli, sensor.stimulus) > 0;
}

bool MeterModel::AnySwitches(const Situation& situation) const {
  for (std::size_t d = 0; d < bench_.triggers.size() + bench_.sensors.size(); ++d) {
    if (Switches(situation, d)) return true;
  }
  return false;
}

void MeterModel::Move(const Situation& situation, const Moved& moved,
                      harness::DeviceValues& values) const {
  for (std::size_t d = 0; d < values.size(); ++d) {
    if (Switches(situation, d)) {
      if (moved.switched_on) values[d] = 1;
    } else if (d >= bench_.triggers.size()) {
      values[d] *= moved.sensors;
    }
  }
}

double MeterModel::Read(const Probing& probing, std::span<const profile::Fault> faults,
                        const Moved& moved) const {
  return OnScale(probing.meter,
                 DialOf(probing.meter, VoltsAcross(Connect(probing, faults, moved))));
}

Spread MeterModel::Expect(const Probing& probing, std::span<const profile::Fault> faults) const {
  Spread spread;
  spread.y = Read(probing, faults, {});
  // dy of each cause at one deviation of it.
  const bool on = probing.meter != Meter::kOhms;
  const double supply = on ? (Read(probing, faults, {.raised = true}) - spread.y) / kTolerances : 0;
  const double sensors =
      Read(probing, faults, {.sensors = on ? kSensorShare : kSensorShareKeyOff}) - spread.y;
  const double pulses = on && AnySwitches(probing.situation)
                            ? Read(probing, faults, {.switched_on = true}) - spread.y
                            : 0;
  spread.sigma = std::hypot(OwnSigma(probing.meter, spread.y), supply, sensors);
  spread.y += pulses / 2;
  spread.sigma = std::hypot(spread.sigma, pulses / std::sqrt(12.0));
  return spread;
}

}  // namespace drycrank::diagnose
