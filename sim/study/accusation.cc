// SPDX-License-Identifier: Apache-2.0
#include "study/accusation.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <set>
#include <utility>

#include "study/bad_contacts.h"
#include "study/doubt.h"
#include "study/of_the_cycle.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using check::CircuitWord;
using check::Outcome;
using diagnose::Change;
using diagnose::Prediction;

constexpr double kShortOhm = 0.1;
// A fault explains failures when there are so many times more of them than of those that it would
// have made otherwise: several faults may be there at once.
constexpr std::size_t kOutweighs = 2;

// A circuit, or several at once, with something wrong.
struct Suspicion {
  std::vector<int> circuits;
  std::vector<profile::Fault> faults;
};

using Failures = std::set<std::size_t>;

class Court {
 public:
  explicit Court(const Accusation& all) : all_(all) {
    all_.what_if.Prepare(FailedMoments(all.failures, all.failures.size()));
    for (const Failure& failure : all.failures) {
      if (!IsAsDrawn(failure)) failures_.push_back(failure);
    }
  }

  Charges Weigh(const std::vector<check::CircuitCoverage>& circuits) {
    std::map<int, Failures> explains;
    for (std::size_t c = 0; c < circuits.size(); ++c) {
      const int circuit = static_cast<int>(c);
      Failures explained = BestOf(circuit, TouchedBy(circuit));
      if (!explained.empty()) explains[circuit] = std::move(explained);
    }
    AddPartings(explains);
    if (const int common = CommonCause(circuits, explains); common >= 0) {
      Failures all;
      for (const auto& [circuit, explained] : explains) {
        all.insert(explained.begin(), explained.end());
      }
      explains = {{common, all}};
    }
    Charges charges;
    const int doubted = CommonOfUnexplained(circuits, explains);
    for (const auto& [circuit, explained] : explains) {
      if (IsOutdone(explained, explains)) continue;
      if (IsBehind(circuit, explained, explains, doubted)) {
        charges.doubted[circuit] = {};
        continue;
      }
      for (const std::size_t f : explained) {
        charges.accused[circuit].push_back(WordOf(failures_[f]));
      }
    }
    AddBadContacts(all_, failures_, circuits, charges);
    AddDoubts({all_.bench, all_.scenario, failures_, all_.breaks, all_.touches, circuits}, charges);
    if (doubted >= 0) {
      charges.doubted[doubted] = fmt::format(
          "{} failures have to do with it, but are not what it would make of them open: look for a "
          "bad contact",
          TouchedBy(doubted).size());
    }
    return charges;
  }

 private:
  // Would the bench as drawn report that?
  bool IsAsDrawn(const Failure& failure) const {
    const auto& kind = Nth(all_.scenario.expectations, failure.expectation).kind;
    if (all_.bench.controller && AsksForWhatIsNotTold(*all_.bench.controller, kind)) return true;
    const int reading = all_.requirements.ReadingOf(failure.expectation);
    if (reading < 0) return false;
    const Prediction& healthy = all_.what_if.HealthyPlayed(failure.moment, reading);
    const Moment& moment = all_.moments[failure.moment];
    if (!failure.reported && IsUnmeasured(failure.moment, reading)) return true;
    return all_.requirements.Violated(failure.expectation, moment, healthy).has_value() &&
           IsSettledLike(failure, healthy);
  }

  // Would the healthy controller say in that moment that it has not measured this?
  bool IsUnmeasured(std::size_t moment, int reading) const {
    const profile::SignalRef& at = Nth(all_.what_if.readings(), reading).signal;
    if (at.bus < 0) return false;
    const profile::Signal& signal = profile::SignalAt(all_.bench, at);
    if (signal.valid_signal < 0) return false;
    for (std::size_t r = 0; r < all_.what_if.readings().size(); ++r) {
      const profile::SignalRef& says = all_.what_if.readings()[r].signal;
      if (says.bus != at.bus || says.message != at.message || says.signal != signal.valid_signal) {
        continue;
      }
      const Prediction& healthy = all_.what_if.HealthyPlayed(moment, static_cast<int>(r));
      return healthy.is_value() && healthy.low() != signal.valid_equals;
    }
    return false;
  }

  Failures ConcernedBy(const check::CircuitCoverage& circuit) const {
    Failures concerned;
    for (std::size_t f = 0; f < failures_.size(); ++f) {
      if (std::ranges::count(circuit.concerned, failures_[f].expectation) > 0) concerned.insert(f);
    }
    return concerned;
  }

  static bool IsOutdone(const Failures& explained, const std::map<int, Failures>& explains) {
    return std::ranges::any_of(explains, [&](const auto& other) {
      return other.second.size() > explained.size() &&
             std::ranges::includes(other.second, explained);
    });
  }

