// SPDX-License-Identifier: Apache-2.0
#include "diagnose/hypothesis.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <set>
#include <span>

#include "profile/bus_nodes.h"
#include "profile/device_leads.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Bench;
using profile::Fault;
using profile::FaultKind;

constexpr double kShortOhm = 0.1;
constexpr double kWeakShare = 0.2;
// ISO 11898-2, and a resistor of another decade in its place (common practice, no source).
constexpr double kTerminationOhm = 120, kWrongTerminationOhm = 1000;

Fault Make(const FaultKind& kind, const std::string& at, const std::string& with = "") {
  Fault fault;
  fault.kind = kind;
  fault.at = at;
  fault.with = with;
  fault.name = with.empty() ? fmt::format("{} {}", profile::Name(kind), at)
                            : fmt::format("{} {} {}", profile::Name(kind), at, with);
  return fault;
}

class Builder {
 public:
  explicit Builder(const Bench& bench) : bench_(bench) {
    for (const profile::Wire& wire : bench.wires) {
      if (!wire.fitted) continue;  // what is on paper only cannot break
      wired_.insert(wire.from);
      wired_.insert(wire.to);
    }
  }

  std::vector<Hypothesis> Build() {
    Wiring();
    Connectors();
    PlugsOff();
    Relays();
    Terminations();
    Devices();
    Channels();
    Gauges();
    Messages();
    return std::move(all_);
  }

 private:
  // By the kind's name in words: "wire open" is wire_open.
  double PriorOf(std::string kind) const {
    std::replace(kind.begin(), kind.end(), ' ', '_');
    return profile::PriorOf(bench_.fault_priors, kind);
  }
  void Add(const char* kind, std::vector<Fault> faults) { Add(kind, PriorOf(kind), faults); }
  void Add(const char* kind, double prior, std::vector<Fault> faults) {
    all_.push_back({std::move(faults), kind, prior, Quantity::kNone, 0, 0, 0});
  }
  // One hypothesis per value of the grid; a grid point's neighbours bound its refinement.
  void AddGrid(const char* kind, Quantity quantity, const Fault& fault,
               const std::vector<double>& grid) {
    for (std::size_t i = 0; i < grid.size(); ++i) {
      Hypothesis h{{fault}, kind, PriorOf(kind), quantity, 0, 0, 0};
      h.low = i == 0 ? grid[0] : grid[i - 1];
      h.high = i + 1 == grid.size() ? grid[i] : grid[i + 1];
      all_.push_back(WithValue(h, grid[i]));
    }
  }

  bool IsTerminal(const std::string& name) const { return name.find('.') != std::string::npos; }

  void Wiring() {
    std::set<std::string> circuits;
    for (const profile::Wire& wire : bench_.wires) {
      if (!wire.fitted || !circuits.insert(wire.circuit).second) continue;
      Add(wire.IsFuse() ? "fuse blown" : "wire open", {Make(fault::Open{}, wire.circuit)});
    }
    for (const std::string& terminal : wired_) {
      if (!IsTerminal(terminal)) continue;
      Add("contact open", {Make(fault::Open{}, terminal)});
      AddGrid("series resistance", Quantity::kOhm, Make(fault::SeriesResistance{}, terminal),
              {3, 30, 300, 3e3, 30e3});
    }
    for (const profile::Wire& wire : bench_.wires) {
      if (!wire.fitted || wire.IsFuse()) continue;
      const std::string& end = IsTerminal(wire.from) ? wire.from : wire.to;
      Add("short to ground", {Make(fault::ShortToGround{kShortOhm}, end)});
      Add("short to supply", {Make(fault::ShortToSupply{kShortOhm}, end)});
    }
    for (const std::string& splice : bench_.splices) {
      std::vector<Fault> cut;
      for (const profile::Wire& wire : bench_.wires) {
        if (wire.from == splice || wire.to == splice) {
          cut.push_back(Make(fault::Open{}, wire.circuit));
        }
      }
      if (cut.size() > 1) Add("splice broken open", std::move(cut));
    }
  }

