// SPDX-License-Identifier: Apache-2.0
#include "harness/edit.h"

#include <algorithm>
#include <set>
#include <string>

#include "profile/bus_nodes.h"
#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "profile/wire_ends.h"
#include "types/nth.h"

namespace drycrank::harness {
namespace {

namespace fault = profile::fault;
using profile::Fault;

class Editor {
 public:
  Editor(const profile::Bench& bench, const Topology& healthy)
      : bench_(bench), healthy_(healthy), network_(healthy.network), branches_(healthy.branches) {}

  std::optional<Edit> Build(std::span<const Fault> faults) {
    for (const Fault& fault : faults) Add(fault);
    if (!has_form_) return std::nullopt;
    return std::move(edit_);
  }

 private:
  void Add(const Fault& f) {
    const auto add = [&](const auto& kind) { Add(f, kind); };
    profile::VisitInto<profile::Into::kHarness>(f, add);
    profile::VisitInto<profile::Into::kDevice>(f, add);
  }

  void Add(const Fault& f, const fault::Open& kind) {
    if (kind.wire < 0) return Resist(f.at, std::nullopt);
    ResistWire(static_cast<std::size_t>(kind.wire), std::nullopt);
  }
  void Add(const Fault& f, const fault::SeriesResistance& kind) { Resist(f.at, kind.ohm); }
  void Add(const Fault& f, const fault::GroundOffset& kind) {
    if (!IsTerminal(f.at) || !Take(f.at)) return;
    Drive({network_.Find(f.at), network_.Find(f.at + "~")}, kind.volts / kContactOhm);
  }
  void Add(const Fault& f, const fault::SupplyOff& kind) {
    const auto add = [&](const std::string& plus, const std::string& minus, double series_ohm) {
      Drive({network_.Find(plus), network_.Find(minus)},
            kind.volts / std::max(series_ohm, kLeastOhm));
    };
    for (const profile::Supply& supply : bench_.supplies) {
      if (supply.name == f.at) add(supply.plus, supply.minus, supply.series_ohm);
    }
    if (!bench_.controller) return;
    for (const profile::ReferenceOutput& output : bench_.controller->references) {
      // Its limit moves, too.
      if (output.terminal == f.at && output.limit_ma > 0) has_form_ = false;
      if (output.terminal == f.at) {
        add(output.terminal, bench_.controller->ground, output.series_ohm);
      }
    }
  }
  void Add(const Fault& f, const fault::TerminalsSwapped& /*kind*/) { Swap(f.at, f.with); }
  void Add(const Fault& f, const fault::ConnectorsSwapped& /*kind*/) {
    SwapConnectors(f.at, f.with);
  }
  void Add(const Fault& f, const fault::ShortToGround& kind) {
    Short(HarnessNode(f.at), 0, kind.ohm);
  }
  void Add(const Fault& f, const fault::ShortToSupply& kind) {
    if (bench_.supplies.empty()) return;
    Short(HarnessNode(f.at), network_.Find(bench_.supplies.front().plus), kind.ohm);
  }
  void Add(const Fault& f, const fault::ShortTogether& kind) {
    Short(HarnessNode(f.at), HarnessNode(f.with), kind.ohm);
  }
  void Add(const Fault& f, const fault::Leakage& kind) {
    Short(HarnessNode(f.at), f.with.empty() ? 0 : HarnessNode(f.with), kind.ohm);
  }
  void Add(const Fault& f, const fault::NotPlugged& /*kind*/) {
    const int plug = profile::IndexOf(bench_.connectors, f.at);
    if (plug < 0) return;
    for (const std::string& pin : Nth(bench_.connectors, plug).pins) {
      Resist(f.at + "." + pin, std::nullopt);
    }
  }
  void Add(const Fault& f, const fault::RelayStays& kind) {
    const int at = profile::IndexOf(bench_.relays, f.at);
    if (at < 0 || !Take("relay " + f.at)) return;
    const bool on = kind.stays == fault::RelayPosition::kOn;
    Stay(Nth(healthy_.relays, at).normally_open, on);
    Stay(Nth(healthy_.relays, at).normally_closed, !on);
  }
  void Add(const Fault& f, const fault::Termination& kind) {
    const profile::BusNode* node = profile::FindBusNode(bench_, f.at);
    if (node == nullptr || !Take("termination " + f.at)) return;
    const auto siemens = [](double ohm) { return ohm > 0 ? 1 / ohm : 0; };
    const double more = siemens(kind.ohm) - siemens(node->termination_ohm);
    if (more == 0) return;
    edit_.ports.push_back({{network_.Find(node->high), network_.Find(node->low)}, {}, 1 / more});
  }
  void Add(const Fault& f, const fault::NotFitted& /*kind*/) { TakeOut(f.at); }
  // What a device gives is no matter of the network.
  void Add(const Fault& /*f*/, const fault::WheelOffset& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::ToothMissing& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::ExtraTooth& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::WheelRunout& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::PickupInverted& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::PickupStrength& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::ElectricalNoise& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::CamStuck& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::CamSlow& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::SensorOffset& /*kind*/) {}
  void Add(const Fault& /*f*/, const fault::SensorStuck& /*kind*/) {}

  // Each part may be touched once: two changes of one conductance do not add.
  bool Take(const std::string& part) {
    if (!taken_.insert(part).second) has_form_ = false;
    return has_form_;
  }

  bool IsTerminal(const std::string& name) const { return network_.Find(name + "~") != kNoNode; }
  int HarnessNode(const std::string& name) const {
    return network_.Find(IsTerminal(name) ? name + "~" : name);
  }

