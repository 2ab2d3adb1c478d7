// SPDX-License-Identifier: Apache-2.0
#include "tests/diagnose/outside_truth.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>
#include <variant>

namespace drycrank::diagnose {
namespace {

using profile::Bench;
using support::Departure;

constexpr double kCopperPerK = 0.00393;  // IEC 60028: annealed copper at 20 degC

// Dice, and what of a bench can be hit.
class TruthDrawer {
 public:
  TruthDrawer(const Bench& bench, Random& random) : bench_(bench), random_(random) {
    for (std::size_t w = 0; w < bench.wires.size(); ++w) {
      const profile::Wire& wire = bench.wires[w];
      if (!wire.fitted) continue;
      wires_.push_back(static_cast<int>(w));
      for (const std::string& end : {wire.from, wire.to})
        wires_at_[end].push_back(static_cast<int>(w));
    }
    for (const auto& [end, wires] : wires_at_) {
      if (end.find('.') != std::string::npos) terminals_.push_back(end);
    }
    for (const profile::Sensor& sensor : bench.sensors) {
      if (!std::holds_alternative<profile::SwitchSensor>(sensor.model)) analog_.push_back(&sensor);
    }
  }

  Deviation Single();
  Deviation OffTheList();
  Deviation Corroded() {
    const std::vector<std::string> pins = SupplyPins(*bench_.controller);
    return CorrodedPin(AnyOf(pins), Real(1, 25));
  }

 private:
  using Draw = std::optional<Deviation> (TruthDrawer::*)();

  template <std::size_t n>
  Deviation OneOf(const std::array<Draw, n>& kinds) {
    for (;;) {
      const Draw draw = kinds[static_cast<std::size_t>(Whole(0, static_cast<int>(n) - 1))];
      if (std::optional<Deviation> drawn = (this->*draw)()) return std::move(*drawn);
    }
  }

  // ---- dice
  double Real(double low, double high) { return low + (high - low) * random_.Uniform(); }
  double LogReal(double low, double high) { return std::exp(Real(std::log(low), std::log(high))); }
  int Whole(int low, int high) {
    return low + static_cast<int>(random_.Next() % static_cast<std::uint64_t>(high - low + 1));
  }
  bool Chance(double share) { return random_.Uniform() < share; }
  double Sign() { return Chance(0.5) ? 1 : -1; }
  template <class List>
  const typename List::value_type& AnyOf(const List& list) {
    return list[static_cast<std::size_t>(Whole(0, static_cast<int>(list.size()) - 1))];
  }

  // ---- places
  const profile::Wire& WireAt(int wire) const {
    return bench_.wires[static_cast<std::size_t>(wire)];
  }
  std::set<std::string> PlacesOf(int wire) const {
    return {WireAt(wire).circuit, WireAt(wire).from, WireAt(wire).to};
  }
  // A terminal with its wires, and their other ends: where a short of it may be said to be.
  std::set<std::string> NodeOf(const std::string& end) const {
    std::set<std::string> places = {end};
    for (const int wire : wires_at_.at(end)) places.merge(PlacesOf(wire));
    return places;
  }
  static std::string ConnectorOf(const std::string& terminal) {
    return terminal.substr(0, terminal.find('.'));
  }
  std::vector<std::string> WiredPinsOf(const std::string& connector) const {
    std::vector<std::string> pins;
    for (const std::string& terminal : terminals_) {
      if (ConnectorOf(terminal) == connector) pins.push_back(terminal);
    }
    return pins;
  }
  std::vector<std::string> LeadsOf(const profile::Sensor& sensor) const {
    return std::visit(
        [](const auto& m) {
          if constexpr (requires { m.plus; }) {
            return std::vector<std::string>{m.plus, m.minus};
          } else if constexpr (requires { m.signal; }) {
            return std::vector<std::string>{m.supply, m.ground, m.signal};
          } else {
            return std::vector<std::string>{};
          }
        },
        sensor.model);
  }
  std::set<std::string> PlacesOf(const profile::Sensor& sensor) const {
    std::set<std::string> places = {sensor.name};
    for (const std::string& lead : LeadsOf(sensor)) places.insert(lead);
    return places;
  }
  static double Span(const profile::AnalogChannel& channel) {
    double low = channel.value_at_volts[0].second, high = low;
    for (const auto& [volts, value] : channel.value_at_volts) {
      low = std::min(low, value);
      high = std::max(high, value);
    }
    return high - low;
  }

