// SPDX-License-Identifier: Apache-2.0
#include "study/bad_contacts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <string>

#include "types/nth.h"

namespace drycrank::study {
namespace {

using check::CircuitWord;
using diagnose::Change;

// From what a bad crimp has to what is as good as open, eight to a decade.
constexpr double kLeastOhm = 1, kMostOhm = 5000, kStep = 1.333521432163324;
// So many sensors are not wrong by chance at the same time.
constexpr std::size_t kNoChance = 3;

class BadContacts {
 public:
  BadContacts(const Accusation& all, const std::vector<Failure>& failures, Charges& charges)
      : all_(all), failures_(failures), charges_(charges) {}

  void Add(int circuit) {
    const std::set<int> done = Best(circuit);
    const bool unexplained = std::ranges::any_of(done, [&](int e) { return !IsExplained(e); });
    const bool instead = Sensors(done).size() >= kNoChance && !IsOneCause(done);
    if (!unexplained && !instead) return;
    const std::string why =
        fmt::format("a resistance in it would make {} fail{}: look for a bad contact",
                    Nth(all_.scenario.expectations, *done.begin()).name,
                    done.size() < 2 ? "" : fmt::format(" and {} more", done.size() - 1));
    charges_.doubted.emplace(circuit, why);
    if (instead) Acquit(done, why);
  }

 private:
  // Expectations that one resistance of the grid would violate as they failed; the most.
  std::set<int> Best(int circuit) const {
    std::set<int> best;
    for (double ohm = kLeastOhm; ohm < kMostOhm; ohm *= kStep) {
      std::set<int> done = DoneBy(circuit, ohm);
      if (done.size() > best.size()) best = std::move(done);
    }
    return best;
  }

  std::set<int> DoneBy(int circuit, double ohm) const {
    profile::Fault fault;
    fault.kind = profile::fault::SeriesResistance{ohm};
    fault.at = Nth(CircuitNames(all_.bench), circuit);
    Counterfactual::Trial trial(all_.what_if, fault);
    std::set<int> done;
    for (const Failure& failure : failures_) {
      if (!failure.reported || all_.requirements.IsOfDegrees(failure.expectation)) continue;
      if (!Nth(all_.touches, circuit).failed.contains(failure.expectation)) continue;
      const std::vector<Change> changes = trial.Changes(failure.moment);
      const Concern::Heard heard = all_.concern.HeardOf(changes, trial.Runs());
      if (!all_.concern.MetDuring(failure, heard).empty()) return {};
      if (Does(failure, heard)) done.insert(failure.expectation);
    }
    return done;
  }

  bool Does(const Failure& failure, const Concern::Heard& heard) const {
    const int reading = all_.requirements.ReadingOf(failure.expectation);
    const Moment& moment = Nth(all_.moments, failure.moment);
    return std::ranges::any_of(heard.changes, [&](const Change* change) {
      if (change->reading != reading || change->predicted.is_none()) return false;
      const bool above = *failure.reported > failure.wanted;
      const double nearest = above ? change->predicted.low() : change->predicted.high();
      if ((nearest > failure.wanted) != above) return false;
      // What was wrong for a while only need not be so in the end.
      const double moved = std::abs(nearest - failure.wanted);
      return failure.lasted
                 ? all_.requirements.Violated(failure.expectation, moment, change->predicted)
                       .has_value()
                 : moved > all_.requirements.Likeness(failure.expectation);
    });
  }

  static bool Explains(const std::vector<CircuitWord>& words, int expectation) {
    return std::ranges::count(words, expectation, &CircuitWord::expectation) > 0;
  }
  bool IsExplained(int expectation) const {
    return std::ranges::any_of(charges_.accused,
                               [&](const auto& of) { return Explains(of.second, expectation); });
  }
  // Is one circuit accused of all this?
  bool IsOneCause(const std::set<int>& done) const {
    return std::ranges::any_of(charges_.accused, [&](const auto& of) {
      return std::ranges::all_of(done, [&](int e) { return Explains(of.second, e); });
    });
  }
  std::set<int> Sensors(const std::set<int>& done) const {
    std::set<int> stimuli;
    for (const int e : done) {
      const auto& kind = Nth(all_.scenario.expectations, e).kind;
      const auto* follows = std::get_if<profile::expect::Follows>(&kind);
      if (follows != nullptr && follows->target.stimulus > 0) {
        stimuli.insert(follows->target.stimulus);
      }
    }
    return stimuli;
  }

  void Acquit(const std::set<int>& done, const std::string& why) {
    for (auto& [circuit, words] : charges_.accused) {
      std::erase_if(words, [&](const CircuitWord& w) { return done.contains(w.expectation); });
      if (words.empty()) charges_.doubted.emplace(circuit, why);
    }
    std::erase_if(charges_.accused, [](const auto& of) { return of.second.empty(); });
  }

  const Accusation& all_;
  const std::vector<Failure>& failures_;
  Charges& charges_;
};

}  // namespace

void AddBadContacts(const Accusation& all, const std::vector<Failure>& failures,
                    const std::vector<check::CircuitCoverage>& circuits, Charges& charges) {
  BadContacts contacts(all, failures, charges);
  for (std::size_t c = 0; c < circuits.size(); ++c) {
    const int circuit = static_cast<int>(c);
    const bool stands = circuits[c].state == check::CircuitState::kProven &&
                        !charges.accused.contains(circuit) && !charges.doubted.contains(circuit);
    if (stands && !all.touches[c].failed.empty()) contacts.Add(circuit);
  }
}

}  // namespace drycrank::study
