// SPDX-License-Identifier: Apache-2.0
#include "harness/topology.h"

#include <algorithm>
#include <cassert>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include "profile/bus_nodes.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "profile/wire_ends.h"
#include "types/nth.h"

namespace drycrank::harness {
namespace {

namespace fault = profile::fault;

constexpr double kSuppressionV = 0.7;  // common practice, no source

constexpr double kRecessiveV = 2.5, kTransceiverOhm = 25e3;  // bus_pairs.h

struct Contact {
  int pin = kNoNode;
  int wire_end = kNoNode;  // kNoNode: nothing plugged on
  double ohm = kContactOhm;
  double volts = 0;
  bool open = false;
};

std::string ReferenceName(const profile::Bench& bench) {
  if (!bench.supplies.empty()) return bench.supplies.front().minus;
  return bench.controller ? bench.controller->ground : "reference";
}

class Builder {
 public:
  Builder(const profile::Bench& bench, std::span<const profile::Fault* const> faults)
      : bench_(bench), faults_(faults), network_(ReferenceName(bench)) {}

  Topology Build() {
    PlaceNodes();
    EditContacts();
    JoinContacts();
    JoinWires();
    JoinSupplies();
    JoinShorts();
    JoinController();
    JoinBuses();
    PlaceDevices();
    const std::size_t device_count = branches_.size();
    for (const profile::Relay& relay : bench_.relays) PlaceRelay(relay);
    for (const profile::Diode& diode : bench_.diodes) {
      PlaceDiode(diode.anode, diode.cathode, diode.forward_v);
    }
    PlaceLimited();
    return {std::move(network_), std::move(branches_), device_count,          std::move(relays_),
            std::move(inputs_),  controller_supply_,   std::move(references_)};
  }

 private:
  void PlaceNodes() {
    for (const profile::Connector& connector : bench_.connectors) {
      for (const std::string& pin : connector.pins) {
        const std::string terminal = connector.name + "." + pin;
        Contact& contact = contacts_[terminal];
        contact.pin = network_.Node(terminal);
        contact.wire_end = network_.Node(terminal + "~");
      }
    }
    for (const std::string& splice : bench_.splices) network_.Node(splice);
  }

  void EditContacts() {
    for (const profile::Fault* f : faults_) {
      profile::VisitInto<profile::Into::kHarness>(*f, [&](const auto& kind) { Edit(*f, kind); });
    }
  }

  // What a fault does to contacts; shorts are joined to the network later.
  void Edit(const profile::Fault& f, const fault::Open& kind) {
    if (kind.wire >= 0) return;
    if (Contact* contact = FindContact(f.at)) contact->open = true;
  }
  void Edit(const profile::Fault& f, const fault::SeriesResistance& kind) {
    if (Contact* contact = FindContact(f.at)) contact->ohm += kind.ohm;
  }
  void Edit(const profile::Fault& f, const fault::GroundOffset& kind) {
    if (Contact* contact = FindContact(f.at)) contact->volts += kind.volts;
  }
  void Edit(const profile::Fault& f, const fault::TerminalsSwapped& /*kind*/) {
    if (Contact* contact = FindContact(f.at)) SwapWireEnds(*contact, f.with);
  }
  void Edit(const profile::Fault& f, const fault::ConnectorsSwapped& /*kind*/) {
    SwapConnectors(f.at, f.with);
  }
  void Edit(const profile::Fault& f, const fault::NotPlugged& /*kind*/) {
    const int plug = profile::IndexOf(bench_.connectors, f.at);
    if (plug < 0) return;
    for (const std::string& pin : Nth(bench_.connectors, plug).pins) {
      contacts_.at(f.at + "." + pin).open = true;
    }
  }
  void Edit(const profile::Fault& /*f*/, const fault::RelayStays& /*kind*/) {}
  void Edit(const profile::Fault& /*f*/, const fault::SupplyOff& /*kind*/) {}
  void Edit(const profile::Fault& /*f*/, const fault::Termination& /*kind*/) {}
  void Edit(const profile::Fault& /*f*/, const fault::ShortToGround& /*kind*/) {}
  void Edit(const profile::Fault& /*f*/, const fault::ShortToSupply& /*kind*/) {}
  void Edit(const profile::Fault& /*f*/, const fault::ShortTogether& /*kind*/) {}
  void Edit(const profile::Fault& /*f*/, const fault::Leakage& /*kind*/) {}