  // ---- kinds that a diagnosis knows
  std::optional<Deviation> ContactOpen() {
    const std::string at = AnyOf(terminals_);
    return Deviation{
        "contact open", "contact open at " + at, {{at}}, {"open"}, [=](Departure& d, std::size_t) {
          d.cut.contacts.insert(at);
        }};
  }
  std::optional<Deviation> WireOpen() {
    const int wire = AnyOf(wires_);
    return Deviation{"wire open",
                     "wire open, " + Told(wire),
                     {PlacesOf(wire)},
                     {"open"},
                     [=](Departure& d, std::size_t) { d.cut.wires.insert(wire); }};
  }
  std::string Told(int wire) const {
    const profile::Wire& w = WireAt(wire);
    return fmt::format("{} ({} to {})", w.circuit, w.from, w.to);
  }
  std::optional<Deviation> SpliceOpen() {
    if (bench_.splices.empty()) return std::nullopt;
    const std::string splice = AnyOf(bench_.splices);
    const std::vector<int> wires = wires_at_[splice];
    if (wires.size() < 2) return std::nullopt;
    return Deviation{
        "splice open",
        "splice open: " + splice,
        {NodeOf(splice)},
        {"open"},
        [=](Departure& d, std::size_t) { d.cut.wires.insert(wires.begin(), wires.end()); }};
  }
  std::optional<Deviation> SeriesInContact() {
    const std::string at = AnyOf(terminals_);
    const double ohm = LogReal(1, 3e4);
    return Deviation{"series resistance",
                     fmt::format("{:.4g} ohm in contact {}", ohm, at),
                     {{at}},
                     {"series_resistance"},
                     [=](Departure& d, std::size_t) { d.contact_more_ohm[at] += ohm; }};
  }
  std::optional<Deviation> SeriesInWire() {
    const int wire = AnyOf(wires_);
    const double ohm = LogReal(1, 3e4);
    return Deviation{"series resistance",
                     fmt::format("{:.4g} ohm in wire {}", ohm, Told(wire)),
                     {PlacesOf(wire)},
                     {"series_resistance"},
                     [=](Departure& d, std::size_t) { d.wire_more_ohm[wire] += ohm; }};
  }
  Deviation Bridged(const char* kind, const std::string& a, const std::string& b, double ohm,
                    std::set<std::string> said_as) {
    return Deviation{kind,
                     fmt::format("{} {:.4g} ohm, {} to {}", kind, ohm, a, b),
                     {NodeOf(a), NodeOf(b)},
                     std::move(said_as),
                     [=](Departure& d, std::size_t) {
                       const auto node = [](const std::string& end) {
                         return end.find('.') == std::string::npos ? end : end + "~";
                       };
                       d.bridges.push_back({node(a), node(b), ohm});
                     }};
  }
  std::optional<Deviation> ToPole(const char* kind, bool plus, double ohm,
                                  std::set<std::string> said_as) {
    const profile::Supply& supply = bench_.supplies[0];
    const std::string pole = plus ? supply.plus : supply.minus, at = AnyOf(terminals_);
    if (at == pole) return std::nullopt;
    Deviation deviation = Bridged(kind, at, pole, ohm, std::move(said_as));
    deviation.places.pop_back();
    return deviation;
  }
  std::optional<Deviation> ShortToGround() {
    return ToPole("short to ground", false, LogReal(0.05, 5), {"short_to_ground", "leakage"});
  }
  std::optional<Deviation> ShortToSupply() {
    return ToPole("short to supply", true, LogReal(0.05, 5), {"short_to_supply", "leakage"});
  }
  std::optional<Deviation> Leak() {
    const bool plus = Chance(0.5);
    return ToPole("leakage", plus, LogReal(200, 5e4),
                  {"leakage", plus ? "short_to_supply" : "short_to_ground"});
  }
  std::optional<Deviation> NeighboursShorted() {
    const auto& connector = AnyOf(bench_.connectors);
    if (connector.pins.size() < 2) return std::nullopt;
    const int first = Whole(0, static_cast<int>(connector.pins.size()) - 2);
    const auto at = [&](int pin) {
      return connector.name + "." + connector.pins[static_cast<std::size_t>(pin)];
    };
    if (!wires_at_.contains(at(first)) || !wires_at_.contains(at(first + 1))) return std::nullopt;
    return Bridged("neighbours shorted", at(first), at(first + 1), LogReal(0.05, 5),
                   {"short_together", "leakage"});
  }
  // Of two wires that end in one plug.
  std::optional<Deviation> Chafe() {
    const std::vector<std::string> pins = WiredPinsOf(AnyOf(bench_.connectors).name);
    if (pins.size() < 2) return std::nullopt;
    const std::string a = AnyOf(pins), b = AnyOf(pins);
    if (a == b) return std::nullopt;
    return Bridged("chafe", a, b, LogReal(0.1, 1000), {"short_together", "leakage"});
  }
  std::optional<Deviation> Swapped(const char* kind, const std::string& a, const std::string& b) {
    if (a == b) return std::nullopt;
    return Deviation{kind,
                     fmt::format("{}: {} and {}", kind, a, b),
                     {{a}, {b}},
                     {"terminals_swapped"},
                     [=](Departure& d, std::size_t) { d.swapped.emplace_back(a, b); }};
  }
  std::optional<Deviation> SwapInPlug() {
    const std::vector<std::string> pins = WiredPinsOf(AnyOf(bench_.connectors).name);
    if (pins.size() < 2) return std::nullopt;
    return Swapped("terminals swapped", AnyOf(pins), AnyOf(pins));
  }
  std::optional<Deviation> SwapOfTwoPlugs() {
    const std::string a = AnyOf(terminals_), b = AnyOf(terminals_);
    if (ConnectorOf(a) == ConnectorOf(b)) return std::nullopt;
    return Swapped("swap of two plugs", a, b);
  }
  template <class Edit>
  Deviation OfSensor(const char* kind, const profile::Sensor& sensor, const std::string& how,
                     std::set<std::string> said_as, const Edit& edit) {
    const std::string name = sensor.name;
    return Deviation{kind,
                     fmt::format("{}: {}{}", kind, name, how),
                     {PlacesOf(sensor)},
                     std::move(said_as),
                     [=](Departure& d, std::size_t) { edit(d.sensors[name]); }};
  }
  std::optional<Deviation> NotFitted() {
    return OfSensor("not fitted", AnyOf(bench_.sensors), "", {"not_fitted"},
                    [](support::SensorDeparture& s) { s.missing = true; });
  }
  std::optional<Deviation> SensorOff() {
    if (analog_.empty()) return std::nullopt;
    const profile::Sensor& sensor = *AnyOf(analog_);
    const double off = Sign() * Real(0.03, 0.2) * (sensor.max - sensor.min);
    return OfSensor("sensor off", sensor, fmt::format(" by {:.4g}", off), {"sensor_offset"},
                    [=](support::SensorDeparture& s) { s.offset += off; });
  }
  std::optional<Deviation> SensorStuck() {
    if (analog_.empty()) return std::nullopt;
    const profile::Sensor& sensor = *AnyOf(analog_);
    const double at = Real(sensor.min, sensor.max);
    return OfSensor("sensor stuck", sensor, fmt::format(" at {:.4g}", at), {"sensor_stuck"},
                    [=](support::SensorDeparture& s) { s.stuck = at; });
  }
  // A part that fits the plug and has another curve: common values of thermistors and platinum.
  std::optional<Deviation> AnotherCurve() {
    if (analog_.empty()) return std::nullopt;
    const profile::Sensor& sensor = *AnyOf(analog_);
    profile::SensorModel other = sensor.model;
    if (auto* ntc = std::get_if<profile::NtcSensor>(&other)) {
      const double r25 = std::get<profile::BetaNtc>(ntc->curve).r25_ohm;
      ntc->curve =
          profile::BetaNtc{r25 > 5000 ? Real(2000, 3000) : Real(8000, 12000), Real(3300, 4100)};
    } else if (auto* platinum = std::get_if<profile::PlatinumSensor>(&other)) {
      platinum->r0_ohm = Chance(0.5) ? 100 : 500;
    } else {
      auto& pressure = std::get<profile::RatiometricSensor>(other);
      pressure.high_value *= Chance(0.5) ? Real(0.4, 0.7) : Real(1.5, 2.5);
    }
    return OfSensor("another curve", sensor, "", {"sensor_curve", "sensor_exchanged"},
                    [=](support::SensorDeparture& s) { s.other = other; });
  }
  std::optional<Deviation> ToldWrong() {
    const profile::AnalogChannel& channel = AnyOf(bench_.controller->analog);
    const std::string name = channel.name;
    support::ToldDeparture told;
    if (Chance(0.5)) {
      told.gain = Chance(0.5) ? LogReal(0.3, 0.92) : LogReal(1.08, 3);
    } else {
      told.offset = Sign() * Real(0.04, 0.5) * Span(channel);
    }
    return Deviation{"told wrong",
                     fmt::format("told wrong: {} * {:.4g} + {:.4g}", name, told.gain, told.offset),
                     {{name, channel.terminal}},
                     {"calibration"},
                     [=](Departure& d, std::size_t) { d.told[name] = told; }};
  }
  std::optional<Deviation> MessageMissing() {
    const auto& messages = bench_.buses[0].messages;
    const std::string name = AnyOf(messages).name;
    return Deviation{"message missing",
                     "message missing: " + name,
                     {{name}},
                     {"message_missing"},
                     [=](Departure& d, std::size_t) { d.missing_messages.insert(name); }};
  }
  std::optional<Deviation> GroundOffset() {
    const std::string at = AnyOf(terminals_);
    const double volts = Sign() * Real(0.1, 1);
    return Deviation{"ground offset",
                     fmt::format("{:.3g} V in contact {}", volts, at),
                     {{at}},
                     {"ground_offset"},
                     [=](Departure& d, std::size_t) { d.contact_source_v[at] += volts; }};
  }
  // ---- kinds of parts, where the bench has some
  bool HasParts() const {
    return !bench_.relays.empty() ||
           std::ranges::any_of(bench_.wires, &profile::Wire::IsFuse) ||
           std::ranges::any_of(bench_.connectors, &profile::Connector::in_line);
  }
  std::optional<Deviation> FuseBlown() {
    std::vector<int> fuses;
    for (const int wire : wires_) {
      if (WireAt(wire).IsFuse()) fuses.push_back(wire);
    }
    if (fuses.empty()) return std::nullopt;
    const int fuse = AnyOf(fuses);
    return Deviation{"fuse blown",
                     "fuse blown: " + Told(fuse),
                     {PlacesOf(fuse)},
                     {"open"},
                     [=](Departure& d, std::size_t) { d.cut.wires.insert(fuse); }};
  }
  std::optional<Deviation> RelayStays() {
    if (bench_.relays.empty()) return std::nullopt;
    const profile::Relay& relay = AnyOf(bench_.relays);
    const auto stays = Chance(0.5) ? support::Stays::kOn : support::Stays::kOff;
    const std::string name = relay.name;
    return Deviation{"relay stays",
                     fmt::format("{} stays {}", name, stays == support::Stays::kOn ? "on" : "off"),
                     {{name, relay.common, relay.normally_open, relay.normally_closed,
                       relay.coil_plus, relay.coil_minus}},
                     {"relay_stays"},
                     [=](Departure& d, std::size_t) { d.relays[name] = stays; }};
  }
  std::optional<Deviation> PlugOff() {
    const profile::Connector& plug = AnyOf(bench_.connectors);
    const std::vector<std::string> pins = WiredPinsOf(plug.name);
    if ((!plug.in_line && plug.name != "BOX") || pins.size() < 2) return std::nullopt;
    return Deviation{
        "plug off",
        "plug off: " + plug.name,
        {{plug.name}},
        {"not_plugged"},
        [=](Departure& d, std::size_t) { d.cut.contacts.insert(pins.begin(), pins.end()); }};
  }

