// SPDX-License-Identifier: Apache-2.0
#include "study/doubt.h"

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <utility>

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
      if (!circuits.empty() && failure->brief()) Acquit(*failure);
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
    std::vector<int> open, touched;
    for (std::size_t c = 0; c < all_.touches.size(); ++c) {
      const int circuit = static_cast<int>(c);
      const Touch& touch = all_.touches[c];
      const bool is_open = touch.open.contains(failure.expectation);
      anyone = anyone || is_open;
      if (is_open && IsShown(circuit)) open.push_back(circuit);
      if (touch.failed.contains(failure.expectation) && IsShown(circuit))
        touched.push_back(circuit);
    }
    return anyone ? open : touched;
  }

  bool IsExplained(const Failure& failure) const {
    return std::ranges::any_of(charges_.accused, [&](const auto& of) {
      return std::ranges::count(of.second, failure.expectation, &CircuitWord::expectation) > 0;
    });
  }

  // Whom this failure accused is one of those that may have to do with it.
  void Acquit(const Failure& failure) {
    for (auto& [circuit, words] : charges_.accused) {
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