  Contact* FindContact(const std::string& terminal) {
    const auto at = contacts_.find(terminal);
    return at == contacts_.end() ? nullptr : &at->second;
  }

  void SwapWireEnds(Contact& contact, const std::string& with) {
    const auto other = contacts_.find(with);
    if (other != contacts_.end()) std::swap(contact.wire_end, other->second.wire_end);
  }

  void SwapConnectors(const std::string& at, const std::string& with) {
    const int a = profile::IndexOf(bench_.connectors, at);
    const int b = profile::IndexOf(bench_.connectors, with);
    if (a < 0 || b < 0 || a == b) return;
    for (const std::string& pin : Nth(bench_.connectors, a).pins) {
      Contact& contact = contacts_.at(at + "." + pin);
      const auto other = contacts_.find(with + "." + pin);
      if (other == contacts_.end()) {
        contact.wire_end = kNoNode;
      } else {
        std::swap(contact.wire_end, other->second.wire_end);
      }
    }
    for (const std::string& pin : Nth(bench_.connectors, b).pins) {
      if (!contacts_.contains(at + "." + pin)) contacts_.at(with + "." + pin).wire_end = kNoNode;
    }
  }

  void JoinContacts() {
    for (const auto& [terminal, contact] : contacts_) {
      if (contact.open || contact.wire_end == kNoNode) continue;
      if (contact.volts == 0) {
        network_.Join(contact.pin, contact.wire_end, contact.ohm);
      } else {
        network_.Drive(contact.pin, contact.wire_end, contact.volts, contact.ohm);
      }
    }
  }

  void JoinWires() {
    const std::vector<profile::WireEnds> ends = profile::WireEndsOf(bench_);
    for (std::size_t w = 0; w < ends.size(); ++w) {
      const profile::Wire& wire = bench_.wires[w];
      if (!wire.fitted) continue;
      const std::optional<double> ohm = WireOhm(wire);
      if (!ohm) continue;
      network_.JoinByWire(network_.Find(ends[w].from), network_.Find(ends[w].to), *ohm);
    }
  }

  // Nothing when the wire is cut.
  std::optional<double> WireOhm(const profile::Wire& wire) const {
    double ohm = wire.Ohm();
    for (const profile::Fault* fault : faults_) {
      const auto* open = fault->As<fault::Open>();
      if (open != nullptr && open->wire >= 0) {
        if (&Nth(bench_.wires, open->wire) == &wire) return std::nullopt;
        continue;
      }
      if (fault->at != wire.circuit || contacts_.contains(fault->at)) continue;
      if (open != nullptr) return std::nullopt;
      if (const auto* more = fault->As<fault::SeriesResistance>()) ohm += more->ohm;
    }
    return ohm;
  }

  // A terminal's wire end, or a splice; kNoNode for other names.
  int HarnessNode(const std::string& name) const {
    return network_.Find(contacts_.contains(name) ? name + "~" : name);
  }

  int Pin(const std::string& terminal) const {
    const auto entry = contacts_.find(terminal);
    assert(entry != contacts_.end());  // the loader has checked
    return entry->second.pin;
  }

  // Of a supply by its name, of a 5 V output by its terminal.
  double VoltsOf(const std::string& name, double volts) const {
    for (const profile::Fault* fault : faults_) {
      const auto* off = fault->As<fault::SupplyOff>();
      if (off != nullptr && fault->at == name) volts += off->volts;
    }
    return volts;
  }

