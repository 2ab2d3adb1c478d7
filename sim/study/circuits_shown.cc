// SPDX-License-Identifier: Apache-2.0
#include "study/circuits_shown.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "profile/sensors.h"
#include "profile/triggers.h"
#include "study/accusation.h"
#include "study/breaks.h"
#include "study/concern.h"
#include "study/counterfactual.h"
#include "study/failures.h"
#include "study/gap_reasons.h"
#include "study/moments.h"
#include "study/requirements.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using check::CircuitCoverage;
using check::CircuitState;
using check::CircuitWord;
using check::Gap;
using check::Outcome;
using diagnose::Change;

// Enough of them to find a position at low and at high speed, and a moved cam.
constexpr std::size_t kMostPlayed = 3;
// Of a run in which much failed, so many moments tell whom it concerns.
constexpr std::size_t kMostFailed = 24;

// What has been found about one place.
struct Found {
  std::vector<CircuitWord> proofs;
  std::set<int> concerned;
  Touch touch;
};

bool IsLarger(const CircuitWord& a, const CircuitWord& b) {
  if (std::isnan(a.margin) != std::isnan(b.margin)) return std::isnan(a.margin);
  return a.margin > b.margin;
}

class Evidence {
 public:
  explicit Evidence(const Judged& judged)
      : judged_(judged),
        bench_(judged.bench),
        moments_(MomentsOf(judged.bench, judged.scenario, judged.steps)),
        breaks_(BreaksOf(judged.bench)),
        found_(breaks_.size()),
        what_if_(judged.bench, moments_),
        requirements_(judged.bench, judged.scenario, what_if_.readings()) {}

  std::vector<CircuitCoverage> Weigh() {
    for (const std::string& name : CircuitNames(bench_)) circuits_.push_back({name});
    if (bench_.controller && (!judged_.controller_real || !judged_.driven.empty())) {
      AskFirstMoment();
      PassOverIdle();
      AskOwnMoments();
      AskTurning();
      AskPlayed();
      AskWhereItFailed();
      Conclude();
      Accuse();
    }
    const bool always_faulty = AlwaysFaulty();
    for (std::size_t c = 0; c < circuits_.size(); ++c) {
      ExplainGap(judged_, circuits_, UnshownOf(c), always_faulty, circuits_[c]);
    }
    return std::move(circuits_);
  }

 private:
  bool Counts(const Moment& moment) const { return !moment.faulty || !judged_.faults_known; }
  bool IsMet(int expectation) const {
    return Nth(judged_.verdicts, expectation).outcome == Outcome::kMet;
  }
  // Is every wire of the break's circuits shown already?
  bool IsShown(std::size_t b) const { return !found_[b].proofs.empty(); }

  bool AllShown() const {
    return std::ranges::all_of(found_, [](const Found& f) { return !f.proofs.empty(); });
  }

  // The one in which most of what was met is judged; at standstill, where there is one.
  void AskFirstMoment() {
    std::size_t most = 0;
    for (std::size_t m = 0; m < moments_.size(); ++m) {
      if (!Counts(moments_[m])) continue;
      const std::size_t weight = 2 * JudgedIn(moments_[m]) + (moments_[m].turning() ? 0 : 1);
      if (weight > most) first_ = m;
      most = std::max(most, weight);
    }
    if (most == 0) return;
    what_if_.Prepare({first_});
    for (std::size_t b = 0; b < breaks_.size(); ++b) Ask(b, {first_});
  }

  std::size_t JudgedIn(const Moment& moment) const {
    std::size_t judged = 0;
    for (std::size_t e = 0; e < judged_.verdicts.size(); ++e) {
      const int expectation = static_cast<int>(e);
      judged += IsMet(expectation) && requirements_.IsJudged(expectation, moment);
    }
    return judged;
  }

  // A wire of a lamp, a spare: no device of the controller's hangs on it, and it moves nothing.
  void PassOverIdle() {
    idle_.assign(breaks_.size(), false);
    for (std::size_t b = 0; b < breaks_.size(); ++b) {
      if (IsShown(b) || IsAtDevice(bench_, breaks_[b])) continue;
      idle_[b] = !what_if_.Moves(breaks_[b].open);
    }
  }