  // All that it explains concerns another too, which explains more, or is doubted for more.
  bool IsBehind(int circuit, const Failures& explained, const std::map<int, Failures>& explains,
                int doubted) const {
    const auto covers = [&](int other) {
      return other != circuit && std::ranges::includes(TouchedBy(other), explained);
    };
    if (doubted >= 0 && covers(doubted) && SharedOf(doubted, explains).size() > explained.size()) {
      return true;
    }
    return std::ranges::any_of(explains, [&](const auto& other) {
      return other.second.size() > explained.size() && covers(other.first);
    });
  }

  Failures Unexplained(const std::map<int, Failures>& explains) const {
    Failures left;
    for (std::size_t f = 0; f < failures_.size(); ++f) {
      const bool any =
          std::ranges::any_of(explains, [&](const auto& of) { return of.second.contains(f); });
      if (!any) left.insert(f);
    }
    return left;
  }

  // What no break explains, and has to do with this circuit.
  Failures SharedOf(int circuit, const std::map<int, Failures>& explains) const {
    Failures shared;
    std::ranges::set_intersection(TouchedBy(circuit), Unexplained(explains),
                                  std::inserter(shared, shared.end()));
    return shared;
  }

  // How many quantities they are about: what a display shows wrong for the same reason counts once.
  std::size_t QuantitiesOf(const Failures& failures) const {
    std::set<std::pair<int, int>> quantities;
    for (const std::size_t f : failures) {
      const int e = failures_[f].expectation;
      const int stimulus = StimulusOf(Nth(all_.scenario.expectations, e));
      quantities.insert(stimulus >= 0 ? std::pair(stimulus, -1) : std::pair(-1, e));
    }
    return quantities.size();
  }
  static int StimulusOf(const profile::Expectation& e) {
    if (const auto* follows = std::get_if<profile::expect::Follows>(&e.kind)) {
      return follows->target.stimulus;
    }
    const auto* shows = std::get_if<profile::expect::DisplayShows>(&e.kind);
    return shows != nullptr ? shows->target.stimulus : -1;
  }

  // The circuit that has to do with most failures, of which two quantities' and more no break
  // explains; the one that has to do with least else. -1: there is none.
  int CommonOfUnexplained(const std::vector<check::CircuitCoverage>& circuits,
                          const std::map<int, Failures>& explains) const {
    const Failures unexplained = Unexplained(explains);
    int best = -1;
    std::size_t most = 0;
    for (std::size_t c = 0; c < circuits.size(); ++c) {
      const int circuit = static_cast<int>(c);
      if (circuits[c].state != check::CircuitState::kProven || explains.contains(circuit)) continue;
      const Failures touched = TouchedBy(circuit);
      Failures shared;
      std::ranges::set_intersection(touched, unexplained, std::inserter(shared, shared.end()));
      if (QuantitiesOf(shared) < 2) continue;
      const bool closer =
          touched.size() == most && all_.touches[c].met.size() < Nth(all_.touches, best).met.size();
      if (touched.size() <= most && !closer) continue;
      best = circuit;
      most = touched.size();
    }
    return best;
  }

  Failures TouchedBy(int circuit) const {
    Failures touched;
    for (std::size_t f = 0; f < failures_.size(); ++f) {
      if (Nth(all_.touches, circuit).failed.contains(failures_[f].expectation)) touched.insert(f);
    }
    return touched;
  }

  // Circuits that carry the same, all open. Two causes at once only for what no single one
  // explains.
  void AddPartings(std::map<int, Failures>& explains) {
    if (failures_.empty()) return;
    std::set<std::vector<int>> tried;
    std::size_t most = 0;  // that a single one explains
    for (const auto& [circuit, explained] : explains) most = std::max(most, explained.size());
    Failures all;
    for (std::size_t f = 0; f < failures_.size(); ++f) all.insert(f);
    for (const Break& broken : all_.breaks) {
      const auto parting = PartingOf(all_.bench, broken);
      if (!parting) continue;
      std::vector<int> circuits = parting->circuits;
      std::ranges::sort(circuits);
      if (!tried.insert(circuits).second) continue;
      const Failures explained = Explained({circuits, parting->opens}, all);
      if (explained.empty() || (circuits.size() > 1 && explained.size() <= most)) continue;
      for (const int circuit : circuits) {
        if (explained.size() > explains[circuit].size()) explains[circuit] = explained;
      }
    }
  }