  void JoinSupplies() {
    for (const profile::Supply& supply : bench_.supplies) {
      network_.Drive(Pin(supply.plus), Pin(supply.minus), VoltsOf(supply.name, supply.voltage_v),
                     supply.series_ohm);
    }
    for (const profile::Load& load : bench_.loads) {
      network_.Join(Pin(load.plus), Pin(load.minus), load.ohm);
    }
  }

  void JoinShorts() {
    for (const profile::Fault* f : faults_) {
      profile::VisitInto<profile::Into::kHarness>(*f, [&](const auto& kind) {
        const int at = HarnessNode(f->at);
        const Short found = ShortOf(*f, kind);
        if (at != kNoNode && found.to != kNoNode) network_.Join(at, found.to, found.ohm);
      });
    }
  }

  // To which node; kNoNode when the fault is no short.
  struct Short {
    int to = kNoNode;
    double ohm = 0;
  };
  Short ShortOf(const profile::Fault& /*f*/, const fault::ShortToGround& kind) const {
    return {0, kind.ohm};
  }
  Short ShortOf(const profile::Fault& /*f*/, const fault::ShortToSupply& kind) const {
    return {bench_.supplies.empty() ? kNoNode : Pin(bench_.supplies.front().plus), kind.ohm};
  }
  Short ShortOf(const profile::Fault& f, const fault::ShortTogether& kind) const {
    return {HarnessNode(f.with), kind.ohm};
  }
  Short ShortOf(const profile::Fault& f, const fault::Leakage& kind) const {
    return {f.with.empty() ? 0 : HarnessNode(f.with), kind.ohm};
  }
  Short ShortOf(const profile::Fault& /*f*/, const fault::Open& /*kind*/) const { return {}; }
  Short ShortOf(const profile::Fault& /*f*/, const fault::SeriesResistance& /*kind*/) const {
    return {};
  }
  Short ShortOf(const profile::Fault& /*f*/, const fault::GroundOffset& /*kind*/) const {
    return {};
  }
  Short ShortOf(const profile::Fault& /*f*/, const fault::SupplyOff& /*kind*/) const { return {}; }
  Short ShortOf(const profile::Fault& /*f*/, const fault::NotPlugged& /*kind*/) const { return {}; }
  Short ShortOf(const profile::Fault& /*f*/, const fault::RelayStays& /*kind*/) const { return {}; }
  Short ShortOf(const profile::Fault& /*f*/, const fault::Termination& /*kind*/) const {
    return {};
  }
  Short ShortOf(const profile::Fault& /*f*/, const fault::TerminalsSwapped& /*kind*/) const {
    return {};
  }
  Short ShortOf(const profile::Fault& /*f*/, const fault::ConnectorsSwapped& /*kind*/) const {
    return {};
  }

  void JoinController() {
    if (!bench_.controller) return;
    const profile::Controller& controller = *bench_.controller;
    const int ground = Pin(controller.ground);
    controller_supply_ = {Pin(controller.supply), ground};
    network_.Join(controller_supply_.plus, ground, controller.supply_ohm);
    for (const std::string& terminal : controller.more_supplies) {
      network_.Join(Pin(terminal), controller_supply_.plus, kJoinedPinOhm);
    }
    for (const std::string& terminal : controller.more_grounds) {
      network_.Join(Pin(terminal), ground, kJoinedPinOhm);
    }
    for (const std::string& terminal : controller.sensor_grounds) {
      network_.Join(Pin(terminal), ground, kSensorGroundOhm);
    }
    for (const profile::ReferenceOutput& output : controller.references) {
      references_.push_back({Pin(output.terminal), ground});
      if (output.limit_ma > 0) continue;  // PlaceLimited
      network_.Drive(Pin(output.terminal), ground, VoltsOf(output.terminal, output.voltage_v),
                     output.series_ohm);
    }
    for (const profile::InputCircuit& input : controller.inputs) JoinInput(input, ground);
  }

