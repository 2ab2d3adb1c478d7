// SPDX-License-Identifier: Apache-2.0
#include "harness/bus_pins.h"

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <string>
#include <variant>

#include "harness/bus_pairs.h"
#include "harness/harness.h"
#include "harness/small_system.h"
#include "harness/topology.h"
#include "harness/variants.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "profile/wire_ends.h"
#include "types/nth.h"

namespace drycrank::harness {
namespace {

constexpr std::size_t kMostKept = std::size_t{1} << 20;  // numbers: 8 MiB

// What the devices do with the key on: switches in feeds are closed.
std::vector<double> KeyOn(const profile::Bench& bench, const Topology& topology) {
  constexpr double kSomeOhm = 1e3;
  std::vector<double> values;
  for (std::size_t d = 0; d < topology.device_count; ++d) {
    values.push_back(topology.branches[d].kind == BranchKind::kResistor ? kSomeOhm : 0);
    if (d < bench.triggers.size()) continue;
    const profile::Sensor& sensor = bench.sensors[d - bench.triggers.size()];
    if (!profile::IsFeedSwitch(bench, sensor)) continue;
    values.back() = std::get<profile::SwitchSensor>(sensor.model).closed_ohm;
  }
  return values;
}

// The load of a node's name: a display, a keypad. One without is fed by somebody else, and the
// controller's own supply is looked after by its stand-in.
int LoadOf(const profile::Bench& bench, const profile::Bus& bus, std::size_t node) {
  if (static_cast<int>(node) == ControllerNode(bench, bus)) return -1;
  return profile::IndexOf(bench.loads, bus.nodes[node].name);
}

std::vector<bool> PoweredNodes(const profile::Bench& bench, const profile::Bus& bus,
                               const Topology& topology) {
  std::vector<bool> powered(bus.nodes.size() + 1, true);
  std::optional<Harness> harness;
  for (std::size_t n = 0; n < bus.nodes.size(); ++n) {
    const int load = LoadOf(bench, bus, n);
    if (load < 0) continue;
    if (!harness) {
      harness.emplace(topology);
      std::vector<double> input_v(harness->input_count());
      harness->Solve(KeyOn(bench, topology), input_v);
    }
    const profile::Load& at = Nth(bench.loads, load);
    powered[n] = harness->Voltage(at.plus) - harness->Voltage(at.minus) >= kNodeWorksV;
  }
  return powered;
}

// The nodes' pins; the tap is on the wires, behind the plug of the controller or of the first node.
std::vector<int> NodesOfPins(const profile::Bench& bench, const profile::Bus& bus,
                             const Network& network) {
  std::vector<int> nodes;
  const auto add = [&](const std::string& name) {
    nodes.push_back(std::max(0, network.Find(name)));
  };
  for (const profile::BusNode& node : bus.nodes) add(node.high), add(node.low);
  const profile::BusNode& at = Nth(bus.nodes, std::max(0, ControllerNode(bench, bus)));
  add(at.high + "~"), add(at.low + "~");
  return nodes;
}

double Across(const Eigen::VectorXd& node_v, const Edit::Port& port) {
  return node_v[port.nodes.plus] - node_v[port.nodes.minus] -
         (node_v[port.less.plus] - node_v[port.less.minus]);
}

}  // namespace

BusPins BusPinsOf(const profile::Bench& bench, const profile::Bus& bus,
                  std::span<const profile::Fault* const> faults) {
  const Topology topology = MakeTopology(bench, faults);
  const NodalSolver solver(topology.network);
  const std::vector<int> nodes = NodesOfPins(bench, bus, topology.network);
  BusPins pins;
  pins.rest_v = solver.Voltages()(nodes);
  pins.ohm.resize(pins.rest_v.size(), pins.rest_v.size());
  for (Eigen::Index q = 0; q < pins.rest_v.size(); ++q) {
    pins.ohm.col(q) = solver.Response(Nth(nodes, q), 0)(nodes);
  }
  pins.powered = PoweredNodes(bench, bus, topology);
  return pins;
}

struct BusNetwork::Impl {
  explicit Impl(const profile::Bench& b)
      : bench(b), topology(MakeTopology(b, {})), solver(topology.network), v0(solver.Voltages()) {
    for (const profile::Bus& bus : bench.buses) {
      Wires& at = wires.emplace_back();
      if (bus.nodes.empty()) continue;
      at.nodes = NodesOfPins(bench, bus, topology.network);
      for (const int node : at.nodes) at.x.push_back(solver.Response(node, 0));
      FindLoads(bus, at);
    }
    if (!loads.empty()) {
      key_on = KeyOn(bench, topology);
      variants = std::make_unique<Variants>(topology, key_on, loads);
      variant = std::make_unique<Variant>(*variants);
    }
  }

  // Of a bus in the healthy network.
  struct Wires {
    std::vector<int> nodes;  // per pin
    std::vector<Eigen::VectorXd> x;
    std::vector<int> loads;  // per node, a pair among `loads`; none: kFed or kUnknown
  };
  static constexpr int kFed = -1, kUnknown = -2;
  using Ends = std::array<int, 4>;

  void FindLoads(const profile::Bus& bus, Wires& at) {
    for (std::size_t n = 0; n < bus.nodes.size(); ++n) {
      at.loads.push_back(kFed);
      const int load = LoadOf(bench, bus, n);
      if (load < 0) continue;
      const int plus = topology.network.Find(Nth(bench.loads, load).plus);
      const int minus = topology.network.Find(Nth(bench.loads, load).minus);
      const bool known = plus != kNoNode && minus != kNoNode;
      at.loads.back() = known ? static_cast<int>(loads.size()) : kUnknown;
      if (known) loads.push_back({plus, minus});
    }
  }