  // Several failures, each explained by a break of its own, and one circuit that nothing has shown
  // concerns them all: then it is that one, by a resistance, say. -1: there is none.
  int CommonCause(const std::vector<check::CircuitCoverage>& circuits,
                  const std::map<int, Failures>& explains) const {
    Failures all;
    std::size_t most = 0;
    for (const auto& [circuit, explained] : explains) {
      all.insert(explained.begin(), explained.end());
      most = std::max(most, explained.size());
    }
    if (most == all.size()) return -1;
    int best = -1;
    for (std::size_t c = 0; c < circuits.size(); ++c) {
      if (circuits[c].state == check::CircuitState::kProven) continue;
      if (explains.contains(static_cast<int>(c))) continue;
      if (!std::ranges::includes(ConcernedBy(circuits[c]), all)) continue;
      const bool closer =
          best < 0 || circuits[c].concerned.size() < Nth(circuits, best).concerned.size();
      if (closer) best = static_cast<int>(c);
    }
    return best;
  }

  CircuitWord WordOf(const Failure& failure) const {
    const check::Verdict& verdict = Nth(all_.verdicts, failure.expectation);
    const Moment& moment = all_.moments[failure.moment];
    const TimeNs t_ns = failure.reported ? verdict.worst_ns : moment.end_ns;
    return {failure.expectation, moment.situation.name, t_ns, "",
            verdict.margin,      verdict.margin_unit};
  }

  // Of the faults that this circuit can have, the one that explains most failures.
  Failures BestOf(int circuit, const Failures& to_explain) {
    Failures best;
    if (to_explain.empty()) return best;
    for (const profile::Fault& fault : FaultsOf(circuit)) {
      Failures explained = Explained({{circuit}, {fault}}, to_explain);
      if (explained.size() > best.size()) best = std::move(explained);
    }
    return best;
  }

  // Nothing when too much speaks against it: failures that it would have made otherwise, and what
  // was met while something was wrong for a while.
  Failures Explained(const Suspicion& suspicion, const Failures& to_explain) {
    Failures explained;
    std::set<int> belied;  // expectations
    Counterfactual::Trial trial(all_.what_if, suspicion.faults);
    for (const std::size_t f : to_explain) {
      Says says = Ask(trial, failures_[f], belied);
      if (says == Says::kThis && IsBelied(trial, failures_[f])) says = Says::kOther;
      if (says == Says::kThis) explained.insert(f);
      // Of what did not come, the time is not kept: it speaks for a fault, and against none.
      const bool timeless = all_.requirements.IsOfDegrees(failures_[f].expectation);
      if (says == Says::kOther && !timeless) belied.insert(failures_[f].expectation);
    }
    if (explained.size() <= kOutweighs * belied.size()) explained.clear();
    return explained;
  }

  std::vector<profile::Fault> FaultsOf(int circuit) const {
    std::vector<profile::Fault> faults;
    std::set<std::string> ends;
    for (const Break& broken : all_.breaks) {
      if (std::ranges::count(broken.circuits, circuit) == 0) continue;
      faults.push_back(broken.open);
      for (const int w : broken.wires) ends.insert(Nth(all_.bench.wires, w).from);
    }
    // A feed that is shorted blows its fuse.
    const bool reaches_input =
        std::ranges::any_of(all_.bench.wires, [&](const profile::Wire& wire) {
          return wire.circuit == Nth(names_, circuit) && (IsInput(wire.from) || IsInput(wire.to));
        });
    for (const std::string& end : ends) {
      if (!reaches_input) break;
      faults.emplace_back().kind = profile::fault::ShortToGround{kShortOhm};
      faults.back().at = end;
      faults.emplace_back().kind = profile::fault::ShortToSupply{kShortOhm};
      faults.back().at = end;
    }
    return faults;
  }

  // What a failure's report says of a fault: this is what it makes, it makes something else, or it
  // leaves that reading alone, or cannot be, for what was met.
  enum class Says { kThis, kOther, kNothing };

  // Played where only that tells of the reading.
  std::vector<Change> ChangesOf(Counterfactual::Trial& trial, std::size_t m, int reading) const {
    std::vector<Change> changes = trial.Changes(m);
    const bool told = std::ranges::count(changes, reading, &Change::reading) > 0;
    if (!told && all_.moments[m].turning() && trial.MayMove(reading)) return trial.Played(m);
    return changes;
  }

  Says Ask(Counterfactual::Trial& trial, const Failure& failure, std::set<int>& belied) const {
    const int reading = all_.requirements.ReadingOf(failure.expectation);
    const std::vector<Change> changes = ChangesOf(trial, failure.moment, reading);
    const Concern::Heard heard = all_.concern.HeardOf(changes, trial.Runs());
    const std::set<int> met = all_.concern.MetDuring(failure, heard);
    if (all_.concern.IsRuledOut(failure, heard) || (failure.lasted && !met.empty())) {
      return Says::kOther;
    }
    belied.insert(met.begin(), met.end());
    for (const Change* change : heard.changes) {
      if (change->reading != reading) continue;
      return IsLike(failure, change->predicted) ? Says::kThis : Says::kOther;
    }
    return Says::kNothing;
  }

