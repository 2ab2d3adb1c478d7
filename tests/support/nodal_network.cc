// SPDX-License-Identifier: Apache-2.0
#include "tests/support/nodal_network.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>
#include <stdexcept>
#include <string>
#include <utility>

#include "profile/sensors.h"
#include "profile/triggers.h"
#include "tests/support/nodal_elements.h"

namespace drycrank::support {
namespace {

constexpr double kContactOhm = 0.005, kJoinedPinOhm = 0.005, kSensorGroundOhm = 0.02;
constexpr double kLeakOhm = 1e9, kOffOhm = 1e6, kDiodeOhm = 1;

// mohm per metre: IEC 60228 classes 5 and 6, and the printed wire table of ASTM B258
// (tests/reference/wire_resistance.csv).
double MohmPerM(const std::string& gauge) {
  static const std::map<std::string, double> kTable = {
      {"0.34 mm2", 53},  {"0.5 mm2", 39},   {"0.75 mm2", 26},   {"1 mm2", 19.5},
      {"1.5 mm2", 13.3}, {"2.5 mm2", 7.98}, {"20 AWG", 33.301}, {"18 AWG", 20.948}};
  return kTable.at(gauge);
}

// An output with a supply, as it may be.
struct Coil {
  int plus = 0, minus = 0;
  double pulls_in_v = 0;
  bool pulled = false;
};

struct Valve {  // a diode
  int anode = 0, cathode = 0;
  double knee_v = 0;
  bool conducts = false;
};

struct Output {
  int supply = 0, ground = 0, signal = 0;
  double least_v = 0;
  double knee_v = std::numeric_limits<double>::infinity();  // of a diode from ground to signal
  bool supplied = false, diode = false;
};

class Network {
 public:
  Network(const profile::Bench& bench, const Departure& departure, SolvedBy by)
      : bench_(bench), departure_(departure), by_(by) {
    PlaceNodes();
    PlaceParts();
  }

  Volts Solve(const std::vector<double>& stimuli, bool crank_on) {
    for (int pass = 0; pass < 40; ++pass) {
      const std::vector<double> v = SolveOnce(stimuli, crank_on);
      if (!Update(v)) return Measure(v);
    }
    throw std::logic_error("the outputs find no state");
  }

 private:
  // Pins, which have two neighbours, come before splices: fewer sums.
  void PlaceNodes() {
    for (const profile::Connector& connector : bench_.connectors) {
      for (const std::string& pin : connector.pins) Place(connector.name + "." + pin);
    }
    for (const profile::Connector& connector : bench_.connectors) {
      for (const std::string& pin : connector.pins) Place(connector.name + "." + pin + "~");
    }
    for (const std::string& splice : bench_.splices) Place(splice);
  }
  // As power comes: no coil is pulled in, no diode conducts.
  void PlaceParts() {
    for (const profile::Relay& relay : bench_.relays) {
      coils_.push_back({Node(relay.coil_plus), Node(relay.coil_minus), relay.pulls_in_v});
      if (relay.suppression == profile::Suppression::kDiode) {
        valves_.push_back({Node(relay.coil_minus), Node(relay.coil_plus), 0.7});
      }
    }
    for (const profile::Diode& diode : bench_.diodes) {
      valves_.push_back({Node(diode.anode), Node(diode.cathode), diode.forward_v});
    }
    std::set<std::string> in_line;
    for (const profile::Connector& connector : bench_.connectors) {
      if (!connector.in_line) continue;
      for (const std::string& pin : connector.pins) in_line.insert(connector.name + "." + pin);
    }
    for (std::size_t w = 0; w < bench_.wires.size(); ++w) {
      for (const std::string& end : {bench_.wires[w].from, bench_.wires[w].to}) {
        if (in_line.erase(end) > 0) at_pin_.insert({w, end});
      }
    }
  }
  int EndOf(std::size_t w, const std::string& end) const {
    const bool at_pin = bench_.wires[w].fuse_a > 0 || at_pin_.contains({w, end});
    return at_pin ? Node(end) : End(end);
  }

