// SPDX-License-Identifier: Apache-2.0
#include "tests/support/random_bench.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>
#include <vector>

#include "types/random.h"

namespace drycrank::support {
namespace {

constexpr const char* kGauges[] = {"0.34 mm2", "0.5 mm2", "0.75 mm2", "1 mm2",
                                   "1.5 mm2",  "2.5 mm2", "20 AWG",   "18 AWG"};
constexpr double kKelvin = 273.15;

class Drawer {
 public:
  explicit Drawer(std::uint64_t seed) : random_(seed, 0) {}

  RandomBench Draw() {
    crimped_ = Chance(0.35);
    plugs_ = Whole(2, 3);
    DrawController();
    const int sensors = Whole(3, 8);
    for (int i = 1; i <= sensors; ++i) DrawSensor(i);
    DrawLoads();
    WireAll();
    return {Text(), crimped_};
  }

 private:
  // ---- dice
  double Real(double low, double high) { return low + (high - low) * random_.Uniform(); }
  int Whole(int low, int high) {
    return low + static_cast<int>(random_.Next() % static_cast<std::uint64_t>(high - low + 1));
  }
  bool Chance(double share) { return random_.Uniform() < share; }
  template <class List>
  auto& AnyOf(List& list) {
    return list[static_cast<std::size_t>(Whole(0, static_cast<int>(std::size(list)) - 1))];
  }

  // ---- terminals
  std::string NewPin(const std::string& connector) {
    return fmt::format("{}.{}", connector, ++pins_[connector]);
  }
  std::string ControllerPin() { return NewPin(fmt::format("ECU{}", Whole(1, plugs_))); }
  std::vector<std::string> ControllerPins(int count) {
    std::vector<std::string> pins;
    for (int i = 0; i < count; ++i) pins.push_back(ControllerPin());
    return pins;
  }

  void DrawController() {
    supplies_ = ControllerPins(Whole(1, 2));
    grounds_ = ControllerPins(Whole(1, 3));
    sensor_grounds_ = ControllerPins(Whole(0, 2));
    references_ = ControllerPins(Chance(0.25) ? 2 : 1);
    feed_.assign(references_.size(), {});
    for (std::size_t i = 0; i < references_.size(); ++i) feed_[i].push_back(references_[i]);
    plus_ = supplies_;
    plus_.push_back(NewPin("BAT"));
    minus_ = grounds_;
    minus_.push_back(NewPin("BAT"));
  }

  // ---- sensors
  struct Told {
    std::vector<std::pair<double, double>> value_at_volts;
    double low_v = -1, high_v = 50;
  };

  void DrawSensor(int number) {
    const std::string connector = fmt::format("S{}", number);
    const double dice = random_.Uniform();
    if (dice < 0.4) {
      Thermistor(number, connector);
    } else if (dice < 0.5) {
      Platinum(number, connector);
    } else if (dice < 0.8) {
      Pressure(number, connector);
    } else {
      Switch(number, connector);
    }
  }

  void Stimulus(int number, const std::string& unit, double low, double high, double initial) {
    stimuli_ += fmt::format("  quantity_{}: {{unit: {}, min: {}, max: {}, initial: {}}}\n", number,
                            unit, low, high, initial);
  }

  void Channel(int number, const std::string& unit, const std::string& terminal, const Told& told,
               double low, double high, bool ratiometric) {
    std::string table;
    for (const auto& [volts, value] : told.value_at_volts) {
      table += fmt::format("{}[{}, {}]", table.empty() ? "" : ", ", volts, value);
    }
    const double fallback = unit == "count" ? Whole(0, 1) : Real(low, high);
    channels_ += fmt::format(
        "    value_{}: {{terminal: {}, unit: {}, value_at_volts: [{}], ratiometric: {}, low_v: {}, "
        "high_v: {}, fallback: {}, filter_ms: {}}}\n",
        number, terminal, unit, table, ratiometric, told.low_v, told.high_v, fallback,
        Chance(0.5) ? 0 : Real(5, 60));
    const double span = high - low;
    Carry(fmt::format("value_{}", number), unit, span / Real(8000, 30000), low - 0.3 * span);
    values_.push_back({fmt::format("value_{}.fault", number), 8, "", 1, 0});
  }

  void Carry(const std::string& value, const std::string& unit, double scale, double offset) {
    values_.push_back({value, Chance(0.3) ? 32 : 16, unit, scale, offset});
  }

  // Which of the sensor grounds; without any, the ground of all.
  std::vector<std::string>& GroundNet() {
    if (sensor_grounds_.empty() || Chance(0.1)) return minus_;
    if (ground_nets_.empty()) {
      const std::size_t nets = sensor_grounds_.size() == 2 && Chance(0.5) ? 2 : 1;
      ground_nets_.resize(nets);
      for (std::size_t i = 0; i < sensor_grounds_.size(); ++i) {
        ground_nets_[i % nets].push_back(sensor_grounds_[i]);
      }
    }
    return AnyOf(ground_nets_);
  }