  // Terminations, and what holds a pair at 2.5 V while nobody drives it.
  void JoinBuses() {
    for (const profile::Bus& bus : bench_.buses) {
      for (const profile::BusNode& node : bus.nodes) {
        const int high = Pin(node.high), low = Pin(node.low);
        const double ohm = TerminationOf(bus, node);
        if (ohm > 0) network_.Join(high, low, ohm);
        for (const int pin : {high, low}) network_.Drive(pin, 0, kRecessiveV, kTransceiverOhm);
      }
    }
  }

  double TerminationOf(const profile::Bus& bus, const profile::BusNode& node) const {
    double ohm = node.termination_ohm;
    for (const profile::Fault* f : faults_) {
      const auto* other = f->As<fault::Termination>();
      if (other != nullptr && f->at == profile::NodeName(bus, node)) ohm = other->ohm;
    }
    return ohm;
  }

  void JoinInput(const profile::InputCircuit& input, int ground) {
    const int plus = Pin(input.terminal);
    const int minus = input.minus.empty() ? ground : Pin(input.minus);
    inputs_.push_back({plus, minus});
    network_.Join(plus, minus, input.input_ohm);
    if (minus != ground) {
      network_.Join(plus, ground, kBiasOhm);
      network_.Join(minus, ground, kBiasOhm);
    }
    if (input.pull_up_ohm > 0) network_.Drive(plus, ground, input.pull_up_v, input.pull_up_ohm);
  }

  void PlaceDevices() {
    for (const profile::Trigger& trigger : bench_.triggers) {
      Place(trigger.name, trigger.fitted, trigger.pickup);
    }
    for (const profile::Sensor& sensor : bench_.sensors)
      Place(sensor.name, sensor.fitted, sensor.model);
  }

  template <class Variant>
  void Place(const std::string& name, bool fitted, const Variant& device) {
    Branch branch;
    if (fitted && IsFitted(name))
      std::visit([&](const auto& model) { branch = Connect(model); }, device);
    branches_.push_back(branch);
  }

  void PlaceRelay(const profile::Relay& relay) {
    const int plus = Pin(relay.coil_plus), minus = Pin(relay.coil_minus);
    network_.Join(plus, minus, relay.coil_ohm);
    if (relay.suppression == profile::Suppression::kResistor) {
      network_.Join(plus, minus, relay.suppression_ohm);
    }
    RelayBranches& at = relays_.emplace_back();
    at.normally_open = PlaceContact(relay, relay.normally_open, false);
    if (!relay.normally_closed.empty()) {
      at.normally_closed = PlaceContact(relay, relay.normally_closed, true);
    }
    if (relay.suppression == profile::Suppression::kDiode) {
      PlaceDiode(relay.coil_minus, relay.coil_plus, kSuppressionV);
    }
  }

  // The branch's number.
  int PlaceContact(const profile::Relay& relay, const std::string& terminal, bool rests_closed) {
    Branch branch;
    const std::optional<fault::RelayPosition> stays = PositionOf(relay);
    if (!stays) {
      branch = TwoWire(BranchKind::kContact, relay.common, terminal, relay.contact_ohm);
      branch.off_ohm = kOpenContactOhm;
      branch.supply = Pin(relay.coil_plus);
      branch.ground = Pin(relay.coil_minus);
      branch.min_supply_v = relay.pulls_in_v;
      branch.rests_closed = rests_closed;
    } else if ((*stays == fault::RelayPosition::kOn) != rests_closed) {
      network_.Join(Pin(relay.common), Pin(terminal), relay.contact_ohm);
    }
    branches_.push_back(branch);
    return static_cast<int>(branches_.size()) - 1;
  }

  // Nothing while it moves.
  std::optional<fault::RelayPosition> PositionOf(const profile::Relay& relay) const {
    for (const profile::Fault* f : faults_) {
      const auto* stays = f->As<fault::RelayStays>();
      if (stays != nullptr && f->at == relay.name) return stays->stays;
    }
    return std::nullopt;
  }