  void Connectors() {
    for (const profile::Connector& connector : bench_.connectors) {
      std::vector<std::string> pins;
      for (const std::string& pin : connector.pins) {
        const std::string terminal = connector.name + "." + pin;
        if (wired_.contains(terminal)) pins.push_back(terminal);
      }
      const double swapped =
          PriorOf(pins.size() <= 4 ? "terminals_swapped" : "terminals_of_large_connector_swapped");
      for (std::size_t i = 0; i < pins.size(); ++i) {
        for (std::size_t k = i + 1; k < pins.size(); ++k) {
          Add("terminals swapped", swapped, {Make(fault::TerminalsSwapped{}, pins[i], pins[k])});
        }
      }
      for (std::size_t i = 0; i + 1 < connector.pins.size(); ++i) {
        const std::string a = connector.name + "." + connector.pins[i];
        const std::string b = connector.name + "." + connector.pins[i + 1];
        if (!wired_.contains(a) || !wired_.contains(b)) continue;
        Add("neighbours shorted", {Make(fault::ShortTogether{kShortOhm}, a, b)});
      }
    }
    for (std::size_t i = 0; i < bench_.connectors.size(); ++i) {
      for (std::size_t k = i + 1; k < bench_.connectors.size(); ++k) {
        const auto& a = bench_.connectors[i];
        const auto& b = bench_.connectors[k];
        if (a.family.empty() || a.family != b.family) continue;
        Add("connectors swapped", {Make(fault::ConnectorsSwapped{}, a.name, b.name)});
      }
    }
  }

  // Those of sensors are "not fitted", and without the controller's nothing is said at all.
  void PlugsOff() {
    const std::set<std::string> others = PlugsOfDevices();
    for (const profile::Connector& connector : bench_.connectors) {
      const auto is_wired = [&](const std::string& pin) {
        return wired_.contains(connector.name + "." + pin);
      };
      if (others.contains(connector.name) || std::ranges::count_if(connector.pins, is_wired) < 2) {
        continue;
      }
      Add("plug off", {Make(fault::NotPlugged{}, connector.name)});
    }
  }

  std::set<std::string> PlugsOfDevices() const {
    std::set<std::string> plugs;
    const auto add = [&](const std::string& terminal) {
      plugs.insert(terminal.substr(0, terminal.find('.')));
    };
    const auto add_all = [&](const profile::DeviceLeads& leads) {
      for (const std::string& terminal : leads.terminals()) add(terminal);
    };
    for (const auto& trigger : bench_.triggers) add_all(profile::LeadsOf(trigger.pickup));
    for (const auto& sensor : bench_.sensors) add_all(profile::LeadsOf(sensor.model));
    for (const auto& supply : bench_.supplies) add(supply.plus), add(supply.minus);
    if (bench_.controller) add(bench_.controller->supply), add(bench_.controller->ground);
    return plugs;
  }

  void Relays() {
    for (const profile::Relay& relay : bench_.relays) {
      for (const auto stays : {fault::RelayPosition::kOff, fault::RelayPosition::kOn}) {
        Add("relay stays", {Make(fault::RelayStays{stays}, relay.name)});
      }
    }
  }

  // One gone, of another value, too many; all gone.
  void Terminations() {
    for (const profile::Bus& bus : bench_.buses) {
      std::vector<Fault> gone;
      for (const profile::BusNode& node : bus.nodes) {
        const std::string at = profile::NodeName(bus, node);
        if (node.termination_ohm == 0) {
          Add("termination too many", {Make(fault::Termination{kTerminationOhm}, at)});
          continue;
        }
        gone.push_back(Make(fault::Termination{}, at));
        Add("termination missing", {gone.back()});
        Add("termination wrong", {Make(fault::Termination{kWrongTerminationOhm}, at)});
      }
      if (gone.size() > 1) Add("terminations all missing", std::move(gone));
    }
  }

  void Devices() {
    for (const profile::Sensor& sensor : bench_.sensors) {
      if (!sensor.fitted) continue;
      Add("not fitted", {Make(fault::NotFitted{}, sensor.name)});
    }
    for (const profile::Trigger& trigger : bench_.triggers) {
      if (!trigger.fitted) continue;
      Add("not fitted", {Make(fault::NotFitted{}, trigger.name)});
      AddPickup(trigger);
      AddTeeth(trigger);
      // Crank degrees, early and late: from a tooth of a fine wheel to some of a cam belt.
      std::vector<double> grid;
      for (const double deg : {40., 30., 22., 16., 12., 8., 5., 3.}) grid.push_back(-deg);
      for (const double deg : {3., 5., 8., 12., 16., 22., 30., 40.}) grid.push_back(deg);
      AddGrid("wheel mounted wrong", Quantity::kDeg, Make(fault::WheelOffset{}, trigger.name),
              grid);
    }
  }

