// SPDX-License-Identifier: Apache-2.0
#include "diagnose/tests_worth_trying.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "diagnose/electrical.h"
#include "diagnose/next_test.h"
#include "diagnose/unfed.h"
#include "profile/bus_nodes.h"
#include "profile/conductors.h"
#include "profile/device_leads.h"
#include "profile/wire_ends.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

constexpr std::size_t kMostWires = 5, kMostDevices = 4, kMostShorts = 4, kMostSwaps = 8,
                      kMostBridges = 4;
constexpr double kMostBridgeA = 0.2, kScreenV = 0.15;

using profile::PlugOf;
bool IsTerminal(const std::string& name) { return name.find('.') != std::string::npos; }
std::string WireSide(const std::string& place) { return IsTerminal(place) ? place + "~" : place; }

bool IsShort(const profile::Fault& f) {
  return f.Is<fault::ShortToGround>() || f.Is<fault::ShortToSupply>() ||
         f.Is<fault::ShortTogether>() || f.Is<fault::Leakage>();
}

std::string OtherEndOf(const profile::Bench& bench, const profile::Fault& f) {
  if (!f.with.empty()) return f.with;
  if (bench.supplies.empty()) return "";
  return f.Is<fault::ShortToSupply>() ? bench.supplies[0].plus : bench.supplies[0].minus;
}

// The terminals of a sensor or trigger; empty for another name.
std::vector<std::string> TerminalsOf(const profile::Bench& bench, const std::string& device) {
  const int sensor = profile::IndexOf(bench.sensors, device);
  if (sensor >= 0) return profile::LeadsOf(Nth(bench.sensors, sensor).model).terminals();
  const int trigger = profile::IndexOf(bench.triggers, device);
  if (trigger >= 0) return profile::LeadsOf(Nth(bench.triggers, trigger).pickup).terminals();
  return {};
}

std::string FarEndOf(const profile::Bench& bench, const std::string& terminal) {
  for (const profile::Wire& wire : bench.wires) {
    if (wire.fitted && wire.from == terminal) return wire.to;
    if (wire.fitted && wire.to == terminal) return wire.from;
  }
  return "";
}

std::vector<std::string> With(std::vector<std::string> plugs, const std::string& plug) {
  if (std::ranges::find(plugs, plug) == plugs.end()) plugs.push_back(plug);
  return plugs;
}

}  // namespace

Scene SceneOf(const profile::Bench& bench, std::span<const Suspected> suspects) {
  Scene scene;
  const std::vector<std::string> controller = ControllerPlugs(bench);
  const auto add_terminal = [&](const std::string& terminal) {
    if (!IsTerminal(terminal)) return;
    scene.terminals.insert(terminal);
    const std::string plug = PlugOf(terminal);
    if (std::ranges::find(controller, plug) == controller.end()) scene.plugs.insert(plug);
  };
  for (const Suspected& faults : suspects) {
    for (const profile::Fault& f : faults) {
      if (f.Is<fault::Termination>()) {
        const profile::BusNode* node = profile::FindBusNode(bench, f.at);
        if (node == nullptr) continue;
        add_terminal(node->high);
        add_terminal(node->low);
        continue;
      }
      add_terminal(f.at);
      add_terminal(f.with);
      const bool contact = f.Is<fault::Open>() || f.Is<fault::SeriesResistance>();
      if (contact && IsTerminal(f.at)) scene.contact_plugs.insert(PlugOf(f.at));
      if (contact && !IsTerminal(f.at)) scene.wires.insert(f.at);
      const std::vector<std::string> leads = TerminalsOf(bench, f.at);
      if (!leads.empty()) scene.devices.insert(f.at);
      for (const std::string& lead : leads) add_terminal(lead);
    }
  }
  return scene;
}

std::vector<Test> VoltsTests(const MeasuredModel& model, std::span<const Suspected> suspects,
                             std::span<const double> shares, const std::set<std::string>& cannot,
                             std::size_t most) {
  const profile::Bench& bench = model.bench();
  std::vector<harness::Harness> networks;
  for (const Suspected& faults : suspects) {
    networks.push_back(HarnessAsFed(bench, model.rest(), faults));
  }
  std::vector<std::pair<double, std::string>> nodes;  // minus the entropy, roughly
  const std::set<std::string> on_bus = profile::PlacesOnBus(bench);
  const auto consider = [&](const std::string& place) {
    if (on_bus.contains(place)) return;
    if (cannot.contains(place) || cannot.contains(PlugOf(place))) return;
    std::map<long, double> bins;
    double total = 0;
    for (std::size_t k = 0; k < networks.size(); ++k) {
      const double v = networks[k].Voltage(NodeAt(WireSide(place), suspects[k]));
      if (std::isnan(v)) return;
      bins[std::lround(v / (kScreenV + 0.02 * std::abs(v)))] += shares[k];
      total += shares[k];
    }
    double entropy = 0;
    for (const auto& [bin, share] : bins) {
      if (share > 0) entropy -= share / total * std::log2(share / total);
    }
    if (bins.size() > 1) nodes.emplace_back(-entropy, place);
  };
  for (const profile::Connector& connector : bench.connectors) {
    for (const std::string& pin : connector.pins) consider(connector.name + "." + pin);
  }
  for (const std::string& splice : bench.splices) consider(splice);
  std::ranges::stable_sort(nodes, {}, &std::pair<double, std::string>::first);
  std::vector<Test> tests;
  for (const auto& [entropy, place] : nodes) {
    if (tests.size() == most) break;
    tests.emplace_back(Probing{Meter::kVolts, WireSide(place), "", {}, model.rest()});
  }
  return tests;
}