  void AskOwnMoments() {
    std::vector<std::vector<std::size_t>> own(breaks_.size());
    std::vector<std::size_t> all;
    for (std::size_t b = 0; b < breaks_.size(); ++b) {
      if (IsShown(b) || idle_[b]) continue;
      own[b] = OwnMoments(breaks_[b]);
      all.insert(all.end(), own[b].begin(), own[b].end());
    }
    std::ranges::sort(all);
    what_if_.Prepare(all);
    for (std::size_t b = 0; b < breaks_.size(); ++b) Ask(b, own[b]);
  }

  // Those at standstill in which a stimulus of the devices there is not as in the first; of a
  // trunk, and of a load that an input watches, all but that one.
  std::vector<std::size_t> OwnMoments(const Break& broken) const {
    const bool all = IsTrunk(bench_, broken) || !IsAtDevice(bench_, broken);
    const std::vector<int> stimuli = StimuliOf(DevicesAt(bench_, broken));
    std::vector<std::size_t> own;
    for (std::size_t m = 0; m < moments_.size(); ++m) {
      if (moments_[m].turning() || !Counts(moments_[m]) || m == first_) continue;
      const auto differs = [&](int s) {
        return Nth(moments_[m].situation.stimuli, s) != Nth(moments_[first_].situation.stimuli, s);
      };
      if (all || std::ranges::any_of(stimuli, differs)) own.push_back(m);
    }
    return own;
  }

  std::vector<int> StimuliOf(const std::vector<int>& devices) const {
    std::vector<int> stimuli;
    for (const int d : devices) {
      const int sensor = d - static_cast<int>(bench_.triggers.size());
      if (sensor < 0) continue;
      stimuli.push_back(Nth(bench_.sensors, sensor).stimulus);
      const auto* pulses =
          std::get_if<profile::FrequencySensor>(&Nth(bench_.sensors, sensor).model);
      if (pulses != nullptr && pulses->width_stimulus >= 0) {
        stimuli.push_back(pulses->width_stimulus);
      }
    }
    return stimuli;
  }

  void AskTurning() {
    std::vector<std::size_t> turning;
    for (std::size_t m = 0; m < moments_.size(); ++m) {
      if (moments_[m].turning() && Counts(moments_[m])) turning.push_back(m);
    }
    if (AllShown()) return;
    what_if_.Prepare(turning);
    for (std::size_t b = 0; b < breaks_.size(); ++b) Ask(b, turning);
    if (turning.size() > kMostPlayed) {
      turning = {turning.front(), turning[turning.size() / 2], turning.back()};
    }
    played_ = turning;
  }

  void AskPlayed() {
    for (std::size_t b = 0; b < breaks_.size(); ++b) {
      if (IsShown(b) || idle_[b] || played_.empty()) continue;
      Counterfactual::Trial trial(what_if_, breaks_[b].open);
      for (const std::size_t m : played_) {
        if (IsShown(b)) break;
        if (MayProve(trial, m)) Take(b, m, trial.Played(m), trial.Runs());
      }
    }
  }

  // Is something expected in this moment that playing could show violated?
  bool MayProve(Counterfactual::Trial& trial, std::size_t m) const {
    for (std::size_t e = 0; e < judged_.verdicts.size(); ++e) {
      const int expectation = static_cast<int>(e);
      const int reading = requirements_.ReadingOf(expectation);
      if (reading < 0 || !IsMet(expectation)) continue;
      if (requirements_.IsJudged(expectation, moments_[m]) && trial.MayMove(reading)) return true;
    }
    return false;
  }