  // One in three steps, at least two, not all.
  std::set<std::size_t> SomeSteps() {
    std::set<std::size_t> steps;
    for (std::size_t step = 0; step < 64; ++step) {
      if (Chance(0.3)) steps.insert(step);
    }
    return steps;
  }
  std::optional<Deviation> ComesAndGoes() {
    Deviation open = *ContactOpen();
    const auto put_in = open.put_in;
    return Deviation{"comes and goes",
                     "comes and goes: " + open.words,
                     open.places,
                     {"open"},
                     [=, steps = SomeSteps()](Departure& d, std::size_t step) {
                       if (steps.contains(step)) put_in(d, step);
                     }};
  }

  // ---- kinds that it does not know
  std::optional<Deviation> PullUpOff() {
    std::vector<const profile::AnalogChannel*> pulled;
    for (const auto& channel : bench_.controller->analog) {
      for (const auto& input : bench_.controller->inputs) {
        if (input.terminal == channel.terminal && input.pull_up_ohm > 0) pulled.push_back(&channel);
      }
    }
    if (pulled.empty()) return std::nullopt;
    const profile::AnalogChannel& channel = *AnyOf(pulled);
    const std::string at = channel.terminal;
    const double factor = Chance(0.5) ? LogReal(0.3, 0.7) : LogReal(1.5, 3);
    return Deviation{"pull-up off",
                     fmt::format("pull-up at {} times {:.3g}", at, factor),
                     {{at, channel.name}},
                     {},
                     [=](Departure& d, std::size_t) { d.pull_up_factor[at] = factor; }};
  }
  std::optional<Deviation> ReferenceOff() {
    const double volts = Sign() * Real(0.2, 1);
    std::set<std::string> outputs;  // they have one regulator
    for (const auto& output : bench_.controller->references) outputs.insert(output.terminal);
    return Deviation{"reference off",
                     fmt::format("5 V off by {:.3g} V", volts),
                     {outputs},
                     {"supply_off"},
                     [=](Departure& d, std::size_t) { d.reference_more_v += volts; }};
  }
  std::optional<Deviation> WetPlug() {
    const std::string connector = AnyOf(bench_.connectors).name;
    const std::vector<std::string> pins = WiredPinsOf(connector);
    if (pins.size() < 3) return std::nullopt;
    const double ohm = LogReal(1e3, 2e4);
    std::set<std::string> places(pins.begin(), pins.end());
    places.insert(connector);
    return Deviation{"wet plug",
                     fmt::format("wet plug {}: {:.4g} ohm", connector, ohm),
                     {places},
                     {},
                     [=](Departure& d, std::size_t) {
                       for (std::size_t i = 1; i < pins.size(); ++i) {
                         d.bridges.push_back({pins[i - 1], pins[i], ohm});
                       }
                     }};
  }
  std::optional<Deviation> HalfSplice() {
    if (bench_.splices.empty()) return std::nullopt;
    const std::string splice = AnyOf(bench_.splices);
    std::vector<int> wires = wires_at_[splice];
    if (wires.size() < 4) return std::nullopt;
    for (std::size_t i = wires.size(); i-- > 1;) {
      std::swap(wires[i], wires[static_cast<std::size_t>(Whole(0, static_cast<int>(i)))]);
    }
    wires.resize(wires.size() / 2);
    std::set<std::string> places = {splice};
    for (const int wire : wires) places.merge(PlacesOf(wire));
    return Deviation{
        "half a splice",
        fmt::format("half of splice {}: {} wires", splice, wires.size()),
        {places},
        {},
        [=](Departure& d, std::size_t) { d.cut.wires.insert(wires.begin(), wires.end()); }};
  }
  std::optional<Deviation> Bent() {
    if (analog_.empty()) return std::nullopt;
    const profile::Sensor& sensor = *AnyOf(analog_);
    const double bend = Sign() * Real(0.05, 0.2) * (sensor.max - sensor.min);
    return OfSensor("bent sensor", sensor, fmt::format(" by {:.4g}", bend), {},
                    [=](support::SensorDeparture& s) { s.bend = bend; });
  }
  std::optional<Deviation> FarChafe() {
    const int a = AnyOf(wires_), b = AnyOf(wires_);
    const std::set<std::string> at_a = PlacesOf(a);
    for (const std::string& end : {WireAt(b).from, WireAt(b).to}) {
      for (const std::string& other : {WireAt(a).from, WireAt(a).to}) {
        if (ConnectorOf(end) == ConnectorOf(other)) return std::nullopt;
      }
    }
    return Bridged("far chafe", WireAt(a).from, WireAt(b).from, LogReal(0.1, 1000), {});
  }
  std::optional<Deviation> ResistanceComesAndGoes() {
    Deviation series = *SeriesInContact();
    const auto put_in = series.put_in;
    return Deviation{"ohms come and go",
                     "comes and goes: " + series.words,
                     series.places,
                     {},
                     [=, steps = SomeSteps()](Departure& d, std::size_t step) {
                       if (steps.contains(step)) put_in(d, step);
                     }};
  }