std::vector<Test> OhmTests(const MeasuredModel& model, const Scene& scene,
                           std::span<const Suspected> suspects) {
  const profile::Bench& bench = model.bench();
  const std::vector<std::string> off = ControllerPlugs(bench);
  std::vector<Test> tests;
  const auto add = [&](const std::string& plus, const std::string& minus,
                       const std::vector<std::string>& pulled) {
    const Test test = Probing{Meter::kOhms, plus, minus, pulled, RestOf(bench)};
    if (std::ranges::find(tests, test) == tests.end()) tests.push_back(test);
  };
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::BusNode& node : bus.nodes) {
      if (!scene.terminals.contains(node.high) && !scene.terminals.contains(node.low)) continue;
      add(WireSide(node.high), WireSide(node.low), PulledForOhms(bench, node.high, node.low));
    }
  }
  const std::vector<profile::WireEnds> ends = profile::WireEndsOf(bench);
  const std::size_t most = kMostWires + tests.size();
  for (std::size_t w = 0; w < ends.size(); ++w) {
    const profile::Wire& wire = bench.wires[w];
    if (tests.size() < most && wire.fitted && scene.wires.contains(wire.circuit)) {
      add(ends[w].from, ends[w].to, off);
    }
  }
  std::size_t devices = 0;
  for (const std::string& device : scene.devices) {
    const std::vector<std::string> leads = TerminalsOf(bench, device);
    if (devices++ == kMostDevices || leads.size() < 2) continue;
    add(leads[0], leads[1], With(off, PlugOf(leads[0])));
    add(WireSide(leads[0]), WireSide(leads[1]), off);
  }
  // A swap of two terminals: from each to where its wire should go.
  std::size_t swaps = 0;
  for (const Suspected& faults : suspects) {
    for (const profile::Fault& f : faults) {
      if (!f.Is<fault::TerminalsSwapped>()) continue;
      for (const std::string& terminal : {f.at, f.with}) {
        const std::string far = FarEndOf(bench, terminal);
        if (far.empty() || swaps == kMostSwaps) continue;
        ++swaps;
        add(WireSide(terminal), WireSide(far), off);
      }
    }
  }
  std::size_t shorts = 0;
  for (const Suspected& faults : suspects) {
    for (const profile::Fault& f : faults) {
      if (!IsShort(f) || shorts == kMostShorts) continue;
      const std::string other = OtherEndOf(bench, f);
      if (other.empty()) continue;
      ++shorts;
      add(WireSide(f.at), WireSide(other), off);
    }
  }
  return tests;
}

std::vector<Test> AmpereTests(const MeasuredModel& model) {
  std::vector<Test> tests;
  for (const profile::Supply& supply : model.bench().supplies) {
    tests.emplace_back(Probing{Meter::kAmperes, supply.plus + "~", "", {}, model.rest()});
  }
  return tests;
}

// Along each suspect wire, and from the controller's grounds to the battery's minus.
std::vector<Test> BridgeTests(const MeasuredModel& model, const Scene& scene,
                              std::span<const Suspected> suspects) {
  const profile::Bench& bench = model.bench();
  std::vector<Test> tests;
  if (model.wrong_at_rest().empty()) return tests;
  // Amperes through it, were it a bridge: the same 50 mohm as the meter's own.
  const auto is_safe = [&](const std::string& a, const std::string& b) {
    Stand stand{{}, a, b, model.rest()};
    const auto amperes = [&](Suspected faults) {
      const harness::Harness network =
          HarnessAsFed(bench, model.rest(), AsFaults(bench, stand, faults));
      return std::abs(network.Voltage(NodeAt(WireSide(a), faults)) -
                      network.Voltage(NodeAt(WireSide(b), faults))) /
             0.05;
    };
    return amperes({}) <= kMostBridgeA && std::ranges::all_of(suspects, [&](Suspected faults) {
             return amperes(faults) <= kMostBridgeA;
           });
  };
  const auto add = [&](const std::string& a, const std::string& b) {
    if (tests.size() >= kMostBridges || a == b || !is_safe(a, b)) return;
    tests.emplace_back(ComesRight{Stand{{}, a, b, model.rest()}});
  };
  for (const profile::Wire& wire : bench.wires) {
    if (!wire.fitted || !scene.wires.contains(wire.circuit)) continue;
    if (!IsTerminal(wire.from) && !IsTerminal(wire.to)) continue;
    add(IsTerminal(wire.from) ? wire.from : wire.to, IsTerminal(wire.from) ? wire.to : wire.from);
  }
  if (bench.controller && !bench.supplies.empty()) {
    for (const std::string& ground : bench.controller->sensor_grounds) {
      if (scene.terminals.contains(ground)) add(ground, bench.supplies[0].minus);
    }
  }
  return tests;
}

}  // namespace drycrank::diagnose