  void PlaceDiode(const std::string& anode, const std::string& cathode, double forward_v) {
    Branch branch = TwoWire(BranchKind::kDiode, anode, cathode, kDiodeOhm);
    branch.diode_v = forward_v;
    branches_.push_back(branch);
  }

  void PlaceLimited() {
    if (!bench_.controller) return;
    for (const profile::ReferenceOutput& output : bench_.controller->references) {
      if (output.limit_ma <= 0) continue;
      Branch branch = TwoWire(BranchKind::kLimited, output.terminal, bench_.controller->ground,
                              std::max(output.series_ohm, kLeastOhm));
      branch.limit_a = output.limit_ma * 1e-3;
      branch.diode_v = VoltsOf(output.terminal, output.voltage_v) - branch.ohm * branch.limit_a;
      branches_.push_back(branch);
    }
  }

  bool IsFitted(const std::string& device) const {
    for (const profile::Fault* fault : faults_) {
      if (fault->Is<fault::NotFitted>() && fault->at == device) return false;
    }
    return true;
  }

  Branch TwoWire(BranchKind kind, const std::string& plus, const std::string& minus, double ohm) {
    Branch branch;
    branch.kind = kind;
    branch.plus = Pin(plus);
    branch.minus = Pin(minus);
    branch.ohm = ohm;
    return branch;
  }

  template <class Model>
  Branch ThreeWire(BranchKind kind, const Model& model, double ohm) {
    Branch branch = TwoWire(kind, model.signal, model.ground, ohm);
    branch.supply = Pin(model.supply);
    branch.ground = branch.minus;
    branch.min_supply_v = model.min_supply_v;
    network_.Join(branch.supply, branch.ground, model.supply_ohm);
    return branch;
  }

  Branch Connect(const profile::HallPickup& hall) {
    Branch branch = ThreeWire(BranchKind::kTransistor, hall, hall.on_ohm);
    branch.off_ohm = hall.off_ohm;
    branch.diode_v = hall.diode_v;
    return branch;
  }
  Branch Connect(const profile::FrequencySensor& sensor) { return Connect(sensor.output); }
  Branch Connect(const profile::RatiometricSensor& sensor) {
    return ThreeWire(BranchKind::kFraction, sensor, sensor.output_ohm);
  }
  Branch Connect(const profile::VoltageSensor& sensor) {
    return ThreeWire(BranchKind::kVoltage, sensor, sensor.output_ohm);
  }
  Branch Connect(const profile::VariableReluctancePickup& coil) {
    return TwoWire(BranchKind::kEmf, coil.plus, coil.minus, coil.coil_ohm);
  }
  Branch Connect(const profile::TypeKSensor& sensor) {
    return TwoWire(BranchKind::kEmf, sensor.plus, sensor.minus, sensor.loop_ohm);
  }
  Branch Connect(const profile::NtcSensor& sensor) { return Resistor(sensor.plus, sensor.minus); }
  Branch Connect(const profile::PlatinumSensor& sensor) {
    return Resistor(sensor.plus, sensor.minus);
  }
  Branch Connect(const profile::SwitchSensor& sensor) {
    return Resistor(sensor.plus, sensor.minus);
  }
  Branch Resistor(const std::string& plus, const std::string& minus) {
    return TwoWire(BranchKind::kResistor, plus, minus, 0);
  }

  const profile::Bench& bench_;
  std::span<const profile::Fault* const> faults_;
  Network network_;
  std::map<std::string, Contact> contacts_;  // by terminal
  std::vector<Branch> branches_;
  std::vector<RelayBranches> relays_;
  std::vector<NodePair> inputs_;
  NodePair controller_supply_;
  std::vector<NodePair> references_;
};

}  // namespace

Topology MakeTopology(const profile::Bench& bench, std::span<const profile::Fault* const> faults) {
  return Builder(bench, faults).Build();
}

}  // namespace drycrank::harness
