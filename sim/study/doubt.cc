// SPDX-License-Identifier: Apache-2.0
#include "study/doubt.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <set>
#include <string>
#include <utility>

#include "profile/sensors.h"
#include "study/breaks.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using check::CircuitWord;

class Doubts {
 public:
  Doubts(const Doubtful& all, Charges& charges) : all_(all), charges_(charges) {}

  void Add() {
    std::vector<std::pair<const Failure*, std::vector<int>>> doubted;
    for (const Failure& failure : all_.failures) doubted.emplace_back(&failure, InDoubt(failure));
    for (const auto& [failure, circuits] : doubted) {
      for (const int circuit : circuits) charges_.doubted.emplace(circuit, WhyDoubted(*failure));
      if (failure->brief() && (!circuits.empty() || !IsOfOneDevice(*failure))) Acquit(*failure);
    }
    std::erase_if(charges_.accused, [](const auto& of) { return of.second.empty(); });
  }

 private:
  bool IsShown(int circuit) const {
    return Nth(all_.circuits, circuit).state == check::CircuitState::kProven &&
           !charges_.accused.contains(circuit);
  }

  std::vector<int> InDoubt(const Failure& failure) const {
    bool anyone = IsExplained(failure);
    std::vector<int> open;
    for (std::size_t c = 0; c < all_.touches.size(); ++c) {
      if (!all_.touches[c].open.contains(failure.expectation)) continue;
      anyone = true;
      if (IsShown(static_cast<int>(c))) open.push_back(static_cast<int>(c));
    }
    if (anyone) return open;
    return failure.brief() ? All(failure) : ByDegrees(failure);
  }

  // What was gone for a moment only may have been any of them.
  std::vector<int> All(const Failure& failure) const {
    std::vector<int> all;
    for (std::size_t c = 0; c < all_.touches.size(); ++c) {
      const bool touched = all_.touches[c].failed.contains(failure.expectation);
      if (touched && IsShown(static_cast<int>(c))) all.push_back(static_cast<int>(c));
    }
    return all;
  }

  // Those that have to do with least besides.
  std::vector<int> ByDegrees(const Failure& failure) const {
    std::vector<int> closest;
    std::size_t least = std::numeric_limits<std::size_t>::max();
    for (std::size_t c = 0; c < all_.touches.size(); ++c) {
      const Touch& touch = all_.touches[c];
      if (!touch.failed.contains(failure.expectation)) continue;
      const std::size_t reach = touch.failed.size() + touch.met.size();
      if (reach < least) closest.clear();
      least = std::min(least, reach);
      if (reach == least) closest.push_back(static_cast<int>(c));
    }
    std::erase_if(closest, [&](int c) { return !IsShown(c); });
    return closest;
  }

  bool IsExplained(const Failure& failure) const {
    return std::ranges::any_of(charges_.accused, [&](const auto& of) {
      return std::ranges::count(of.second, failure.expectation, &CircuitWord::expectation) > 0;
    });
  }

  // One cause for what failed at several sensors is no chance.
  std::size_t ExplainsSensors(const std::vector<CircuitWord>& words) const {
    std::set<int> sensors;
    for (const CircuitWord& word : words) {
      const auto& kind = Nth(all_.scenario.expectations, word.expectation).kind;
      const auto* follows = std::get_if<profile::expect::Follows>(&kind);
      if (follows != nullptr && follows->target.stimulus > 0)
        sensors.insert(SensorOf(follows->target.stimulus));
    }
    return sensors.size();
  }
  // One sensor may measure two quantities. Of none: the quantity stands for itself.
  int SensorOf(int stimulus) const {
    for (std::size_t s = 0; s < all_.bench.sensors.size(); ++s) {
      const profile::Sensor& sensor = all_.bench.sensors[s];
      const auto* pulses = std::get_if<profile::FrequencySensor>(&sensor.model);
      const bool width = pulses != nullptr && pulses->width_stimulus == stimulus;
      if (width || sensor.stimulus == stimulus) return static_cast<int>(s);
    }
    return -1 - stimulus;
  }

  // Do all that are open to it lead to the same devices?
  bool IsOfOneDevice(const Failure& failure) const {
    std::set<std::set<int>> devices;
    for (std::size_t c = 0; c < all_.touches.size(); ++c) {
      if (!all_.touches[c].open.contains(failure.expectation)) continue;
      devices.insert(DevicesOf(static_cast<int>(c)));
    }
    return devices.size() <= 1;
  }
  std::set<int> DevicesOf(int circuit) const {
    std::set<int> devices;
    for (const Break& broken : all_.breaks) {
      if (std::ranges::count(broken.circuits, circuit) == 0) continue;
      const std::vector<int> at = DevicesAt(all_.bench, broken);
      devices.insert(at.begin(), at.end());
    }
    return devices;
  }

  // Whom this failure accused is one of those that may have to do with it.
  void Acquit(const Failure& failure) {
    for (auto& [circuit, words] : charges_.accused) {
      if (ExplainsSensors(words) >= 2) continue;
      const auto taken = std::erase_if(
          words, [&](const CircuitWord& w) { return w.expectation == failure.expectation; });
      if (taken > 0 && words.empty()) charges_.doubted.emplace(circuit, WhyDoubted(failure));
    }
  }

  std::string WhyDoubted(const Failure& failure) const {
    return fmt::format("{} failed{}, and this may have a part in it: look for a bad contact",
                       Nth(all_.scenario.expectations, failure.expectation).name,
                       failure.lasted ? "" : " for a while");
  }

  const Doubtful& all_;
  Charges& charges_;
};

}  // namespace

void AddDoubts(const Doubtful& all, Charges& charges) { Doubts(all, charges).Add(); }

}  // namespace drycrank::study