  void Place(const std::string& name) {
    if (name == bench_.supplies[0].minus) {
      nodes_[name] = kEarth;
    } else {
      nodes_[name] = count_++;
    }
  }
  int Node(const std::string& name) const { return nodes_.at(name); }
  // Where the end of a wire sits that belongs there.
  int End(const std::string& name) const {
    if (name.find('.') == std::string::npos) return Node(name);
    for (const auto& [a, b] : departure_.swapped) {
      if (name == a) return Node(b + "~");
      if (name == b) return Node(a + "~");
    }
    return Node(name + "~");
  }

  std::vector<double> SolveOnce(const std::vector<double>& stimuli, bool crank_on) {
    Elements e(count_);
    for (int n = 0; n < count_; ++n) e.Resistor(n, kEarth, kLeakOhm);
    JoinHarness(e);
    JoinParts(e);
    JoinController(e);
    std::size_t output = 0;
    for (const profile::Trigger& trigger : bench_.triggers) {
      JoinHall(e, std::get<profile::HallPickup>(trigger.pickup), crank_on, OutputAt(output++));
    }
    for (const profile::Sensor& sensor : bench_.sensors) JoinSensor(e, sensor, stimuli, output);
    return by_ == SolvedBy::kGauss ? e.SolveByGauss() : e.SolveByNgspice();
  }

  template <class Key>
  static double At(const std::map<Key, double>& map, const Key& key, double otherwise) {
    const auto at = map.find(key);
    return at == map.end() ? otherwise : at->second;
  }

  void JoinContact(Elements& e, const std::string& terminal) const {
    if (departure_.cut.contacts.contains(terminal)) return;
    const double ohm = At(departure_.contact_ohm, terminal, kContactOhm) +
                       At(departure_.contact_more_ohm, terminal, 0.0);
    e.Source(Node(terminal), Node(terminal + "~"), At(departure_.contact_source_v, terminal, 0.0),
             ohm);
  }

  void JoinHarness(Elements& e) const {
    for (const profile::Connector& connector : bench_.connectors) {
      for (const std::string& pin : connector.pins) JoinContact(e, connector.name + "." + pin);
    }
    for (std::size_t w = 0; w < bench_.wires.size(); ++w) {
      const profile::Wire& wire = bench_.wires[w];
      const int index = static_cast<int>(w);
      if (!wire.fitted || departure_.cut.wires.contains(index)) continue;
      const double ohm =
          (wire.fuse_a > 0 ? wire.mohm_per_m : wire.length_m * MohmPerM(wire.gauge)) * 1e-3;
      e.Resistor(
          EndOf(w, wire.from), EndOf(w, wire.to),
          ohm * At(departure_.wire_factor, index, 1.0) + At(departure_.wire_more_ohm, index, 0.0));
    }
    for (const profile::Supply& supply : bench_.supplies) {
      const double volts = supply.voltage_v + departure_.supply_more_v;
      e.Source(Node(supply.plus), Node(supply.minus), volts, supply.series_ohm);
    }
    for (const profile::Load& load : bench_.loads) {
      e.Resistor(Node(load.plus), Node(load.minus), load.ohm);
    }
    for (const Bridge& bridge : departure_.bridges) {
      e.Resistor(Node(bridge.a), Node(bridge.b), bridge.ohm);
    }
  }

  void JoinParts(Elements& e) const {
    for (std::size_t r = 0; r < bench_.relays.size(); ++r) {
      const profile::Relay& relay = bench_.relays[r];
      e.Resistor(coils_[r].plus, coils_[r].minus, relay.coil_ohm);
      if (relay.suppression == profile::Suppression::kResistor) {
        e.Resistor(coils_[r].plus, coils_[r].minus, relay.suppression_ohm);
      }
      const auto stays = departure_.relays.find(relay.name);
      const bool on =
          stays == departure_.relays.end() ? coils_[r].pulled : stays->second == Stays::kOn;
      const auto contact = [&](const std::string& to, bool closed) {
        if (!to.empty()) e.Resistor(Node(relay.common), Node(to), closed ? relay.contact_ohm : 1e9);
      };
      contact(relay.normally_open, on);
      contact(relay.normally_closed, !on);
    }
    for (const Valve& valve : valves_) {
      if (valve.conducts) {
        e.Source(valve.anode, valve.cathode, valve.knee_v, kDiodeOhm);
      } else {
        e.Resistor(valve.anode, valve.cathode, kOffOhm);
      }
    }
  }