  const Bench& bench_;
  Random& random_;
  std::vector<int> wires_;  // fitted
  std::map<std::string, std::vector<int>> wires_at_;
  std::vector<std::string> terminals_;
  std::vector<const profile::Sensor*> analog_;
};

Deviation TruthDrawer::Single() {
  using T = TruthDrawer;
  if (HasParts() && Chance(0.25)) {
    return OneOf(std::array<Draw, 3>{&T::FuseBlown, &T::RelayStays, &T::PlugOff});
  }
  return OneOf(std::array<Draw, 21>{&T::ContactOpen,     &T::WireOpen,          &T::SpliceOpen,
                                    &T::SeriesInContact, &T::SeriesInWire,      &T::ShortToGround,
                                    &T::ShortToSupply,   &T::NeighboursShorted, &T::Chafe,
                                    &T::SwapInPlug,      &T::SwapOfTwoPlugs,    &T::NotFitted,
                                    &T::SensorOff,       &T::SensorStuck,       &T::AnotherCurve,
                                    &T::ToldWrong,       &T::MessageMissing,    &T::Leak,
                                    &T::GroundOffset,    &T::ComesAndGoes,      &T::ReferenceOff});
}

Deviation TruthDrawer::OffTheList() {
  using T = TruthDrawer;
  return OneOf(std::array<Draw, 6>{&T::PullUpOff, &T::WetPlug, &T::HalfSplice, &T::Bent,
                                   &T::FarChafe, &T::ResistanceComesAndGoes});
}

bool Meet(const Deviation& a, const Deviation& b) {
  for (const auto& at : a.places) {
    for (const std::string& place : at) {
      for (const auto& other : b.places) {
        if (other.contains(place)) return true;
      }
    }
  }
  return false;
}

}  // namespace

const char* Name(TruthGroup group) {
  switch (group) {
    case TruthGroup::kSingle:
      return "one fault, off any grid";
    case TruthGroup::kCorrodedPin:
      return "corroded supply or ground pin";
    case TruthGroup::kDouble:
      return "two faults";
    case TruthGroup::kOffTheList:
      return "not on the list";
    case TruthGroup::kHealthy:
      return "healthy";
  }
  return "";
}

std::string Truth::kind() const {
  std::string kinds;
  for (const Deviation& deviation : deviations)
    kinds += (kinds.empty() ? "" : " + ") + deviation.kind;
  return kinds.empty() ? "healthy" : kinds;
}

std::string Truth::words() const {
  std::string words;
  for (const Deviation& deviation : deviations)
    words += (words.empty() ? "" : " AND ") + deviation.words;
  return words.empty() ? "healthy" : words;
}

std::vector<std::string> SupplyPins(const profile::Controller& controller) {
  std::vector<std::string> pins = {controller.supply, controller.ground};
  pins.insert(pins.end(), controller.more_supplies.begin(), controller.more_supplies.end());
  pins.insert(pins.end(), controller.more_grounds.begin(), controller.more_grounds.end());
  return pins;
}

Deviation CorrodedPin(const std::string& terminal, double ohm) {
  return {"corroded pin",
          fmt::format("{:.3g} ohm in contact {}", ohm, terminal),
          {{terminal}},
          {"series_resistance"},
          [=](Departure& d, std::size_t) { d.contact_more_ohm[terminal] += ohm; }};
}

Truth DrawTruth(const Bench& bench, Random& random) {
  TruthDrawer drawer(bench, random);
  const double dice = random.Uniform();
  if (dice < 0.40) return {TruthGroup::kSingle, {drawer.Single()}};
  if (dice < 0.60) return {TruthGroup::kCorrodedPin, {drawer.Corroded()}};
  if (dice < 0.75) return {TruthGroup::kOffTheList, {drawer.OffTheList()}};
  if (dice >= 0.90) return {TruthGroup::kHealthy, {}};
  const Deviation first = drawer.Single();
  for (;;) {
    const Deviation second = drawer.Single();
    if (!Meet(first, second)) return {TruthGroup::kDouble, {first, second}};
  }
}

Departure DrawTolerances(const Bench& bench, Random& random) {
  const auto uniform = [&](double low, double high) {
    return low + (high - low) * random.Uniform();
  };
  Departure d;
  do {
    d.supply_more_v = 0.4 * random.Gauss();
  } while (std::abs(d.supply_more_v) > 1);
  d.supply_reading_gain = uniform(-0.01, 0.01);
  const double copper = 1 + kCopperPerK * 15 * random.Gauss();
  for (std::size_t w = 0; w < bench.wires.size(); ++w) {
    d.wire_factor[static_cast<int>(w)] = copper * uniform(0.94, 1.06);
  }
  for (const profile::Connector& connector : bench.connectors) {
    for (const std::string& pin : connector.pins) {
      d.contact_ohm[connector.name + "." + pin] = uniform(0.0025, 0.01);
    }
  }
  for (const profile::Sensor& sensor : bench.sensors) {
    if (std::holds_alternative<profile::SwitchSensor>(sensor.model)) continue;
    auto& own = d.sensors[sensor.name];
    own.offset = uniform(-kSensorClass, kSensorClass) * (sensor.max - sensor.min);
    own.gain = uniform(-kSensorClass, kSensorClass);
  }
  return d;
}

}  // namespace drycrank::diagnose