  std::string Input(double pull_up_ohm, double input_ohm, double pull_up_v = 5) {
    const std::string pin = ControllerPin();
    inputs_ +=
        fmt::format("    - {{terminal: {}, pull_up_ohm: {}, pull_up_v: {}, input_ohm: {}}}\n", pin,
                    pull_up_ohm, pull_up_v, input_ohm);
    return pin;
  }

  // The volts of a resistance at a pull-up of 5 V with the input in parallel.
  static double VoltsOf(double ohm, double pull_up_ohm, double input_ohm) {
    const double both = ohm * input_ohm / (ohm + input_ohm);
    return 5 * both / (both + pull_up_ohm);
  }

  // `ohm_at`: the sensor's law, degC to ohm.
  template <class Law>
  void Resistive(int number, const std::string& connector, double low, double high,
                 double pull_up_ohm, const std::string& model, const Law& ohm_at) {
    const double input_ohm = Real(4e5, 2e6);
    Told told;
    for (int i = 0; i <= 48; ++i) {
      const double degc = low - 5 + (high - low + 10) * i / 48;
      told.value_at_volts.emplace_back(VoltsOf(ohm_at(degc), pull_up_ohm, input_ohm), degc);
    }
    std::ranges::sort(told.value_at_volts);
    const double open_v = VoltsOf(1e12, pull_up_ohm, input_ohm);
    if (Chance(0.75)) {
      told.low_v = told.value_at_volts.front().first * 0.6;
      told.high_v = 0.5 * (told.value_at_volts.back().first + open_v);
    }
    Stimulus(number, "degC", low, high, Real(low, high));
    const std::string plus = NewPin(connector), minus = NewPin(connector);
    sensors_ +=
        fmt::format("  sensor_{0}: {{measures: quantity_{0}, {1}, plus: {2}, minus: {3}}}\n",
                    number, model, plus, minus);
    const std::string input = Input(pull_up_ohm, input_ohm);
    Channel(number, "degC", input, told, low, high, Chance(0.8));
    signals_.push_back({plus, input});
    GroundNet().push_back(minus);
  }

  void Thermistor(int number, const std::string& connector) {
    const double r25 = Chance(0.5) ? Real(2000, 3000) : Real(8000, 12000), beta = Real(3300, 4100);
    Resistive(number, connector, Real(-25, -5), Real(105, 125), Real(1500, 4700),
              fmt::format("kind: ntc, beta: {{r25_ohm: {}, beta_k: {}}}", r25, beta),
              [&](double degc) {
                return r25 * std::exp(beta * (1 / (degc + kKelvin) - 1 / (25 + kKelvin)));
              });
  }

  // IEC 60751, 4.2: above 0 degC R = R0 (1 + A t + B t^2); below, C (t - 100) t^3 more.
  void Platinum(int number, const std::string& connector) {
    const double r0 = Real(900, 1100);
    Resistive(number, connector, Real(-30, 0), Real(200, 400), Real(800, 2200),
              fmt::format("kind: platinum, r0_ohm: {}", r0), [&](double t) {
                const double c = t < 0 ? -4.183e-12 * (t - 100) * t * t * t : 0;
                return r0 * (1 + 3.9083e-3 * t - 5.775e-7 * t * t + c);
              });
  }

  void Pressure(int number, const std::string& connector) {
    const double low = Real(0, 40), high = Real(300, 1100);
    const double low_share = Real(0.08, 0.12), high_share = Real(0.86, 0.92);
    const std::string supply = NewPin(connector), ground = NewPin(connector),
                      signal = NewPin(connector);
    Stimulus(number, "kPa", low, high, Real(low, high));
    sensors_ += fmt::format(
        "  sensor_{0}: {{measures: quantity_{0}, kind: ratiometric, low_value: {1}, high_value: "
        "{2}, low_fraction: {3}, high_fraction: {4}, output_ohm: {5}, supply_ohm: {6}, supply: "
        "{7}, ground: {8}, signal: {9}}}\n",
        number, low, high, low_share, high_share, Real(20, 400), Real(500, 2500), supply, ground,
        signal);
    Told told{{{5 * low_share, low}, {5 * high_share, high}}};
    if (Chance(0.75)) told = {told.value_at_volts, Real(0.15, 0.3), Real(4.7, 4.85)};
    const std::string input = Input(0, Real(2e5, 1e6));
    Channel(number, "kPa", input, told, low, high, Chance(0.8));
    signals_.push_back({signal, input});
    AnyOf(feed_).push_back(supply);
    GroundNet().push_back(ground);
  }

