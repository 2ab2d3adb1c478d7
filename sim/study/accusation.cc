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
// A fault explains failures when there are so many times more of them than of those that it would
// have made otherwise: several faults may be there at once.
constexpr std::size_t kOutweighs = 2;

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

TimeNs EndOfStep(const std::vector<Moment>& moments, std::size_t step) {
  TimeNs end_ns = 0;
  for (const Moment& moment : moments) {
    if (moment.step == step) end_ns = std::max(end_ns, moment.end_ns);
  }
  return end_ns;
}

// Nothing for what was met, or failed in a step without a moment.
std::optional<Failure> FailureOf(const check::Verdict& verdict, const std::vector<Moment>& moments,
                                 const Requirements& requirements) {
  const bool failed = verdict.outcome == Outcome::kFailed;
  if (!failed && verdict.outcome != Outcome::kNotObserved) return std::nullopt;
  for (std::size_t m = 0; m < moments.size(); ++m) {
    if (!requirements.IsJudged(verdict.expectation, moments[m])) continue;
    if (!failed && verdict.judged == 0) return Failure{verdict.expectation, m, std::nullopt};
    const bool in_step = verdict.worst_ns >= moments[m].begin_ns &&
                         verdict.worst_ns <= EndOfStep(moments, moments[m].step);
    if (in_step && !failed) return Failure{verdict.expectation, m, std::nullopt};
    if (in_step) return Failure{verdict.expectation, m, ReportedAt(verdict)};
  }
  return std::nullopt;
}

class Court {
 public:
  explicit Court(const Accusation& all) : all_(all) {
    for (std::size_t e = 0; e < all.verdicts.size(); ++e) {
      const auto failure = FailureOf(all.verdicts[e], all.moments, all.requirements);
      if (failure) failures_.push_back(*failure);
    }
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
    if (const int common = CommonCause(circuits, explains); common >= 0) {
      std::set<std::size_t> all;
      for (const auto& [circuit, explained] : explains)
        all.insert(explained.begin(), explained.end());
      explains = {{common, all}};
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
  // Several failures, each explained by a break of its own, and one circuit that nothing has shown
  // concerns them all: then it is that one, by a resistance, say. -1: there is none.
  int CommonCause(const std::vector<check::CircuitCoverage>& circuits,
                  const std::map<int, std::set<std::size_t>>& explains) const {
    std::set<std::size_t> all;
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
      const auto concerned = [&](std::size_t f) {
        return std::ranges::count(circuits[c].concerned, failures_[f].expectation) > 0;
      };
      if (!std::ranges::all_of(all, concerned)) continue;
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
  std::set<std::size_t> BestOf(int circuit, const std::vector<int>& concerned) {
    std::set<std::size_t> best;
    std::vector<std::size_t> to_explain;
    for (std::size_t f = 0; f < failures_.size(); ++f) {
      if (std::ranges::count(concerned, failures_[f].expectation) > 0) to_explain.push_back(f);
    }
    if (to_explain.empty()) return best;
    for (const profile::Fault& fault : FaultsOf(circuit)) {
      std::set<std::size_t> explained;
      std::size_t belied = 0;
      Counterfactual::Trial trial(all_.what_if, fault);
      for (const std::size_t f : to_explain) {
        Says says = Ask(trial, failures_[f]);
        if (says == Says::kThis && IsBelied(trial, failures_[f])) says = Says::kOther;
        if (says == Says::kThis) explained.insert(f);
        belied += says == Says::kOther;
      }
      if (explained.size() > kOutweighs * belied && explained.size() > best.size()) {
        best = std::move(explained);
      }
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

  Says Ask(Counterfactual::Trial& trial, const Failure& failure) const {
    const int reading = all_.requirements.ReadingOf(failure.expectation);
    const auto concerns = [&](const Change& change) { return change.reading == reading; };
    const std::vector<Change> changes = ChangesOf(trial, failure.moment, reading);
    Says says = Says::kNothing;
    for (const Change& change : changes) {
      if (concerns(change)) says = IsLike(failure, change.predicted) ? Says::kThis : Says::kOther;
      if (IsContradicted(change, failure.moment)) return Says::kOther;
    }
    return says;
  }

  bool IsLike(const Failure& failure, const Prediction& predicted) const {
    if (!failure.reported) return predicted.is_none();
    return IsLike(failure.expectation, *failure.reported, predicted);
  }
  bool IsLike(int expectation, double reported, const Prediction& predicted) const {
    if (predicted.is_none()) return false;
    return predicted.Distance(reported) <= all_.requirements.Likeness(expectation);
  }

  // What was reported in the other steps is what the fault makes there, or what should be: a break that
  // comes and goes is one of the two. A wrong table, an extra resistance, a sensor that is off is
  // neither, somewhere.
  bool IsBelied(Counterfactual::Trial& trial, const Failure& failure) {
    const check::Verdict& verdict = Nth(all_.verdicts, failure.expectation);
    const int reading = all_.requirements.ReadingOf(failure.expectation);
    for (std::size_t m = 0; m < all_.moments.size(); ++m) {
      const Moment& moment = all_.moments[m];
      if (m == failure.moment) continue;
      if (!all_.requirements.IsJudged(failure.expectation, moment)) continue;
      const auto reported = LastIn(verdict, moment);
      if (!reported || IsAsItShould(failure.expectation, moment, *reported)) continue;
      all_.what_if.Prepare({m});
      const auto changes = ChangesOf(trial, m, reading);
      const auto change = std::ranges::find(changes, reading, &Change::reading);
      if (change == changes.end() || !IsLike(failure.expectation, *reported, change->predicted)) {
        return true;
      }
    }
    return false;
  }

  bool IsAsItShould(int expectation, const Moment& moment, double reported) const {
    return !all_.requirements.Violated(expectation, moment, Prediction::Value(reported))
                .has_value();
  }

  // The last report of the step that the verdict has kept, once all has settled.
  static std::optional<double> LastIn(const check::Verdict& verdict, const Moment& moment) {
    std::optional<double> last;
    const TimeNs settled_ns = moment.begin_ns + (moment.end_ns - moment.begin_ns) / 2;
    for (const check::TracePoint& point : verdict.evidence.points) {
      if (point.t_ns > settled_ns && point.t_ns <= moment.end_ns) last = point.reported;
    }
    return last;
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

std::vector<std::size_t> FailedMoments(const std::vector<check::Verdict>& verdicts,
                                       const std::vector<Moment>& moments,
                                       const Requirements& requirements, std::size_t most) {
  std::vector<std::size_t> failed;
  for (const check::Verdict& verdict : verdicts) {
    const auto failure = FailureOf(verdict, moments, requirements);
    if (!failure || failed.size() >= most) continue;
    if (std::ranges::count(failed, failure->moment) == 0) failed.push_back(failure->moment);
  }
  std::ranges::sort(failed);
  return failed;
}

std::map<int, std::vector<CircuitWord>> AccusedBy(
    const Accusation& all, const std::vector<check::CircuitCoverage>& circuits) {
  return Court(all).Accused(circuits);
}

}  // namespace drycrank::study
