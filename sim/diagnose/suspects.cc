// SPDX-License-Identifier: Apache-2.0
#include "diagnose/suspects.h"

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <tuple>
#include <variant>

#include "diagnose/used_range.h"
#include "profile/device_leads.h"
#include "profile/fault_priors.h"
#include "profile/sensors.h"
#include "types/nth.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Bench;
using profile::Fault;

constexpr double kLeastOhm = 0.05, kMostLeakOhm = 300e3, kMostChafeOhm = 100e3;
constexpr double kLeastSeriesOhm = 0.1, kMostSeriesOhm = 1e6;
constexpr double kElsewhere =
    0.3;  // volts lost in a contact that carries no ground, over one that does
constexpr double kGroundV = 2, kSupplyV = 6, kOutputV = 2;
constexpr double kLeastSpan = 0.3, kMostSpan = 3;  // of a table, over the right one
// No whole number of usual pitches and windows, so that what is tried between does not lie on their
// ends.
constexpr double kMostTurnedDeg = 63;
constexpr double kMostShareOff = 0.6;  // of a sensor's span

Fault Make(const profile::FaultKind& kind, const std::string& at, const std::string& with = "") {
  Fault made;
  made.kind = kind;
  made.at = at;
  made.with = with;
  made.name = at;
  return made;
}

fault::Calibration AboutLowEnd(const Points& table) {
  fault::Calibration about;
  about.about = table.front().second;
  return about;
}

class Builder {
 public:
  explicit Builder(const Bench& bench) : bench_(bench) {
    for (const profile::Wire& wire : bench.wires) {
      if (wire.fitted) wired_.insert({wire.from, wire.to});
    }
  }

  std::vector<Hypothesis> Build() {
    for (const Hypothesis& h : SingleFaults(bench_)) Take(h);
    Chafes();
    TwoPlugs();
    Grounds();
    Supplies();
    Sensors();
    Spans();
    Normalise();
    return std::move(all_);
  }

 private:
  double PriorOf(const char* kind) const { return profile::PriorOf(bench_.fault_priors, kind); }
  void Add(const std::string& kind, double prior, const Fault& fault) {
    all_.push_back({{fault}, kind, prior, Quantity::kNone, 0, 0, 0});
  }
  void AddRange(const std::string& kind, double prior, Quantity quantity, const Fault& fault,
                double low, double high) {
    Hypothesis h{{fault}, kind, prior, quantity, 0, low, high};
    all_.push_back(WithValue(h, low));
  }

  // Of the schedule's grid, one with a range for each place.
  void Take(const Hypothesis& h) {
    const Fault& f = h.faults[0];
    if (f.Is<fault::ShortToGround>() || f.Is<fault::ShortToSupply>()) {
      if (!shorted_.insert({f.kind.index(), f.at}).second) return;
      return AddRange(h.kind, h.prior, Quantity::kOhm, f, kLeastOhm, kMostLeakOhm);
    }
    if (f.Is<fault::ShortTogether>()) {
      neighbours_.insert({f.at, f.with});
      return AddRange(h.kind, h.prior, Quantity::kOhm, f, kLeastOhm, kMostChafeOhm);
    }
    if (h.quantity == Quantity::kNone) return all_.push_back(h);
    const auto [home, is_new] =
        families_.emplace(std::tuple{h.kind, f.at, static_cast<int>(h.quantity)}, all_.size());
    if (is_new) return all_.push_back(h);
    Hypothesis& family = all_[home->second];
    family.low = std::min(family.low, h.value);
    family.high = std::max(family.high, h.value);
    if (h.quantity == Quantity::kOhm) family.low = kLeastSeriesOhm, family.high = kMostSeriesOhm;
    if (h.quantity == Quantity::kDeg && f.Is<fault::WheelOffset>()) {
      family.low = -kMostTurnedDeg, family.high = kMostTurnedDeg;
    }
  }

  std::vector<std::string> Wired(const profile::Connector& connector) const {
    std::vector<std::string> wired;
    for (const std::string& pin : connector.pins) {
      const std::string terminal = connector.name + "." + pin;
      if (wired_.contains(terminal)) wired.push_back(terminal);
    }
    return wired;
  }

  // Each wire chafes as often as any, however many lie beside it.
  void Chafes() {
    for (const profile::Connector& connector : bench_.connectors) {
      const std::vector<std::string> wired = Wired(connector);
      if (wired.size() < 2) continue;
      const double prior = PriorOf("chafe") * 2 / static_cast<double>(wired.size() - 1);
      for (std::size_t i = 0; i < wired.size(); ++i) {
        for (std::size_t k = i + 1; k < wired.size(); ++k) {
          if (neighbours_.contains({wired[i], wired[k]})) continue;
          AddRange("chafe", prior, Quantity::kOhm, Make(fault::ShortTogether{}, wired[i], wired[k]),
                   kLeastOhm, kMostChafeOhm);
        }
      }
    }
  }