  void JoinController(Elements& e) const {
    const profile::Controller& c = *bench_.controller;
    const int ground = Node(c.ground), supply = Node(c.supply);
    e.Resistor(supply, ground, c.supply_ohm);
    for (const auto& pin : c.more_supplies) e.Resistor(Node(pin), supply, kJoinedPinOhm);
    for (const auto& pin : c.more_grounds) e.Resistor(Node(pin), ground, kJoinedPinOhm);
    for (const auto& pin : c.sensor_grounds) e.Resistor(Node(pin), ground, kSensorGroundOhm);
    for (const auto& reference : c.references) {
      e.Source(Node(reference.terminal), ground, reference.voltage_v + departure_.reference_more_v,
               reference.series_ohm);
    }
    for (const auto& input : c.inputs) {
      e.Resistor(Node(input.terminal), ground, input.input_ohm);
      if (input.pull_up_ohm > 0) {
        const double factor = At(departure_.pull_up_factor, input.terminal, 1.0);
        e.Source(Node(input.terminal), ground, input.pull_up_v, input.pull_up_ohm * factor);
      }
    }
  }

  // The first pass begins with nothing supplied, as power comes.
  Output& OutputAt(std::size_t index) {
    if (index >= outputs_.size()) outputs_.emplace_back();
    return outputs_[index];
  }

  // What the sensor takes its quantity for.
  static double Felt(const profile::Sensor& sensor, const SensorDeparture& as, double quantity) {
    const double x = as.stuck.value_or(std::clamp(quantity, sensor.min, sensor.max));
    const double span = sensor.max - sensor.min, middle = (sensor.max + sensor.min) / 2;
    return x + as.offset + as.gain * (x - middle) +
           4 * as.bend * (x - sensor.min) / span * (sensor.max - x) / span;
  }

  void JoinSensor(Elements& e, const profile::Sensor& sensor, const std::vector<double>& stimuli,
                  std::size_t& output) {
    const auto found = departure_.sensors.find(sensor.name);
    const SensorDeparture as =
        found == departure_.sensors.end() ? SensorDeparture{} : found->second;
    const profile::SensorModel& model = as.other ? *as.other : sensor.model;
    const double value = Felt(sensor, as, stimuli[static_cast<std::size_t>(sensor.stimulus)]);
    const auto* pressure = std::get_if<profile::RatiometricSensor>(&model);
    if (pressure != nullptr) {
      Output& own = OutputAt(output++);
      if (!as.missing) JoinPressure(e, *pressure, value, own);
    } else if (!as.missing) {
      JoinResistance(e, model, value);
    }
  }

  void JoinPressure(Elements& e, const profile::RatiometricSensor& m, double value,
                    Output& output) const {
    output.supply = Node(m.supply);
    output.ground = Node(m.ground);
    output.signal = Node(m.signal);
    output.least_v = m.min_supply_v;
    e.Resistor(output.supply, output.ground, m.supply_ohm);
    if (!output.supplied) return e.Resistor(output.signal, output.ground, kOffOhm);
    const double share = m.low_fraction + (value - m.low_value) / (m.high_value - m.low_value) *
                                              (m.high_fraction - m.low_fraction);
    e.Share(output.signal, output.ground, output.supply,
            std::clamp(share, m.min_fraction, m.max_fraction), m.output_ohm);
  }

  void JoinHall(Elements& e, const profile::HallPickup& hall, bool on, Output& output) const {
    output.supply = Node(hall.supply);
    output.ground = Node(hall.ground);
    output.signal = Node(hall.signal);
    output.least_v = hall.min_supply_v;
    e.Resistor(output.supply, output.ground, hall.supply_ohm);
    e.Resistor(output.signal, output.ground, output.supplied && on ? hall.on_ohm : hall.off_ohm);
    output.knee_v = hall.diode_v;
    if (output.diode) e.Source(output.signal, output.ground, -hall.diode_v, kDiodeOhm);
  }