  // Whom the failures concern, a fault of the scenario in force or not.
  void AskWhereItFailed() {
    failures_ = FailuresOf(judged_.verdicts, moments_, requirements_);
    const std::vector<std::size_t> failed = FailedMoments(failures_, kMostFailed);
    if (failed.empty()) return;
    what_if_.Prepare(failed);
    for (std::size_t b = 0; b < breaks_.size(); ++b) {
      found_[b].touch = concern_.Of(breaks_[b].open, failed);
      found_[b].concerned.insert(found_[b].touch.open.begin(), found_[b].touch.open.end());
    }
  }

  void Ask(std::size_t b, const std::vector<std::size_t>& moments) {
    if (IsShown(b) || moments.empty() || (b < idle_.size() && idle_[b])) return;
    Counterfactual::Trial trial(what_if_, breaks_[b].open);
    std::map<int, std::set<std::size_t>> falls_short;  // of expectations that need all moments
    for (const std::size_t m : moments) {
      for (const Change& change : trial.Changes(m)) {
        TakeChange(b, m, change, trial.Runs(), falls_short);
      }
      if (IsShown(b)) return;
    }
    for (const auto& [e, violated] : falls_short) {
      if (AllJudgedIn(e, violated)) Note(b, e, *violated.rbegin(), {}, {std::nan(""), ""});
    }
  }

  void Take(std::size_t b, std::size_t m, const std::vector<Change>& changes, bool runs) {
    std::map<int, std::set<std::size_t>> falls_short;
    for (const Change& change : changes) TakeChange(b, m, change, runs, falls_short);
    for (const auto& [e, violated] : falls_short) {
      if (AllJudgedIn(e, violated)) Note(b, e, m, {}, {std::nan(""), ""});
    }
  }

  // Every moment of every step in which it is judged is among those; a step without one tells
  // nothing.
  bool AllJudgedIn(int e, const std::set<std::size_t>& violated) const {
    const auto& during = Nth(judged_.scenario.expectations, e).during;
    for (std::size_t i = 0; i < judged_.steps.size(); ++i) {
      if (!during.empty() && std::ranges::count(during, judged_.steps[i].name) == 0) continue;
      bool any = false;
      for (std::size_t m = 0; m < moments_.size(); ++m) {
        if (moments_[m].step != i) continue;
        if (!violated.contains(m)) return false;
        any = true;
      }
      if (!any) return false;
    }
    return true;
  }

  // `runs`: the controller has its supply, and fires though nobody hears of it.
  void TakeChange(std::size_t b, std::size_t m, const Change& change, bool runs,
                  std::map<int, std::set<std::size_t>>& falls_short) {
    for (const int e : requirements_.By(change.reading)) {
      const bool unheard = runs && change.predicted.is_none() && !what_if_.IsAtPins(change.reading);
      if (unheard && requirements_.IsOfDegrees(e)) continue;
      const Moment& moment = moments_[m];
      if (!requirements_.IsJudged(e, moment) || !WasObservable(e, moment)) continue;
      const auto violation = requirements_.Violated(e, moment, change.predicted);
      if (!violation) continue;
      if (requirements_.NeedsAllMoments(e)) {
        falls_short[e].insert(m);
      } else if (const auto* healthy = what_if_.Healthy(m, change.reading);
                 healthy == nullptr || !requirements_.Violated(e, moment, *healthy)) {
        Note(b, e, m, change.predicted, *violation);
      }
    }
  }

  bool WasObservable(int e, const Moment& moment) const {
    return std::ranges::none_of(Nth(judged_.verdicts, e).stretches, [&](const auto& stretch) {
      return stretch.begin_ns <= moment.end_ns && stretch.end_ns >= moment.begin_ns;
    });
  }

  void Note(std::size_t b, int e, std::size_t m, const diagnose::Prediction& would,
            const Violation& violation) {
    if (!IsMet(e)) return;
    found_[b].concerned.insert(e);
    const int reading = requirements_.ReadingOf(e);
    const Moment& moment = moments_[m];
    found_[b].proofs.push_back({e, moment.situation.name, moment.end_ns,
                                diagnose::InWords(Nth(what_if_.readings(), reading), would),
                                violation.margin, violation.unit});
  }