  void Switch(int number, const std::string& connector) {
    const bool above = Chance(0.5);
    const std::string plus = NewPin(connector), minus = NewPin(connector);
    Stimulus(number, "count", 0, 1, Whole(0, 1));
    sensors_ += fmt::format(
        "  sensor_{0}: {{measures: quantity_{0}, kind: switch, closed_above: {1}, plus: {2}, "
        "minus: {3}}}\n",
        number, above, plus, minus);
    const Told told{above ? std::vector<std::pair<double, double>>{{1, 1}, {4, 0}}
                          : std::vector<std::pair<double, double>>{{1, 0}, {4, 1}}};
    const std::string input = Input(Real(1000, 9000), 1e6, Chance(0.5) ? 5 : Real(9, 12));
    Channel(number, "count", input, told, 0, 1, false);
    signals_.push_back({plus, input});
    GroundNet().push_back(minus);
  }

  void DrawLoads() {
    const int loads = Whole(0, 2);
    for (int i = 1; i <= loads; ++i) {
      const std::string connector = fmt::format("L{}", i);
      const std::string plus = NewPin(connector), minus = NewPin(connector);
      loads_ += fmt::format("  load_{}: {{plus: {}, minus: {}, ohm: {}}}\n", i, plus, minus,
                            Real(50, 200));
      plus_.push_back(plus);
      minus_.push_back(minus);
    }
  }

  // ---- wires
  void WireAll() {
    WireNet("plus", plus_);
    WireNet("minus", minus_);
    for (std::size_t i = 0; i < feed_.size(); ++i) WireNet(fmt::format("feed{}", i), feed_[i]);
    for (std::size_t i = 0; i < ground_nets_.size(); ++i) {
      WireNet(fmt::format("return{}", i), ground_nets_[i]);
    }
    for (std::size_t i = 0; i < signals_.size(); ++i) {
      WireNet(fmt::format("signal{}", i), {signals_[i].first, signals_[i].second});
    }
    // A sensor ground tied to the battery's as well.
    auto &returned = joints_["return0"], &grounded = joints_["minus"];
    if (!returned.empty() && !grounded.empty() && Chance(0.3)) {
      Wire("tie", AnyOf(returned), AnyOf(grounded));
    }
    if (Chance(0.2)) Wire("spare", NewPin("X"), NewPin("X"));
  }

  void WireNet(const std::string& net, std::vector<std::string> ends) {
    if (ends.size() < 2) return;
    for (std::size_t i = ends.size(); i > 1; --i) {
      std::swap(ends[i - 1], ends[static_cast<std::size_t>(Whole(0, static_cast<int>(i) - 1))]);
    }
    int splices = Whole(crimped_ ? 0 : 1, 3);
    if (ends.size() == 2 && !Chance(0.25)) splices = 0;
    std::vector<std::string>& joints = joints_[net];  // where another wire may be joined
    for (int i = 1; i <= splices; ++i) {
      const std::string splice = fmt::format("{}_J{}", net, i);
      splices_.push_back(splice);
      if (!joints.empty()) Wire(net, AnyOf(joints), splice);
      joints.push_back(splice);
    }
    const std::vector<std::string> only_splices = joints;
    for (const std::string& end : ends) Attach(net, only_splices, end);
    if (joints.size() >= 2 && Chance(0.35)) SecondWay(net);
    if (!joints.empty() && Chance(0.12)) Wire(net, AnyOf(joints), NewPin("X"));
    if (joints.size() >= 2 && Chance(0.06)) SecondWay(net, false);
  }

  void Attach(const std::string& net, const std::vector<std::string>& splices,
              const std::string& end) {
    auto& joints = joints_[net];
    if (joints.empty()) {
      if (first_[net].empty()) {
        first_[net] = end;
        if (crimped_) joints.push_back(end);
        return;
      }
      return Wire(net, first_[net], end);
    }
    const bool in_contact = splices.empty() || (crimped_ && Chance(0.3));
    Wire(net, in_contact ? AnyOf(joints) : AnyOf(splices), end);
    if (crimped_) joints.push_back(end);
  }

  // Parallel to a wire, or a ring; two ways in any case.
  void SecondWay(const std::string& net, bool fitted = true) {
    const std::string a = AnyOf(joints_[net]), b = AnyOf(joints_[net]);
    if (a != b) Wire(net, a, b, fitted);
  }