  void JoinResistance(Elements& e, const profile::SensorModel& model, double value) const {
    if (const auto* ntc = std::get_if<profile::NtcSensor>(&model)) {
      const auto& curve = std::get<profile::BetaNtc>(ntc->curve);
      const double ohm =
          curve.r25_ohm * std::exp(curve.beta_k * (1 / (value + 273.15) - 1 / 298.15));
      e.Resistor(Node(ntc->plus), Node(ntc->minus), ohm);
    } else if (const auto* platinum = std::get_if<profile::PlatinumSensor>(&model)) {
      // IEC 60751, 4.2
      const double below = value < 0 ? -4.183e-12 * (value - 100) * std::pow(value, 3) : 0;
      const double ratio = 1 + 3.9083e-3 * value - 5.775e-7 * value * value + below;
      e.Resistor(Node(platinum->plus), Node(platinum->minus), platinum->r0_ohm * ratio);
    } else {
      const auto& contact = std::get<profile::SwitchSensor>(model);
      const bool closed =
          contact.closed_above ? value >= contact.closed_at : value <= contact.closed_at;
      e.Resistor(Node(contact.plus), Node(contact.minus),
                 closed ? contact.closed_ohm : contact.open_ohm);
    }
  }

  static double Across(const std::vector<double>& v, int a, int b) {
    const auto at = [&](int node) {
      return node == kEarth ? 0 : v[static_cast<std::size_t>(node)];
    };
    return at(a) - at(b);
  }

  bool Update(const std::vector<double>& v) {
    bool changed = false;
    for (Coil& coil : coils_) {
      const bool pulled = std::abs(Across(v, coil.plus, coil.minus)) >= coil.pulls_in_v;
      changed = changed || pulled != coil.pulled;
      coil.pulled = pulled;
    }
    for (Valve& valve : valves_) {
      const bool conducts = Across(v, valve.anode, valve.cathode) > valve.knee_v;
      changed = changed || conducts != valve.conducts;
      valve.conducts = conducts;
    }
    for (Output& output : outputs_) {
      const bool supplied = Across(v, output.supply, output.ground) >= output.least_v;
      const bool diode = Across(v, output.ground, output.signal) > output.knee_v + 1e-7;
      changed = changed || supplied != output.supplied || diode != output.diode;
      output.supplied = supplied;
      output.diode = diode;
    }
    return changed;
  }

  Volts Measure(const std::vector<double>& v) const {
    const profile::Controller& c = *bench_.controller;
    const int ground = Node(c.ground);
    Volts volts{Across(v, Node(c.supply), ground), {}, {}};
    for (const Bridge& bridge : departure_.bridges) {
      const double amperes = std::abs(Across(v, Node(bridge.a), Node(bridge.b))) / bridge.ohm;
      volts.most_bridge_a = std::max(volts.most_bridge_a, amperes);
    }
    for (const auto& reference : c.references) {
      volts.reference_v.push_back(Across(v, Node(reference.terminal), ground));
    }
    for (const auto& input : c.inputs) {
      volts.input_v.push_back(Across(v, Node(input.terminal), ground));
    }
    return volts;
  }

  const profile::Bench& bench_;
  const Departure& departure_;
  const SolvedBy by_;
  std::map<std::string, int> nodes_;
  int count_ = 0;
  std::set<std::pair<std::size_t, std::string>> at_pin_;  // wires' ends at a pin itself
  std::vector<Coil> coils_;   // per relay
  std::vector<Valve> valves_;
  std::vector<Output> outputs_;
};

}  // namespace

Volts VoltsOf(const profile::Bench& bench, const Departure& departure,
              const std::vector<double>& stimuli, bool crank_on, SolvedBy by) {
  return Network(bench, departure, by).Solve(stimuli, crank_on);
}

}  // namespace drycrank::support