  // A circuit is as well shown as the place of it that is shown worst.
  void Conclude() {
    std::vector<std::optional<std::vector<CircuitWord>>> least(circuits_.size());
    std::vector<bool> gap(circuits_.size(), false);
    for (std::size_t b = 0; b < breaks_.size(); ++b) {
      Found& found = found_[b];
      std::ranges::stable_sort(found.proofs, IsLarger);
      for (const int c : breaks_[b].circuits) {
        Nth(circuits_, c)
            .concerned.insert(Nth(circuits_, c).concerned.end(), found.concerned.begin(),
                              found.concerned.end());
        if (found.proofs.empty()) {
          Nth(gap, c) = true;
        } else if (!Nth(least, c) || IsLarger(Nth(least, c)->front(), found.proofs.front())) {
          Nth(least, c) = found.proofs;
        }
      }
    }
    for (std::size_t c = 0; c < circuits_.size(); ++c) {
      auto& concerned = circuits_[c].concerned;
      std::ranges::sort(concerned);
      concerned.erase(std::unique(concerned.begin(), concerned.end()), concerned.end());
      if (!least[c] || gap[c] || !judged_.IsDriven(circuits_[c].circuit)) continue;
      circuits_[c].state = CircuitState::kProven;
      circuits_[c].gap = Gap::kNone;
      circuits_[c].proofs = std::move(*least[c]);
    }
  }

  void Accuse() {
    std::vector<Touch> touches(circuits_.size());
    for (std::size_t b = 0; b < breaks_.size(); ++b) {
      for (const int c : breaks_[b].circuits) {
        Nth(touches, c).Add(found_[b].touch);
      }
    }
    const Accusation accusation{bench_,    judged_.scenario, judged_.verdicts, moments_,
                                failures_, requirements_,    concern_,         what_if_,
                                breaks_,   touches};
    Charges charges = ChargesOf(accusation, circuits_);
    for (auto& [circuit, why] : charges.doubted) {
      CircuitCoverage& doubted = Nth(circuits_, circuit);
      doubted.state = CircuitState::kNotShown;
      doubted.gap = Gap::kOtherFault;
      doubted.why = std::move(why);
      doubted.proofs.clear();
    }
    for (auto& [circuit, words] : charges.accused) {
      CircuitCoverage& accused = Nth(circuits_, circuit);
      if (!judged_.IsDriven(accused.circuit)) continue;
      accused.state = CircuitState::kFailed;
      accused.gap = Gap::kNone;
      accused.against = std::move(words);
    }
  }

  Unshown UnshownOf(std::size_t circuit) const {
    Unshown unshown;
    for (std::size_t b = 0; b < breaks_.size(); ++b) {
      const bool own = std::ranges::count(breaks_[b].circuits, static_cast<int>(circuit)) > 0;
      if (!own || IsShown(b)) continue;
      unshown.breaks.push_back(&breaks_[b]);
      const std::set<int>& failed = found_[b].touch.failed;
      unshown.failed.insert(failed.begin(), failed.end());
    }
    return unshown;
  }

  bool AlwaysFaulty() const {
    return !moments_.empty() &&
           std::ranges::none_of(moments_, [&](const Moment& m) { return Counts(m); });
  }

  const Judged& judged_;
  const profile::Bench& bench_;
  std::vector<Moment> moments_;
  std::vector<Break> breaks_;
  std::vector<Found> found_;  // per break
  std::vector<bool> idle_;    // per break: in no moment would anything be reported otherwise
  Counterfactual what_if_;
  Requirements requirements_;
  std::size_t first_ = 0;  // the moment that was asked first
  std::vector<std::size_t> played_;
  std::vector<Failure> failures_;
  const Concern concern_{judged_.verdicts, moments_,      failures_,
                         requirements_,    judged_.quiet, what_if_};
  std::vector<CircuitCoverage> circuits_;
};

}  // namespace

std::vector<CircuitCoverage> EvidenceOf(const Judged& judged) { return Evidence(judged).Weigh(); }

}  // namespace drycrank::study
