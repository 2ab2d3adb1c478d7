// SPDX-License-Identifier: Apache-2.0
#include "run/heard_wires.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "harness/bus_pairs.h"
#include "harness/harness.h"
#include "profile/output_device.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::run {
namespace {

using profile::Bench;

constexpr double kNoLoadOhm = 1e9;       // an output has a supply of its own ...
constexpr double kAlwaysSuppliedV = -1e6;  // ... whatever the sensor's has
constexpr double kUntoldOhm = 1e8;
constexpr double kHysteresis = 0.01;  // of full scale; front-ends.md: 22 mV of some volts
constexpr double kChangeV = 1e-3, kReaches = 1e-9;

template <class ThreeWire>
void FeedFromOutside(ThreeWire& device, const Bench& bench) {
  device.ground = bench.controller->ground;
  device.supply_ohm = kNoLoadOhm;
  device.min_supply_v = kAlwaysSuppliedV;
}

profile::SensorModel OutputFor(const profile::SensorModel& model, const Bench& bench) {
  profile::VoltageSensor volts;
  if (const auto* share = std::get_if<profile::RatiometricSensor>(&model)) {
    volts.supply = share->supply;
    volts.signal = share->signal;
    volts.output_ohm = share->output_ohm;
  } else if (const auto* own = std::get_if<profile::VoltageSensor>(&model)) {
    volts = *own;
  } else {
    return model;
  }
  FeedFromOutside(volts, bench);
  return volts;
}

bool HasOutput(const Bench& bench, const std::string& sensor) {
  return std::ranges::any_of(bench.drives, [&](const profile::OutputDevice& device) {
    return std::ranges::any_of(ChannelsOf(device), [&](const profile::OutputChannel* channel) {
      return channel->of == profile::OutputChannel::Of::kSensor && channel->name == sensor;
    });
  });
}

// The bench with outputs in the place of what they stand for.
Bench Plugged(const Bench& bench, const std::vector<Plug>& plugs, double supply_v) {
  Bench plugged = bench;
  for (profile::Supply& supply : plugged.supplies) supply.voltage_v = supply_v;
  for (std::size_t i = 0; i < plugged.triggers.size(); ++i) {
    profile::Trigger& trigger = plugged.triggers[i];
    trigger.fitted = std::ranges::count(plugs, static_cast<int>(i), &Plug::trigger) > 0;
    if (auto* hall = std::get_if<profile::HallPickup>(&trigger.pickup)) FeedFromOutside(*hall, bench);
  }
  for (profile::Sensor& sensor : plugged.sensors) {
    sensor.fitted = HasOutput(bench, sensor.name);
    sensor.model = OutputFor(sensor.model, bench);
  }
  return plugged;
}

double Untold(const profile::Sensor& sensor) {
  return std::holds_alternative<profile::VoltageSensor>(sensor.model) ? 0 : kUntoldOhm;
}

}  // namespace

struct HeardWires::Impl {
  struct Place {  // a plug with what it gives
    Plug plug;
    bool is_coil = false;
    double before = 0, now = 0;  // samples
    std::vector<double> gain;    // per input: volts there per volt of a coil
    double EmfAt(double x) const { return plug.full_scale_v * (before + (now - before) * x); }
  };

  Impl(const Bench& as_drawn, const std::vector<Plug>& plugs, std::vector<profile::Fault> faults_in,
       double supply_v)
      : bench(Plugged(as_drawn, plugs, supply_v)), faults(std::move(faults_in)),
        harness(bench, InForce()) {
    const std::size_t inputs = harness.input_count();
    values.assign(bench.triggers.size(), 0);
    for (const profile::Sensor& sensor : bench.sensors) values.push_back(Untold(sensor));
    for (const Plug& plug : plugs) {
      const auto& pickup = Nth(bench.triggers, plug.trigger).pickup;
      places.push_back({.plug = plug,
                        .is_coil = std::holds_alternative<profile::VariableReluctancePickup>(pickup),
                        .gain = std::vector<double>(inputs)});
    }
    level_v.resize(inputs);
    input_v.resize(inputs);
    told_v.assign(inputs, std::numeric_limits<double>::quiet_NaN());
    reference_v.resize(bench.controller->references.size());
    FindBuses();
  }

  std::vector<const profile::Fault*> InForce() const {
    std::vector<const profile::Fault*> in_force;
    for (const profile::Fault& fault : faults) in_force.push_back(&fault);
    return in_force;
  }

  void FindBuses() {
    carries.clear();
    for (const profile::Bus& bus : bench.buses) {
      carries.push_back(true);
      if (bus.nodes.empty()) continue;
      const harness::BusPair pair(bench, bus, InForce(), std::vector<bool>(bus.nodes.size(), true));
      const int controller = harness::ControllerNode(bench, bus), other = harness::DisplayNode(bus);
      carries.back() = pair.Hears(controller, other) && pair.Hears(other, controller);
    }
  }

  void Solve() {
    harness.Solve(values, level_v);
    for (Place& place : places) {
      if (place.is_coil) harness.Transfer(place.plug.trigger, place.gain);
    }
    for (std::size_t i = 0; i < reference_v.size(); ++i) {
      reference_v[i] = harness.Reference(static_cast<int>(i));
    }
    is_old = false;
  }