  bool IsLike(const Failure& failure, const Prediction& predicted) const {
    const int reading = all_.requirements.ReadingOf(failure.expectation);
    const bool settled = failure.lasted && failure.until_ns - failure.known_ns >=
                                               all_.requirements.LagNs(reading, predicted);
    return IsSettledLike(failure, predicted) || (!settled && IsOnItsWay(failure, predicted));
  }
  bool IsSettledLike(const Failure& failure, const Prediction& predicted) const {
    if (all_.requirements.IsOfDegrees(failure.expectation)) {
      const Moment& moment = all_.moments[failure.moment];
      return all_.requirements.Violated(failure.expectation, moment, predicted).has_value();
    }
    if (!failure.reported) return predicted.is_none();
    return IsLike(failure.expectation, *failure.reported, predicted);
  }
  bool IsLike(int expectation, double reported, const Prediction& predicted) const {
    if (predicted.is_none()) return false;
    return predicted.Distance(reported) <= all_.requirements.Likeness(expectation);
  }
  // From what it should be to what the fault makes; a state, through any other.
  bool IsOnItsWay(const Failure& failure, const Prediction& predicted) const {
    if (!failure.reported || predicted.is_none()) return false;
    const int reading = all_.requirements.ReadingOf(failure.expectation);
    if (Nth(all_.what_if.readings(), reading).discrete) {
      const Moment& moment = all_.moments[failure.moment];
      return all_.requirements.Violated(failure.expectation, moment, predicted).has_value();
    }
    const double room = all_.requirements.Likeness(failure.expectation);
    return *failure.reported >= std::min(failure.wanted, predicted.low()) - room &&
           *failure.reported <= std::max(failure.wanted, predicted.high()) + room;
  }

  // What was reported in the other steps is what the fault makes there, or what should be: a break
  // that comes and goes is one of the two. A wrong table, an extra resistance, a sensor that is off
  // is neither, somewhere.
  bool IsBelied(Counterfactual::Trial& trial, const Failure& failure) {
    if (all_.requirements.IsOfDegrees(failure.expectation)) return false;  // no report is kept
    for (std::size_t m = 0; m < all_.moments.size(); ++m) {
      if (m == failure.moment) continue;
      if (!all_.requirements.IsJudged(failure.expectation, all_.moments[m])) continue;
      if (IsBeliedIn(m, trial, failure)) return true;
    }
    return false;
  }

  // By what was reported there, or by what was met there while that was wrong or did not come.
  bool IsBeliedIn(std::size_t m, Counterfactual::Trial& trial, const Failure& failure) {
    const check::Verdict& verdict = Nth(all_.verdicts, failure.expectation);
    const Moment& moment = all_.moments[m];
    const int reading = all_.requirements.ReadingOf(failure.expectation);
    const TimeNs settled_ns = all_.requirements.SettledNs(failure.expectation, moment);
    const auto reported = LastIn(verdict, moment);
    const bool silent = !failure.reported && !verdict.evidence.points.empty() &&
                        !IsSeenBetween(verdict, settled_ns, moment.end_ns);
    if (!reported && !silent) return false;
    if (reported && IsAsItShould(failure.expectation, moment, reported->reported)) return false;
    all_.what_if.Prepare({m});
    const auto changes = ChangesOf(trial, m, reading);
    const auto change = std::ranges::find(changes, reading, &Change::reading);
    if (change == changes.end()) return true;
    if (silent ? !change->predicted.is_none()
               : !IsLike(failure.expectation, reported->reported, change->predicted)) {
      return true;
    }
    if (failure.brief()) return false;
    const Failure here{failure.expectation, m, std::nullopt, 0, true, moment.begin_ns,
                       moment.end_ns};
    return !all_.concern.MetDuring(here, all_.concern.HeardOf(changes, trial.Runs())).empty();
  }

  bool IsAsItShould(int expectation, const Moment& moment, double reported) const {
    return !all_.requirements.Violated(expectation, moment, Prediction::Value(reported))
                .has_value();
  }

  bool IsInput(const std::string& terminal) const {
    return std::ranges::any_of(all_.bench.controller->inputs, [&](const auto& input) {
      return input.terminal == terminal || input.minus == terminal;
    });
  }

  const Accusation& all_;
  const std::vector<std::string> names_ = CircuitNames(all_.bench);
  std::vector<Failure> failures_;
};

}  // namespace

Charges ChargesOf(const Accusation& all, const std::vector<check::CircuitCoverage>& circuits) {
  return Court(all).Weigh(circuits);
}

}  // namespace drycrank::study