  // A coil the other way round is its leads swapped.
  void AddPickup(const profile::Trigger& trigger) {
    if (std::holds_alternative<profile::VariableReluctancePickup>(trigger.pickup)) {
      Add("pickup weak", {Make(fault::PickupStrength{kWeakShare}, trigger.name)});
    } else {
      Add("pickup inverted", {Make(fault::PickupInverted{}, trigger.name)});
    }
    if (trigger.advance_stimulus >= 0) AddStuck(trigger);
    const bool on_cam = trigger.shaft == profile::Shaft::kCam && bench_.engine.strokes == 4;
    if (on_cam) Add("wheel half a turn off", {Make(fault::WheelOffset{360}, trigger.name)});
  }
  // Over what the phaser can do.
  void AddStuck(const profile::Trigger& trigger) {
    const profile::Stimulus& advance = Nth(bench_.stimuli, trigger.advance_stimulus);
    std::vector<double> grid;
    for (const double share : {0.0, 0.25, 0.5, 0.75, 1.0}) {
      grid.push_back(advance.min + share * (advance.max - advance.min));
    }
    AddGrid("cam stuck", Quantity::kDeg, Make(fault::CamStuck{}, trigger.name), grid);
  }
  // One in the row, and those beside the gap, or beside the mark of an even wheel: they look
  // different.
  void AddTeeth(const profile::Trigger& trigger) {
    const int teeth = static_cast<int>(trigger.wheel.teeth.size());
    if (teeth == 0) return;
    const std::set<int> gone{1, 1 + teeth / 2, teeth};
    const double each = PriorOf("tooth_missing") / static_cast<double>(gone.size());
    for (const int tooth : gone) {
      Add("tooth missing", each, {Make(fault::ToothMissing{tooth}, trigger.name)});
    }
  }

  void Channels() {
    if (!bench_.controller) return;
    for (const profile::AnalogChannel& channel : bench_.controller->analog) {
      const Fault table = Make(fault::Calibration{}, channel.name);
      AddGrid("wrong calibration", Quantity::kGain, table,
              {0.3, 0.5, 0.7, 0.8, 0.9, 1.1, 1.25, 1.45, 2, 3});
      double low = 1e300, high = -1e300;
      for (const auto& [v, value] : channel.value_at_volts) {
        low = std::min(low, value);
        high = std::max(high, value);
      }
      std::vector<double> grid;
      for (const double share : {-.5, -.3, -.2, -.12, -.07, -.04, .04, .07, .12, .2, .3, .5}) {
        grid.push_back(share * (high - low));
      }
      AddGrid("wrong calibration", Quantity::kOffset, table, grid);
    }
  }

  // Of a gauge of which the display says nothing on the bus, no reading tells: its sweep does.
  bool IsTold(const profile::Gauge& gauge) const {
    const auto tells = [&](const profile::Message& message) {
      return message.sender == profile::Sender::kDisplay &&
             std::ranges::any_of(message.signals, [&](const profile::Signal& signal) {
               return signal.carries.starts_with(gauge.name + ".");
             });
    };
    return std::ranges::any_of(bench_.buses, [&](const profile::Bus& bus) {
      return std::ranges::any_of(bus.messages, tells);
    });
  }

  void Gauges() {
    if (!bench_.display) return;
    std::set<std::string> done;
    for (const profile::Gauge& gauge : bench_.display->gauges) {
      if (!IsTold(gauge)) continue;
      const std::string at = gauge.message + "." + gauge.signal;
      const profile::SignalRef ref = profile::FindSignal(bench_, at);
      if (ref.signal < 0 || !done.insert(at).second) continue;
      const profile::Signal& signal = profile::SignalAt(bench_, ref);
      const Fault layout = Make(fault::Layout{}, at);
      if (signal.length_bits > 8) {
        const bool big = signal.byte_order == profile::ByteOrder::kBig;
        const auto other = big ? profile::ByteOrder::kLittle : profile::ByteOrder::kBig;
        Add("display byte order", {Make(fault::Layout{other, {}, {}, {}}, at)});
      }
      std::vector<double> scales;
      for (const double factor : {0.01, 0.1, 0.25, 0.5, 0.75, 1.33, 2., 4., 10., 100.}) {
        scales.push_back(signal.scale * factor);
      }
      AddGrid("display scale", Quantity::kScale, layout, scales);
      const double most = signal.scale * std::pow(2.0, std::min(signal.length_bits, 12) - 2);
      AddGrid("display offset", Quantity::kOffset, layout,
              {signal.offset - most, signal.offset - most / 4, signal.offset - most / 16,
               signal.offset + most / 16, signal.offset + most / 4, signal.offset + most});
    }
  }

