// SPDX-License-Identifier: Apache-2.0
#include "study/concern.h"

#include <algorithm>

#include "types/nth.h"

namespace drycrank::study {

using check::Outcome;
using diagnose::Change;

Touch Concern::Of(const profile::Fault& open, const std::vector<std::size_t>& moments) const {
  Touch touch;
  Counterfactual::Trial trial(what_if_, open);
  for (const std::size_t m : moments) {
    std::vector<Change> changes = trial.Changes(m);
    if (moments_[m].turning()) AddPlayed(trial, m, changes);
    AddMoment(m, HeardOf(changes, trial.Runs()), touch);
  }
  return touch;
}

bool Concern::IsMet(int expectation) const {
  return Nth(verdicts_, expectation).outcome == Outcome::kMet;
}

// What failed in this moment and only playing tells of.
void Concern::AddPlayed(Counterfactual::Trial& trial, std::size_t m,
                        std::vector<Change>& changes) const {
  const auto untold = [&](const check::Verdict& verdict) {
    const int reading = requirements_.ReadingOf(verdict.expectation);
    return reading >= 0 && verdict.outcome != Outcome::kMet &&
           requirements_.IsJudged(verdict.expectation, moments_[m]) &&
           std::ranges::count(changes, reading, &Change::reading) == 0 && trial.MayMove(reading);
  };
  if (std::ranges::none_of(verdicts_, untold)) return;
  for (const Change& change : trial.Played(m)) {
    if (std::ranges::count(changes, change.reading, &Change::reading) == 0) {
      changes.push_back(change);
    }
  }
}

// A display that hears nothing keeps what it last heard; one that is not heard has nothing.
Concern::Heard Concern::HeardOf(const std::vector<Change>& changes, bool runs) const {
  Heard heard{{}, what_if_.IsSilence(changes), runs};
  for (const Change& change : changes) {
    const bool displays =
        !what_if_.IsControllers(change.reading) && !what_if_.IsAtPins(change.reading);
    if (heard.silent && displays && !change.predicted.is_none()) continue;
    heard.changes.push_back(&change);
  }
  return heard;
}

// Of what was wrong for a while only, a few that were met clear nobody.
void Concern::AddMoment(std::size_t m, const Heard& heard, Touch& touch) const {
  std::vector<const Failure*> failed;
  for (const Failure& f : failures_) {
    if (f.moment == m && IsViolated(f.expectation, m, heard)) failed.push_back(&f);
  }
  for (const Failure* f : failed) {
    const std::set<int> met = MetDuring(*f, heard);
    touch.failed.insert(f->expectation);
    touch.met.insert(met.begin(), met.end());
    // A controller that was off for a moment reports all the rest again, and looks for its
    // position.
    const bool back_again = heard.silent && !f->lasted;
    const bool by_met =
        !met.empty() && !back_again && (f->lasted || 2 * met.size() >= failed.size());
    const bool cleared = by_met || IsRuledOut(*f, heard);
    if (!cleared && MayBe(*f, heard)) touch.open.insert(f->expectation);
  }
}

bool Concern::IsRuledOut(const Failure& failure, const Heard& heard) const {
  // It takes an instant without supply to lose the engine's position; who is not heard keeps it.
  const bool instant = !heard.runs && failure.brief() &&
                       requirements_.Turns(requirements_.ReadingOf(failure.expectation));
  return heard.silent && !instant && !MayHaveBeenQuiet(quiet_, failure);
}

// What does not come is not explained by another value.
bool Concern::MayBe(const Failure& failure, const Heard& heard) const {
  if (failure.reported || requirements_.IsOfDegrees(failure.expectation)) return true;
  const int reading = requirements_.ReadingOf(failure.expectation);
  return std::ranges::any_of(heard.changes, [&](const Change* change) {
    return change->reading == reading && change->predicted.is_none();
  });
}

bool Concern::IsViolated(int expectation, std::size_t m, const Heard& heard) const {
  const int reading = requirements_.ReadingOf(expectation);
  if (heard.silent && heard.runs && !what_if_.IsAtPins(reading) &&
      requirements_.IsOfDegrees(expectation)) {
    return false;
  }
  return requirements_.IsJudged(expectation, moments_[m]) &&
         std::ranges::any_of(heard.changes, [&](const Change* change) {
           return change->reading == reading &&
                  requirements_.Violated(expectation, moments_[m], change->predicted);
         });
}

std::set<int> Concern::MetDuring(const Failure& failure, const Heard& heard) const {
  std::set<int> met;
  const Moment& moment = moments_[failure.moment];
  for (const Change* change : heard.changes) {
    const TimeNs lag_ns = requirements_.LagNs(change->reading, change->predicted);
    for (const int e : requirements_.By(change->reading)) {
      if (!requirements_.IsJudged(e, moment)) continue;
      const bool unheard = heard.silent && heard.runs && !what_if_.IsAtPins(change->reading);
      if (unheard && requirements_.IsOfDegrees(e)) continue;
      if (!IsMet(e) && !IsOffInDegrees(Nth(verdicts_, e), requirements_)) continue;
      if (!requirements_.Violated(e, moment, change->predicted)) continue;
      if (IsSeenDuring(Nth(verdicts_, e), failure, lag_ns)) met.insert(e);
    }
  }
  return met;
}

}  // namespace drycrank::study