  void Wire(const std::string& net, const std::string& from, const std::string& to,
            bool fitted = true) {
    auto& names = circuits_[net];
    std::string circuit = fmt::format("{}_{}", net, names.size() + 1);
    if (!names.empty() && Chance(0.2)) {
      circuit = AnyOf(names);
    } else {
      names.push_back(circuit);
    }
    // What carries the controller's own current is short and thick, or a sensor on it reads wrong.
    const bool thick = net == "plus" || net == "minus";
    wires_ +=
        fmt::format("  - {{circuit: {}, from: {}, to: {}, length_m: {}, gauge: {}{}}}\n", circuit,
                    from, to, Real(0.2, thick ? 1.2 : 4),
                    thick ? kGauges[Whole(3, 5)] : AnyOf(kGauges), fitted ? "" : ", fitted: false");
  }

  // ---- the file
  struct Carried {
    std::string value;
    int bits = 16;
    std::string unit;
    double scale = 1, offset = 0;
  };

  std::string Messages() {
    if (Chance(0.85)) Carry("supply_voltage", "V", 0.001, 0);
    std::string text;
    int number = 0, bit = 64;
    for (const Carried& carried : values_) {
      if (bit + carried.bits > 64) {
        text += fmt::format(
            "      message_{0}: {{id: {1}, length_bytes: 8, sender: controller, period_ms: {2}, "
            "signals: {{}}}}\n",
            number + 1, 0x100 + number, Whole(10, 100));
        ++number;
        bit = 0;
      }
      const bool first = bit == 0;
      std::string signal = fmt::format("s{}: {{start_bit: {}, length_bits: {}, carries: {}", bit,
                                       bit, carried.bits, carried.value);
      if (!carried.unit.empty()) signal += ", unit: " + carried.unit;
      signal += carried.bits == 32
                    ? std::string(", is_float: true}")
                    : fmt::format(", scale: {}, offset: {}}}", carried.scale, carried.offset);
      text.insert(text.size() - 3, (first ? "" : ", ") + signal);
      bit += carried.bits;
    }
    return text;
  }

  static std::string List(const std::vector<std::string>& items, std::size_t from = 0) {
    std::string text;
    for (std::size_t i = from; i < items.size(); ++i) text += (i == from ? "" : ", ") + items[i];
    return "[" + text + "]";
  }

  std::string Text() {
    std::string text = "kind: bench\nformat: 1\nname: drawn\n";
    text += "engine: {strokes: 4, firing_order: [1, 3, 4, 2]}\nstimuli:\n" + stimuli_;
    text += fmt::format(
        "supplies:\n  battery: {{plus: {}, minus: {}, voltage_v: {}, series_ohm: {}}}\n",
        plus_[supplies_.size()], minus_[grounds_.size()], Real(12, 14.4), Real(0.01, 0.05));
    text += "connectors:\n";
    for (const auto& [name, pins] : pins_) text += fmt::format("  {}: {{pins: {}}}\n", name, pins);
    text += "sensors:\n" + sensors_;
    if (!loads_.empty()) text += "loads:\n" + loads_;
    if (!splices_.empty()) text += "splices: " + List(splices_) + "\n";
    text += "wires:\n" + wires_;
    text += "buses:\n  vehicle:\n    messages:\n" + Messages();
    text += fmt::format("controller:\n  supply: {}\n  ground: {}\n", supplies_[0], grounds_[0]);
    text += fmt::format("  supply_ohm: {}\n  min_supply_v: {}\n", Real(30, 60), Real(5.5, 9));
    text += "  more_supplies: " + List(supplies_, 1) + "\n  more_grounds: " + List(grounds_, 1);
    text += "\n  sensor_grounds: " + List(sensor_grounds_) + "\n  references:\n";
    for (const std::string& pin : references_) {
      text += fmt::format("    - {{terminal: {}, voltage_v: 5, series_ohm: {}}}\n", pin,
                          Real(0.1, 0.6));
    }
    return text + "  inputs:\n" + inputs_ + "  analog:\n" + channels_;
  }

  Random random_;
  bool crimped_ = false;
  int plugs_ = 2;
  std::map<std::string, int> pins_;  // by connector
  std::vector<std::string> supplies_, grounds_, sensor_grounds_, references_;
  std::vector<std::string> plus_, minus_;  // ends of the two nets; the battery's behind the pins
  std::vector<std::vector<std::string>> feed_, ground_nets_;
  std::vector<std::pair<std::string, std::string>> signals_;  // sensor, input
  std::string stimuli_, sensors_, channels_, inputs_, loads_, wires_;
  std::vector<std::string> splices_;
  std::vector<Carried> values_;
  std::map<std::string, std::vector<std::string>> joints_, circuits_;  // by net
  std::map<std::string, std::string> first_;
};

}  // namespace

RandomBench DrawBench(std::uint64_t seed) { return Drawer(seed).Draw(); }

}  // namespace drycrank::support
