// SPDX-License-Identifier: Apache-2.0
//
// The volts of nodal_world.h.
#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>

#include "profile/devices.h"
#include "tests/study/nodal_world.h"

namespace drycrank::study {
namespace {

constexpr double kContactOhm = 0.005, kJoinedPinOhm = 0.005, kSensorGroundOhm = 0.02;
constexpr double kLeakOhm = 1e9, kOffOhm = 1e6, kDiodeOhm = 1;
constexpr int kEarth = -1;

// mohm per metre: IEC 60228 classes 5 and 6, and the printed wire table of ASTM B258
// (tests/reference/wire_resistance.csv).
double MohmPerM(const std::string& gauge) {
  static const std::map<std::string, double> kTable = {
      {"0.34 mm2", 53},  {"0.5 mm2", 39},   {"0.75 mm2", 26},   {"1 mm2", 19.5},
      {"1.5 mm2", 13.3}, {"2.5 mm2", 7.98}, {"20 AWG", 33.301}, {"18 AWG", 20.948}};
  return kTable.at(gauge);
}

// G v = i, rows and columns without the earth.
class Equations {
 public:
  explicit Equations(std::size_t nodes) : n_(nodes), g_(nodes * nodes, 0), i_(nodes, 0) {}

  void Add(int row, int column, double siemens) {
    if (row != kEarth && column != kEarth) At(row, column) += siemens;
  }
  void Resistor(int a, int b, double ohm) {
    Add(a, a, 1 / ohm);
    Add(b, b, 1 / ohm);
    Add(a, b, -1 / ohm);
    Add(b, a, -1 / ohm);
  }
  // `volts` behind `ohm`, plus at a.
  void Source(int a, int b, double volts, double ohm) {
    Resistor(a, b, ohm);
    Inject(a, volts / ohm);
    Inject(b, -volts / ohm);
  }
  // share * (supply - ground) behind `ohm`, plus at signal.
  void Share(int signal, int ground, int supply, double share, double ohm) {
    Resistor(signal, ground, ohm);
    for (const auto& [row, sign] : {std::pair{signal, -1.0}, std::pair{ground, 1.0}}) {
      Add(row, supply, sign * share / ohm);
      Add(row, ground, -sign * share / ohm);
    }
  }

  std::vector<double> Solve() {
    for (std::size_t k = 0; k < n_; ++k) {
      Pivot(k);
      for (std::size_t row = k + 1; row < n_; ++row) {
        const double factor = g_[row * n_ + k] / g_[k * n_ + k];
        if (factor == 0) continue;
        for (std::size_t c = k; c < n_; ++c) g_[row * n_ + c] -= factor * g_[k * n_ + c];
        i_[row] -= factor * i_[k];
      }
    }
    for (std::size_t k = n_; k-- > 0;) {
      for (std::size_t c = k + 1; c < n_; ++c) i_[k] -= g_[k * n_ + c] * i_[c];
      i_[k] /= g_[k * n_ + k];
    }
    return i_;
  }

 private:
  double& At(int row, int column) {
    return g_[static_cast<std::size_t>(row) * n_ + static_cast<std::size_t>(column)];
  }
  void Inject(int node, double ampere) {
    if (node != kEarth) i_[static_cast<std::size_t>(node)] += ampere;
  }
  void Pivot(std::size_t k) {
    std::size_t best = k;
    for (std::size_t row = k + 1; row < n_; ++row) {
      if (std::abs(g_[row * n_ + k]) > 1.5 * std::abs(g_[best * n_ + k])) best = row;
    }
    if (best == k) return;
    for (std::size_t c = k; c < n_; ++c) std::swap(g_[k * n_ + c], g_[best * n_ + c]);
    std::swap(i_[k], i_[best]);
  }

  std::size_t n_;
  std::vector<double> g_, i_;
};

// An output with a supply, as it may be.
struct Output {
  int supply = 0, ground = 0, signal = 0;
  double least_v = 0;
  double knee_v = std::numeric_limits<double>::infinity();  // of a diode from ground to signal
  bool supplied = false, diode = false;
};

class Network {
 public:
  Network(const profile::Bench& bench, const Cut& cut) : bench_(bench), cut_(cut) { PlaceNodes(); }