  // `more_ohm` in a contact or in every wire of a circuit; nothing: open.
  void Resist(const std::string& at, std::optional<double> more_ohm) {
    if (IsTerminal(at)) {
      if (!Take(at)) return;
      return Change({network_.Find(at), network_.Find(at + "~")}, kContactOhm, more_ohm);
    }
    for (std::size_t w = 0; w < bench_.wires.size(); ++w) {
      if (bench_.wires[w].circuit == at) ResistWire(w, more_ohm);
    }
  }

  void ResistWire(std::size_t w, std::optional<double> more_ohm) {
    const profile::Wire& wire = bench_.wires[w];
    if (!wire.fitted || !Take("wire " + std::to_string(w))) return;
    if (ends_.empty()) ends_ = profile::WireEndsOf(bench_);
    Change({network_.Find(ends_[w].from), network_.Find(ends_[w].to)},
           std::max(wire.Ohm(), kLeastWireOhm), more_ohm);
  }

  void Change(const NodePair& nodes, double ohm, std::optional<double> more_ohm) {
    if (nodes.plus == nodes.minus || more_ohm == 0.0) return;
    // 1/M of a series resistance, or of an open.
    edit_.ports.push_back({nodes, {}, more_ohm ? -ohm * (ohm + *more_ohm) / *more_ohm : -ohm});
  }

  // `amperes` more out of the first node: a port takes them from plus to minus.
  void Drive(const NodePair& nodes, double amperes) {
    Edit::Port port{nodes, {}, 0};
    port.known = true;
    port.amperes = -amperes;
    edit_.ports.push_back(port);
  }

  void Short(int a, int b, double ohm) {
    if (a == kNoNode || b == kNoNode || a == b) return;
    edit_.ports.push_back({{a, b}, {}, std::max(ohm, kLeastOhm)});
  }

  // A relay's contact no longer listens to its coil.
  void Stay(int branch, bool closed) {
    if (branch == kNoBranch) return;
    edit_.not_fitted.push_back(branch);
    const Branch& contact = Nth(branches_, branch);
    if (closed) Short(contact.plus, contact.minus, contact.ohm);
  }

  void Swap(const std::string& a, const std::string& b) {
    if (!IsTerminal(a) || !IsTerminal(b) || a == b || !Take(a) || !Take(b)) return;
    const int first = static_cast<int>(edit_.ports.size());
    const int p1 = network_.Find(a), w1 = network_.Find(a + "~");
    const int p2 = network_.Find(b), w2 = network_.Find(b + "~");
    // Port e, then port f; 1/M = ohm [0 1; 1 -2], with the contact's ohm.
    edit_.ports.push_back({{w1, w2}, {}, 0, first + 1, kContactOhm});
    edit_.ports.push_back({{p1, w1}, {p2, w2}, -2 * kContactOhm, first, kContactOhm});
  }

  void SwapConnectors(const std::string& at, const std::string& with) {
    const int a = profile::IndexOf(bench_.connectors, at);
    const int b = profile::IndexOf(bench_.connectors, with);
    if (a < 0 || b < 0 || a == b) return;
    const auto& pins = Nth(bench_.connectors, a).pins;
    const auto& others = Nth(bench_.connectors, b).pins;
    const auto holds = [](const std::vector<std::string>& list, const std::string& pin) {
      return std::find(list.begin(), list.end(), pin) != list.end();
    };
    // Pin by pin; one that the other plug has not, on either side, hangs free.
    for (const std::string& pin : pins) {
      if (holds(others, pin)) {
        Swap(at + "." + pin, with + "." + pin);
      } else {
        Resist(at + "." + pin, std::nullopt);
      }
    }
    for (const std::string& pin : others) {
      if (!holds(pins, pin)) Resist(with + "." + pin, std::nullopt);
    }
  }

  void TakeOut(const std::string& name) {
    // The device's number (triggers, then sensors) and what its supply current flows through.
    int device = profile::IndexOf(bench_.triggers, name);
    double supply_ohm = 0;
    if (device >= 0) {
      const auto& trigger = Nth(bench_.triggers, device);
      supply_ohm = profile::LeadsOf(trigger.pickup).supply_ohm;
    } else {
      const int sensor = profile::IndexOf(bench_.sensors, name);
      if (sensor < 0) return;
      const auto& model = Nth(bench_.sensors, sensor).model;
      supply_ohm = profile::LeadsOf(model).supply_ohm;
      device = static_cast<int>(bench_.triggers.size()) + sensor;
    }
    if (!Take("device " + name)) return;
    // Its branch stays without current; the resistor is a part of the network and is opened.
    edit_.not_fitted.push_back(device);
    const Branch& branch = Nth(branches_, device);
    if (supply_ohm > 0 && branch.supply != branch.ground) {
      edit_.ports.push_back({{branch.supply, branch.ground}, {}, -std::max(supply_ohm, kLeastOhm)});
    }
  }

  const profile::Bench& bench_;
  const Topology& healthy_;
  const Network& network_;
  const std::vector<Branch>& branches_;
  Edit edit_;
  std::vector<profile::WireEnds> ends_;  // when first asked for
  std::set<std::string> taken_;
  bool has_form_ = true;
};

}  // namespace

std::optional<Edit> EditOf(const profile::Bench& bench, const Topology& healthy,
                           std::span<const Fault> faults) {
  return Editor(bench, healthy).Build(faults);
}

}  // namespace drycrank::harness