  void TwoPlugs() {
    for (std::size_t i = 0; i < bench_.connectors.size(); ++i) {
      for (std::size_t k = i + 1; k < bench_.connectors.size(); ++k) {
        const auto &a = bench_.connectors[i], &b = bench_.connectors[k];
        if (a.family.empty() || a.family != b.family) continue;
        for (const std::string& pin : a.pins) {
          const std::string one = a.name + "." + pin, other = b.name + "." + pin;
          const std::vector<std::string> wired_a = Wired(a), wired_b = Wired(b);
          if (!std::ranges::count(wired_a, one) || !std::ranges::count(wired_b, other)) continue;
          Add("wires of two plugs swapped", PriorOf("wires_of_two_plugs_swapped"),
              Make(fault::TerminalsSwapped{}, one, other));
        }
      }
    }
  }

  // A contact that loses volts, on whichever wire.
  void Grounds() {
    const std::set<std::string> grounds = GroundContacts();
    for (const std::string& terminal : wired_) {
      if (terminal.find('.') == std::string::npos) continue;
      const double share = grounds.contains(terminal) ? 1 : kElsewhere;
      AddRange("ground offset", share * PriorOf("ground_offset"), Quantity::kVolts,
               Make(fault::GroundOffset{}, terminal), -kGroundV, kGroundV);
    }
  }

  std::set<std::string> GroundContacts() const {
    std::set<std::string> grounds;
    if (bench_.controller) {
      grounds.insert(bench_.controller->ground);
      for (const auto* more :
           {&bench_.controller->more_grounds, &bench_.controller->sensor_grounds}) {
        grounds.insert(more->begin(), more->end());
      }
    }
    for (const profile::Supply& supply : bench_.supplies) grounds.insert(supply.minus);
    for (const profile::Load& load : bench_.loads) grounds.insert(load.minus);
    for (const profile::Sensor& sensor : bench_.sensors) {
      grounds.insert(profile::LeadsOf(sensor.model).ground);
    }
    return grounds;
  }

  void Supplies() {
    for (const profile::Supply& supply : bench_.supplies) {
      AddRange("supply off", PriorOf("supply_off"), Quantity::kVolts,
               Make(fault::SupplyOff{}, supply.name), -kSupplyV, kSupplyV);
    }
    if (bench_.controller) Outputs(bench_.controller->references);
  }
  // Each, and all of them at once: they may have one regulator.
  void Outputs(const std::vector<profile::ReferenceOutput>& outputs) {
    Hypothesis all{{},        "supply off", PriorOf("supply_off"), Quantity::kVolts, 0,
                   -kOutputV, kOutputV};
    for (const profile::ReferenceOutput& output : outputs) {
      const Fault off = Make(fault::SupplyOff{}, output.terminal);
      AddRange(all.kind, all.prior, all.quantity, off, all.low, all.high);
      all.faults.push_back(off);
    }
    if (outputs.size() > 1) all_.push_back(WithValue(all, all.low));
  }

  void Sensors() {
    for (const profile::Sensor& sensor : bench_.sensors) {
      if (!sensor.fitted) continue;
      const auto [low, high] = UsedRangeOf(bench_, sensor);
      if (low >= high) continue;
      AddRange("sensor stuck", PriorOf("sensor_stuck"), Quantity::kOffset,
               Make(fault::SensorStuck{}, sensor.name), low, high);
      if (std::holds_alternative<profile::SwitchSensor>(sensor.model)) continue;
      AddRange("sensor off", PriorOf("sensor_off"), Quantity::kOffset,
               Make(fault::SensorOffset{}, sensor.name), -kMostShareOff * (high - low),
               kMostShareOff * (high - low));
      Add(kOtherCurve, PriorOf("sensor_of_another_curve"),
          Make(fault::SensorStuck{low}, sensor.name));
    }
  }

  // A table of two points of which the lower one is right: that of a sensor with another range.
  // Where the lower one is 0 a factor says the same.
  void Spans() {
    if (!bench_.controller) return;
    for (const profile::AnalogChannel& channel : bench_.controller->analog) {
      const Points& table = channel.value_at_volts;
      if (table.size() != 2 || table.front().second == 0) continue;
      Fault span = Make(fault::Calibration{}, channel.name);
      span.kind = AboutLowEnd(table);
      AddRange("wrong calibration", PriorOf("wrong_calibration"), Quantity::kSpan, span, kLeastSpan,
               kMostSpan);
    }
  }

  void Normalise() {
    double total = 0;
    for (const Hypothesis& h : all_) total += h.prior;
    for (Hypothesis& h : all_) h.prior *= kPriorSingle / total;
  }

  const Bench& bench_;
  std::set<std::string> wired_;  // ends of wires
  std::set<std::pair<std::size_t, std::string>> shorted_;
  std::set<std::pair<std::string, std::string>> neighbours_;
  std::map<std::tuple<std::string, std::string, int>, std::size_t> families_;
  std::vector<Hypothesis> all_;
};

}  // namespace

std::vector<Hypothesis> Suspects(const Bench& bench) { return Builder(bench).Build(); }

}  // namespace drycrank::diagnose