  Volts Solve(const std::vector<double>& stimuli, bool crank_on) {
    for (int pass = 0; pass < 20; ++pass) {
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
  void Place(const std::string& name) {
    if (name == bench_.supplies[0].minus) {
      nodes_[name] = kEarth;
    } else {
      nodes_[name] = count_++;
    }
  }
  int Node(const std::string& name) const { return nodes_.at(name); }
  int End(const std::string& name) const {
    return name.find('.') == std::string::npos ? Node(name) : Node(name + "~");
  }

  std::vector<double> SolveOnce(const std::vector<double>& stimuli, bool crank_on) {
    Equations e(static_cast<std::size_t>(count_));
    for (int n = 0; n < count_; ++n) e.Resistor(n, kEarth, kLeakOhm);
    JoinHarness(e);
    JoinController(e);
    std::size_t output = 0;
    for (const profile::Trigger& trigger : bench_.triggers) {
      JoinHall(e, std::get<profile::HallPickup>(trigger.pickup), crank_on, OutputAt(output++));
    }
    for (const profile::Sensor& sensor : bench_.sensors) {
      const double value =
          std::clamp(stimuli[static_cast<std::size_t>(sensor.stimulus)], sensor.min, sensor.max);
      if (const auto* pressure = std::get_if<profile::RatiometricSensor>(&sensor.model)) {
        JoinPressure(e, *pressure, value, OutputAt(output++));
      } else {
        JoinResistance(e, sensor.model, value);
      }
    }
    return e.Solve();
  }

  void JoinHarness(Equations& e) const {
    for (const profile::Connector& connector : bench_.connectors) {
      for (const std::string& pin : connector.pins) {
        const std::string terminal = connector.name + "." + pin;
        if (cut_.contacts.contains(terminal)) continue;
        e.Resistor(Node(terminal), Node(terminal + "~"), kContactOhm);
      }
    }
    for (std::size_t w = 0; w < bench_.wires.size(); ++w) {
      const profile::Wire& wire = bench_.wires[w];
      if (!wire.fitted || cut_.wires.contains(static_cast<int>(w))) continue;
      const double ohm = wire.length_m * MohmPerM(wire.gauge) * 1e-3;
      e.Resistor(End(wire.from), End(wire.to), ohm);
    }
    for (const profile::Supply& supply : bench_.supplies) {
      e.Source(Node(supply.plus), Node(supply.minus), supply.voltage_v, supply.series_ohm);
    }
    for (const profile::Load& load : bench_.loads) {
      e.Resistor(Node(load.plus), Node(load.minus), load.ohm);
    }
  }

  void JoinController(Equations& e) const {
    const profile::Controller& c = *bench_.controller;
    const int ground = Node(c.ground), supply = Node(c.supply);
    e.Resistor(supply, ground, c.supply_ohm);
    for (const auto& pin : c.more_supplies) e.Resistor(Node(pin), supply, kJoinedPinOhm);
    for (const auto& pin : c.more_grounds) e.Resistor(Node(pin), ground, kJoinedPinOhm);
    for (const auto& pin : c.sensor_grounds) e.Resistor(Node(pin), ground, kSensorGroundOhm);
    for (const auto& reference : c.references) {
      e.Source(Node(reference.terminal), ground, reference.voltage_v, reference.series_ohm);
    }
    for (const auto& input : c.inputs) {
      e.Resistor(Node(input.terminal), ground, input.input_ohm);
      if (input.pull_up_ohm > 0) {
        e.Source(Node(input.terminal), ground, input.pull_up_v, input.pull_up_ohm);
      }
    }
  }

  // The first pass begins with nothing supplied, as power comes.
  Output& OutputAt(std::size_t index) {
    if (index >= outputs_.size()) outputs_.emplace_back();
    return outputs_[index];
  }

  void JoinPressure(Equations& e, const profile::RatiometricSensor& m, double value,
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

  void JoinHall(Equations& e, const profile::HallPickup& hall, bool on, Output& output) const {
    output.supply = Node(hall.supply);
    output.ground = Node(hall.ground);
    output.signal = Node(hall.signal);
    output.least_v = hall.min_supply_v;
    e.Resistor(output.supply, output.ground, hall.supply_ohm);
    e.Resistor(output.signal, output.ground, output.supplied && on ? hall.on_ohm : hall.off_ohm);
    output.knee_v = hall.diode_v;
    if (output.diode) e.Source(output.signal, output.ground, -hall.diode_v, kDiodeOhm);
  }

  void JoinResistance(Equations& e, const profile::SensorModel& model, double value) const {
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
    for (const auto& reference : c.references) {
      volts.reference_v.push_back(Across(v, Node(reference.terminal), ground));
    }
    for (const auto& input : c.inputs) {
      volts.input_v.push_back(Across(v, Node(input.terminal), ground));
    }
    return volts;
  }

  const profile::Bench& bench_;
  const Cut& cut_;
  std::map<std::string, int> nodes_;
  int count_ = 0;
  std::vector<Output> outputs_;
};

}  // namespace

Volts VoltsOf(const profile::Bench& bench, const Cut& cut, const std::vector<double>& stimuli,
              bool crank_on) {
  return Network(bench, cut).Solve(stimuli, crank_on);
}

}  // namespace drycrank::study