  // W of a port.
  const Eigen::VectorXd& ResponseTo(const Edit::Port& port) {
    const Ends ends{port.nodes.plus, port.nodes.minus, port.less.plus, port.less.minus};
    if (const auto known = responses.find(ends); known != responses.end()) return known->second;
    Eigen::VectorXd w = solver.Response(ends[0], ends[1]);
    if (ends[2] != ends[3]) w -= solver.Response(ends[2], ends[3]);
    return responses.emplace(ends, std::move(w)).first->second;
  }

  // Z + M^-1; of a current that is known, a row that says so.
  void SetPorts(const Edit& edit) {
    if (responses.size() * static_cast<std::size_t>(v0.size()) > kMostKept) responses.clear();
    const std::size_t count = edit.ports.size();
    ohm.Resize(count);
    for (std::size_t f = 0; f < count; ++f) {
      const Eigen::VectorXd& w = ResponseTo(edit.ports[f]);
      for (std::size_t g = 0; g < count; ++g) ohm.At(g, f) = Across(w, edit.ports[g]);
    }
    for (std::size_t f = 0; f < count; ++f) {
      const Edit::Port& port = edit.ports[f];
      ohm.At(f, f) += port.ohm;
      if (port.partner >= 0) ohm.At(f, static_cast<std::size_t>(port.partner)) += port.partner_ohm;
    }
    for (std::size_t f = 0; f < count; ++f) {
      if (!edit.ports[f].known) continue;
      for (std::size_t g = 0; g < count; ++g) ohm.At(f, g) = f == g ? 1 : 0;
    }
    ohm.Factor();
  }

  // j for v0, k for x.
  const std::vector<double>& CurrentsFor(const Edit& edit, const Eigen::VectorXd& node_v,
                                         bool at_rest) {
    amperes.clear();
    for (const Edit::Port& port : edit.ports) {
      amperes.push_back(port.known ? (at_rest ? port.amperes : 0) : Across(node_v, port));
    }
    ohm.Solve(amperes);
    return amperes;
  }

  // A column of what is seen at the pins.
  void Fill(const Edit& edit, const Wires& at, const Eigen::VectorXd& node_v, bool at_rest,
            Eigen::Ref<Eigen::VectorXd> seen) {
    const std::vector<double>& j = CurrentsFor(edit, node_v, at_rest);
    for (std::size_t p = 0; p < at.nodes.size(); ++p) {
      double volts = node_v[at.nodes[p]];
      for (std::size_t f = 0; f < j.size(); ++f) volts -= Across(at.x[p], edit.ports[f]) * j[f];
      seen[static_cast<Eigen::Index>(p)] = volts;
    }
  }

  BusPins PinsWith(const Edit& edit, const Wires& at) {
    BusPins pins;
    const auto count = static_cast<Eigen::Index>(at.nodes.size());
    pins.rest_v.resize(count);
    pins.ohm.resize(count, count);
    Fill(edit, at, v0, true, pins.rest_v);
    for (Eigen::Index q = 0; q < count; ++q) Fill(edit, at, Nth(at.x, q), false, pins.ohm.col(q));
    for (const int load : at.loads) {
      pins.powered.push_back(load == kFed || (load >= 0 && variant->Also(load) >= kNodeWorksV));
    }
    pins.powered.push_back(true);
    return pins;
  }

  // Do the devices' states agree, as far as anybody asks?
  bool Supply(const Edit& edit) {
    if (!variant) return true;
    variant->Put(edit);
    return variant->Solve(key_on);
  }

  const profile::Bench& bench;
  Topology topology;
  NodalSolver solver;
  Eigen::VectorXd v0;
  std::vector<Wires> wires;  // per bus
  std::vector<NodePair> loads;
  std::vector<double> key_on;
  std::unique_ptr<Variants> variants;  // none where no node is a load
  std::unique_ptr<Variant> variant;
  std::map<Ends, Eigen::VectorXd> responses;  // W
  SmallSystem ohm;                            // Z + M^-1
  std::vector<double> amperes;                // scratch
};

BusNetwork::BusNetwork(const profile::Bench& bench) : impl_(std::make_unique<Impl>(bench)) {}
BusNetwork::~BusNetwork() = default;

// What has no form as an edit gets a network of its own.
std::vector<BusPins> BusNetwork::With(std::span<const profile::Fault* const> faults) {
  std::vector<profile::Fault> all;
  for (const profile::Fault* fault : faults) all.push_back(*fault);
  const auto edit = EditOf(impl_->bench, impl_->topology, all);
  const bool has_form = edit && impl_->Supply(*edit);
  if (has_form) impl_->SetPorts(*edit);
  std::vector<BusPins> pins;
  for (std::size_t b = 0; b < impl_->bench.buses.size(); ++b) {
    const profile::Bus& bus = impl_->bench.buses[b];
    if (bus.nodes.empty()) {
      pins.emplace_back();
    } else {
      pins.push_back(has_form ? impl_->PinsWith(*edit, impl_->wires[b])
                              : BusPinsOf(impl_->bench, bus, faults));
    }
  }
  return pins;
}

}  // namespace drycrank::harness