  void Messages() {
    for (const profile::Bus& bus : bench_.buses) {
      for (const profile::Message& message : bus.messages) {
        if (message.sender != profile::Sender::kController) continue;
        Add("message missing", {Make(fault::MessageMissing{}, message.name)});
      }
    }
  }

  const Bench& bench_;
  std::set<std::string> wired_;  // terminals and splices that a wire ends at
  std::vector<Hypothesis> all_;
};

// The quantity of a kind; kinds without one stay as they are.
void Set(fault::SeriesResistance& kind, Quantity /*quantity*/, double value) { kind.ohm = value; }
void Set(fault::ShortToGround& kind, Quantity /*quantity*/, double value) { kind.ohm = value; }
void Set(fault::ShortToSupply& kind, Quantity /*quantity*/, double value) { kind.ohm = value; }
void Set(fault::ShortTogether& kind, Quantity /*quantity*/, double value) { kind.ohm = value; }
void Set(fault::GroundOffset& kind, Quantity /*quantity*/, double value) { kind.volts = value; }
void Set(fault::SupplyOff& kind, Quantity /*quantity*/, double value) { kind.volts = value; }
void Set(fault::SensorOffset& kind, Quantity /*quantity*/, double value) { kind.value = value; }
void Set(fault::SensorStuck& kind, Quantity /*quantity*/, double value) { kind.value = value; }
void Set(fault::WheelOffset& kind, Quantity /*quantity*/, double value) { kind.deg = value; }
void Set(fault::CamStuck& kind, Quantity /*quantity*/, double value) { kind.deg = value; }
void Set(fault::Calibration& kind, Quantity quantity, double value) {
  if (quantity == Quantity::kSpan) {
    kind.gain = value;
    kind.value = kind.about * (1 - value);
    return;
  }
  (quantity == Quantity::kGain ? kind.gain : kind.value) = value;
}
void Set(fault::Told& kind, Quantity quantity, double value) {
  if (quantity != Quantity::kDeg) return;
  (kind.advance_deg    ? kind.advance_deg
   : kind.trailing_deg ? kind.trailing_deg
                       : kind.offset_deg) = value;
}
void Set(fault::Layout& kind, Quantity quantity, double value) {
  if (quantity == Quantity::kScale) kind.scale = value;
  if (quantity == Quantity::kOffset) kind.offset = value;
}
template <class Kind>
void Set(Kind& /*kind*/, [[maybe_unused]] Quantity quantity, double /*value*/) {
  assert(quantity == Quantity::kNone);
}

}  // namespace

Hypothesis Both(const Hypothesis& a, const Hypothesis& b) {
  if (a.faults.empty()) return b;
  Hypothesis both = a;
  both.kind = "two faults";
  both.prior = a.prior * b.prior;
  both.faults.insert(both.faults.end(), b.faults.begin(), b.faults.end());
  both.parts = {a, b};
  return both;
}

Hypothesis WithValue(const Hypothesis& hypothesis, double value) {
  Hypothesis h = hypothesis;
  h.value = value;
  if (!h.parts.empty()) h.parts[0] = WithValue(h.parts[0], value);
  const std::size_t own = h.parts.empty() ? h.faults.size() : h.parts[0].faults.size();
  for (Fault& fault : std::span(h.faults).first(own)) {
    std::visit([&](auto& kind) { Set(kind, h.quantity, value); }, fault.kind);
  }
  return h;
}

std::vector<Hypothesis> SingleFaults(const Bench& bench) { return Builder(bench).Build(); }

}  // namespace drycrank::diagnose