  double VoltsAt(std::size_t input, double x) const {
    double volts = level_v[input];
    for (const Place& place : places) {
      if (place.is_coil) volts += place.gain[input] * place.EmfAt(x);
    }
    return volts;
  }

  bool HearsCoil(std::size_t input) const {
    return std::ranges::any_of(places, [&](const Place& place) {
      return place.is_coil && std::abs(place.gain[input]) > kReaches;
    });
  }

  // All inputs between two shares of the frame, in which no output switches.
  void Tell(double from_x, double to_x, TimeNs begin_ns, TimeNs span_ns, const Sink& sink) {
    const auto at = [&](double x) {
      return begin_ns + std::llround(x * static_cast<double>(span_ns));
    };
    for (std::size_t i = 0; i < input_v.size(); ++i) {
      const int input = static_cast<int>(i);
      input_v[i] = VoltsAt(i, to_x);
      if (HearsCoil(i)) {
        sink(input, {at(from_x), at(to_x), VoltsAt(i, from_x), input_v[i], 0});
      } else if (!(std::abs(input_v[i] - told_v[i]) <= kChangeV)) {
        told_v[i] = input_v[i];
        sink(input, {at(from_x), kNever, input_v[i], input_v[i], 0});
      }
    }
  }

  // The shares of the frame at which open collectors switch, in order.
  std::vector<std::pair<double, std::size_t>> Switchings() const {
    std::vector<std::pair<double, std::size_t>> found;
    for (std::size_t i = 0; i < places.size(); ++i) {
      const Place& place = places[i];
      const bool is_on = Nth(values, place.plug.trigger) != 0;
      const bool turns = is_on ? place.now < -kHysteresis : place.now > kHysteresis;
      if (place.is_coil || !turns) continue;
      const bool crosses = (place.before < 0) != (place.now < 0);
      found.emplace_back(crosses ? place.before / (place.before - place.now) : 1.0, i);
    }
    std::ranges::sort(found);
    return found;
  }

  Bench bench;  // plugged
  std::vector<profile::Fault> faults;
  harness::Harness harness;
  harness::DeviceValues values;
  std::vector<Place> places;
  std::vector<double> level_v, input_v;  // per input: all coils at 0 V; now
  std::vector<double> told_v;            // per input: the last level handed on
  std::vector<double> reference_v;
  std::vector<bool> carries;  // per bus
  bool is_old = true;         // something changed since the last Solve
};

HeardWires::HeardWires(const profile::Bench& bench, std::vector<Plug> plugs,
                       std::vector<profile::Fault> faults, double supply_v)
    : impl_(std::make_unique<Impl>(bench, plugs, std::move(faults), supply_v)) {}
HeardWires::~HeardWires() = default;

std::string HeardWires::Set(std::string_view name, double value) {
  Impl& impl = *impl_;
  impl.is_old = true;
  const int supply = profile::IndexOf(impl.bench.supplies, std::string(name));
  if (supply >= 0) {
    Nth(impl.bench.supplies, supply).voltage_v = value;
    impl.harness = harness::Harness(impl.bench, impl.InForce());
    impl.FindBuses();
    return "";
  }
  const int at = profile::IndexOf(impl.bench.sensors, std::string(name));
  if (at < 0 || !Nth(impl.bench.sensors, at).fitted) {
    return fmt::format("'{}' is no sensor that an output of the bench stands for, and no supply", name);
  }
  const profile::Sensor& sensor = Nth(impl.bench.sensors, at);
  if (const auto* contact = std::get_if<profile::SwitchSensor>(&sensor.model)) {
    if (value != 0 && value != 1) {
      return fmt::format("'{}' is a switch, and {:g} is no state of one; write 0 for open or 1 for closed",
                         name, value);
    }
    value = value == 1 ? contact->closed_ohm : contact->open_ohm;
  }
  impl.values[impl.bench.triggers.size() + AsSize(at)] = value;
  return "";
}

void HeardWires::Hear(const float* samples, TimeNs from_ns, TimeNs to_ns, const Sink& sink) {
  Impl& impl = *impl_;
  for (Impl::Place& place : impl.places) {
    const double now = static_cast<double>(samples[place.plug.channel]);
    place.before = from_ns == to_ns ? now : place.now;
    place.now = now;
  }
  if (impl.is_old) impl.Solve();
  double x = 0;
  for (const auto& [switches_x, i] : impl.Switchings()) {
    impl.Tell(x, switches_x, from_ns, to_ns - from_ns, sink);
    double& value = Nth(impl.values, impl.places[i].plug.trigger);
    value = value != 0 ? 0 : 1;
    impl.Solve();
    x = switches_x;
  }
  impl.Tell(x, 1, from_ns, to_ns - from_ns, sink);
}

std::span<const double> HeardWires::input_v() const { return impl_->input_v; }
double HeardWires::SupplyV() const { return impl_->harness.ControllerSupply(); }
std::span<const double> HeardWires::reference_v() const { return impl_->reference_v; }
bool HeardWires::Carries(int bus) const { return impl_->carries[AsSize(bus)]; }

}  // namespace drycrank::run
