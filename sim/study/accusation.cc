// SPDX-License-Identifier: Apache-2.0
#include "study/accusation.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "types/nth.h"

namespace drycrank::study {
namespace {

using check::CircuitWord;
using check::Outcome;
using diagnose::Change;
using diagnose::Prediction;

constexpr double kShortOhm = 0.1;

// A failure at its worst moment; not observed: in the first moment in which it was to be.
struct Failure {
  int expectation = 0;
  std::size_t moment = 0;
  std::optional<double> reported;  // nothing: nothing was reported
};

std::optional<double> ReportedAt(const check::Verdict& verdict) {
  for (const check::TracePoint& point : verdict.evidence.points) {
    if (point.t_ns == verdict.worst_ns) return point.reported;
  }
  return std::nullopt;
}

class Court {
 public:
  explicit Court(const Accusation& all) : all_(all) {
    for (std::size_t e = 0; e < all.verdicts.size(); ++e) AddFailure(static_cast<int>(e));
    std::vector<std::size_t> moments;
    for (const Failure& failure : failures_) moments.push_back(failure.moment);
    std::ranges::sort(moments);
    all_.what_if.Prepare(moments);
  }

  std::map<int, std::vector<CircuitWord>> Accused(
      const std::vector<check::CircuitCoverage>& circuits) {
    std::map<int, std::set<std::size_t>> explains;  // by circuit: failures
    std::map<int, std::vector<CircuitWord>> words;
    for (std::size_t c = 0; c < circuits.size(); ++c) {
      const int circuit = static_cast<int>(c);
      const std::set<std::size_t> explained = BestOf(circuit, circuits[c].concerned);
      if (!explained.empty()) explains[circuit] = explained;
    }
    for (const auto& [circuit, explained] : explains) {
      const bool outdone = std::ranges::any_of(explains, [&](const auto& other) {
        return other.second.size() > explained.size() &&
               std::ranges::includes(other.second, explained);
      });
      if (outdone) continue;
      for (const std::size_t f : explained) words[circuit].push_back(WordOf(failures_[f]));
    }
    return words;
  }

 private:
  void AddFailure(int e) {
    const check::Verdict& verdict = Nth(all_.verdicts, e);
    if (verdict.outcome != Outcome::kFailed && verdict.outcome != Outcome::kNotObserved) return;
    for (std::size_t m = 0; m < all_.moments.size(); ++m) {
      const Moment& moment = all_.moments[m];
      if (!all_.requirements.IsJudged(e, moment)) continue;
      if (verdict.outcome == Outcome::kNotObserved) {
        failures_.push_back({e, m, std::nullopt});
        return;
      }
      if (verdict.worst_ns < moment.begin_ns || verdict.worst_ns > moment.end_ns) continue;
      failures_.push_back({e, m, ReportedAt(verdict)});
      return;
    }
  }

  CircuitWord WordOf(const Failure& failure) const {
    const check::Verdict& verdict = Nth(all_.verdicts, failure.expectation);
    const Moment& moment = all_.moments[failure.moment];
    const TimeNs t_ns = failure.reported ? verdict.worst_ns : moment.end_ns;
    return {failure.expectation, moment.situation.name, t_ns, "",
            verdict.margin,      verdict.margin_unit};
  }

  // Of the faults that this circuit can have, the one that explains most failures.
  std::set<std::size_t> BestOf(int circuit, const std::vector<int>& concerned) {
    std::set<std::size_t> best;
    std::vector<std::size_t> to_explain;
    for (std::size_t f = 0; f < failures_.size(); ++f) {
      if (std::ranges::count(concerned, failures_[f].expectation) > 0) to_explain.push_back(f);
    }
    if (to_explain.empty()) return best;
    for (const profile::Fault& fault : FaultsOf(circuit)) {
      std::set<std::size_t> explained;
      Counterfactual::Trial trial(all_.what_if, fault);
      for (const std::size_t f : to_explain) {
        if (Explains(trial, failures_[f])) explained.insert(f);
      }
      if (explained.size() > best.size()) best = std::move(explained);
    }
    return best;
  }

  std::vector<profile::Fault> FaultsOf(int circuit) const {
    std::vector<profile::Fault> faults;
    std::set<std::string> ends;
    for (const Break& broken : all_.breaks) {
      if (std::ranges::count(broken.circuits, circuit) == 0) continue;
      faults.push_back(broken.open);
      for (const int w : broken.wires) ends.insert(Nth(all_.bench.wires, w).from);
    }
    for (const std::string& end : ends) {
      faults.emplace_back().kind = profile::fault::ShortToGround{kShortOhm};
      faults.back().at = end;
      faults.emplace_back().kind = profile::fault::ShortToSupply{kShortOhm};
      faults.back().at = end;
    }
    return faults;
  }

  bool Explains(Counterfactual::Trial& trial, const Failure& failure) const {
    std::vector<Change> changes = trial.Changes(failure.moment);
    if (changes.empty() && all_.moments[failure.moment].turning()) {
      changes = trial.Played(failure.moment);
    }
    const int reading = all_.requirements.ReadingOf(failure.expectation);
    bool explained = false;
    for (const Change& change : changes) {
      if (change.reading == reading) explained = IsLike(failure, change.predicted);
      if (IsContradicted(change, failure.moment)) return false;
    }
    return explained;
  }

  bool IsLike(const Failure& failure, const Prediction& predicted) const {
    if (!failure.reported) return predicted.is_none();
    if (predicted.is_none()) return false;
    return predicted.Distance(*failure.reported) <= all_.requirements.Likeness(failure.expectation);
  }

  // Something that was met in this moment would have been violated.
  bool IsContradicted(const Change& change, std::size_t m) const {
    const Moment& moment = all_.moments[m];
    return std::ranges::any_of(all_.requirements.By(change.reading), [&](int e) {
      return Nth(all_.verdicts, e).outcome == Outcome::kMet &&
             all_.requirements.IsJudged(e, moment) &&
             all_.requirements.Violated(e, moment, change.predicted).has_value();
    });
  }

  const Accusation& all_;
  std::vector<Failure> failures_;
};

}  // namespace

std::map<int, std::vector<CircuitWord>> AccusedBy(
    const Accusation& all, const std::vector<check::CircuitCoverage>& circuits) {
  return Court(all).Accused(circuits);
}

}  // namespace drycrank::study
