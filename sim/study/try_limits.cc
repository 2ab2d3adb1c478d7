// SPDX-License-Identifier: Apache-2.0
#include "study/try_limits.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/text.h"
#include "run/runner.h"
#include "study/limit_sight.h"
#include "study/limit_signs.h"
#include "study/limit_trial.h"
#include "study/play.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using profile::Bench;
using profile::Protection;
using profile::ProtectionAction;
using report::LimitResult;
using report::ValueInWords;
using Changes = std::vector<LimitSigns::Change>;

constexpr int kEngineSpeed = 0;
constexpr const char* kNothingCame =
    "No spark and no injection came at all: that they are cut cannot be seen. Walk the bench first.";
constexpr double kLimitToShare = 0.02;  // by which limit_to_rpm may be off

TimeNs EndOf(const profile::Scenario& scenario) {
  double end_s = 0;
  for (const profile::Step& step : scenario.steps) end_s += step.for_s;
  return FromSeconds(end_s);
}

// What was seen of a whole scenario.
struct Seen {
  Changes changes;
  TimeNs end_ns = 0;

  bool ActsAt(TimeNs t_ns) const {
    bool acts = false;
    for (const auto& change : changes) {
      if (change.t_ns <= t_ns) acts = change.acts;
    }
    return acts;
  }
  bool IsKnownAt(TimeNs t_ns) const { return !changes.empty() && changes[0].t_ns <= t_ns; }
  std::optional<TimeNs> FirstIn(const Phase& phase, bool acts) const {
    for (const auto& change : changes) {
      const bool inside = change.t_ns >= phase.begin_ns && change.t_ns < phase.end_ns;
      if (inside && change.acts == acts) return change.t_ns;
    }
    return std::nullopt;
  }
  bool ActsEverIn(const Phase& phase) const {
    return ActsAt(phase.begin_ns) || FirstIn(phase, true).has_value();
  }
  // What was never seen not to act may have acted all along.
  bool MayActAtEndOf(const Phase& phase) const {
    return ActsAt(phase.end_ns - 1) || !IsKnownAt(phase.end_ns - 1);
  }
};

Seen Play(const Bench& bench, const profile::Scenario& scenario, std::uint64_t seed,
          LimitSigns& signs) {
  run::RunOptions options;
  options.seed = seed;
  options.edges_only = true;
  run::Runner runner(bench, scenario, options);
  runner.AddObserver(&signs);
  runner.Start();
  const TimeNs end_ns = EndOf(scenario);
  runner.RunTo(end_ns);
  if (!runner.finished()) runner.Finish(end_ns);
  return {signs.Changes(end_ns), end_ns};
}

// When what is driven passes the level, from there on.
TimeNs PassesNs(const Points& points, double level, TimeNs from_ns) {
  for (std::size_t i = 1; i < points.size(); ++i) {
    const auto& [t0, v0] = points[i - 1];
    const auto& [t1, v1] = points[i];
    if (FromSeconds(t0) < from_ns || (v0 - level) * (v1 - level) > 0 || v0 == v1) continue;
    return FromSeconds(t0 + (level - v0) / (v1 - v0) * (t1 - t0));
  }
  return from_ns;
}

// Judges one trial, phase by phase; each adds to the result.
class TrialJudge {
 public:
  TrialJudge(const Protection& p, const LimitRoom& room, const LimitTrial& trial,
             const LimitSigns& signs, const Seen& seen, const Seeing& seeing, LimitResult& result)
      : p_(p),
        room_(room),
        trial_(trial),
        signs_(signs),
        seen_(seen),
        seeing_(seeing),
        result_(result) {}

  void Judge() {
    if (!JudgeGood()) return;
    JudgeAtOnce();
    JudgeSlowlyOut();
    JudgeLimitTo();
    JudgeSlowlyBack();
    JudgeTooSlow();
  }

 private:
  void Fail(std::string sentence) { result_.failures.push_back(std::move(sentence)); }
  std::string Words(double value) const { return ValueInWords(p_, value); }
  // How late the sign comes.
  double LatenessMs(TimeNs t_ns) const { return ToSeconds(signs_.LatenessNs(t_ns)) * 1000; }
  // A value seen while it moves slowly may be off by what it moves meanwhile.
  double ToleranceMoving(TimeNs t_ns) const {
    return p_.tolerance + trial_.slow_rate * (seeing_.measuring_ms + LatenessMs(t_ns)) / 1000;
  }
  void JudgeValue(const char* does, const char* should, double is, double due, TimeNs t_ns) {
    if (std::abs(is - due) <= ToleranceMoving(t_ns)) return;
    Fail(fmt::format("It {} at {}; it should {} at {} ± {}.", does, Words(is), should, Words(due),
                     Words(p_.tolerance)));
  }

  // False: nothing more can be judged.
  bool JudgeGood() {
    if (seen_.IsKnownAt(trial_.good.begin_ns)) {
      if (!seen_.ActsEverIn(trial_.good)) return true;
      Fail(fmt::format("It acts while {} is good, {}.", p_.watches, Words(room_.good)));
      return false;
    }
    if (!seen_.changes.empty()) {
      Fail(fmt::format("It acts while {} is good, {}; beyond the limit it does not.", p_.watches,
                       Words(room_.good)));
      return false;
    }
    result_.not_shown.push_back(
        p_.action == ProtectionAction::kLamp
            ? fmt::format("{} was not received: what it says is not known.", p_.lamp_text)
        : p_.action == ProtectionAction::kOutputOff
            ? "The output was never on: that it goes off cannot be seen."
            : kNothingCame);
    return false;
  }

  void JudgeAtOnce() {
    const bool acted_before = seen_.ActsAt(trial_.out.begin_ns - 1);
    const auto act_ns = acted_before ? std::nullopt : seen_.FirstIn(trial_.out, true);
    const TimeNs from_ns = PassesNs(trial_.value, p_.limit, trial_.out.begin_ns);
    const double slack_ms =
        seeing_.JumpMs(room_.good, room_.beyond, p_.limit, p_.tolerance) +
        LatenessMs(trial_.out.begin_ns);
    result_.within_allowed_ms = p_.delay_ms + p_.delay_tolerance_ms + slack_ms;
    if (!act_ns) {
      Fail(fmt::format("It does not act when {} jumps to {} and stays there for {:.1f} s.",
                       p_.watches, Words(room_.beyond),
                       ToSeconds(trial_.out.end_ns - trial_.out.begin_ns)));
      return;
    }
    // An engine's speed cannot jump: one that is seen to pass the limit may be a little before it.
    result_.within_ms = std::max(0.0, ToSeconds(*act_ns - from_ns) * 1000);
    const double soonest_ms = p_.delay_ms - p_.delay_tolerance_ms - seeing_.measuring_ms;
    if (*result_.within_ms > result_.within_allowed_ms || *result_.within_ms < soonest_ms) {
      Fail(
          fmt::format("It acts {:.0f} ms after {} jumped to {}; it should take {:g} ms ± {:g} ms, "
                      "and up to {:.0f} ms to be seen.",
                      *result_.within_ms, p_.watches, Words(room_.beyond), p_.delay_ms,
                      p_.delay_tolerance_ms, slack_ms));
    }
    const auto back_ns = seen_.FirstIn(trial_.back, false);
    if (back_ns) {
      const TimeNs good_ns = PassesNs(trial_.value, p_.release, trial_.back.begin_ns);
      result_.let_go_ms = ToSeconds(*back_ns - good_ns) * 1000;
    } else if (seen_.ActsAt(trial_.back.begin_ns)) {
      Fail(fmt::format("It does not let go when {} jumps back to {}.", p_.watches,
                       Words(room_.good)));
    }
  }

  void JudgeSlowlyOut() {
    const auto act_ns = seen_.FirstIn(trial_.slow_out, true);
    if (!act_ns) {
      Fail(fmt::format("It does not act when {} goes slowly to {}.", p_.watches,
                       Words(room_.beyond)));
      return;
    }
    // At once a filter takes what a jump does, slowly its time constant.
    const double at_once_ms = seeing_.JumpMs(room_.good, room_.beyond, p_.limit, 0);
    const double took_ms = result_.within_ms.value_or(p_.delay_ms + at_once_ms) - at_once_ms +
                           seeing_.LagMs();
    const TimeNs took_ns = FromMs(std::max(0.0, took_ms));
    const TimeNs tripped_ns = std::max(trial_.slow_out.begin_ns, *act_ns - took_ns);
    result_.trips_at = ValueAt(trial_.value, tripped_ns);
    JudgeValue("acts", "act", *result_.trips_at, p_.limit, *act_ns);
    if (seen_.FirstIn({*act_ns, trial_.slow_out.end_ns}, false)) {
      Fail(fmt::format("It comes and goes while {} stays beyond the limit.", p_.watches));
    }
  }

  // Below limit_to_rpm the engine runs; above it does not.
  void JudgeLimitTo() {
    if (!trial_.up_to_limit || !result_.trips_at) return;
    if (seen_.ActsAt(trial_.below_limit_to->end_ns - 1)) {
      Fail(fmt::format("The engine does not run below {:g} r/min either.", p_.limit_to_rpm));
      return;
    }
    const auto cut_ns = seen_.FirstIn(*trial_.up_to_limit, true);
    if (!cut_ns) {
      Fail(fmt::format("The engine is not held at {:g} r/min.", p_.limit_to_rpm));
      return;
    }
    result_.limited_to_rpm = ValueAt(trial_.speed_rpm, *cut_ns);
    const double off_rpm = *result_.limited_to_rpm - p_.limit_to_rpm;
    if (std::abs(off_rpm) <= kLimitToShare * p_.limit_to_rpm) return;
    Fail(fmt::format("It holds the engine at {:.0f} r/min; it should at {:g} r/min ± {:.0f} r/min.",
                     *result_.limited_to_rpm, p_.limit_to_rpm, kLimitToShare * p_.limit_to_rpm));
  }

  void JudgeSlowlyBack() {
    if (!seen_.ActsAt(trial_.slow_back.begin_ns)) return;  // said already
    const auto back_ns = seen_.FirstIn(trial_.slow_back, false);
    if (!back_ns) {
      Fail(fmt::format("It does not let go when {} goes slowly back to {}.", p_.watches,
                       Words(room_.good)));
      return;
    }
    result_.released_at = ValueAt(trial_.value, *back_ns - FromMs(seeing_.filter_ms));
    JudgeValue("lets go", "let go", *result_.released_at, p_.release, *back_ns);
  }

  void JudgeTooSlow() {
    if (!trial_.too_slow || !seen_.ActsEverIn(*trial_.too_slow)) return;
    Fail(fmt::format("It acts at {:.0f} r/min already; it should look from {:g} r/min on.",
                     ValueAt(trial_.speed_rpm, trial_.too_slow->begin_ns), p_.needs_above_rpm));
  }

  const Protection& p_;
  const LimitRoom& room_;
  const LimitTrial& trial_;
  const LimitSigns& signs_;
  const Seen& seen_;
  const Seeing& seeing_;
  LimitResult& result_;
};

// What comes of the value, when it acts while that is good.
enum class Manner { kAsItShould, kOtherWay, kWhateverTheValue };

Manner MannerOf(const LimitTrial& trial, const Seen& seen) {
  if (!seen.MayActAtEndOf(trial.good)) return Manner::kAsItShould;
  if (!seen.MayActAtEndOf(trial.out)) return Manner::kOtherWay;
  return seen.MayActAtEndOf(trial.back) ? Manner::kWhateverTheValue : Manner::kAsItShould;
}

struct Tried {
  LimitResult result;
  Manner manner = Manner::kAsItShould;
};

// Of one that acts the other way round, the others that do the same have nothing to show: their values
// change nothing, and they are not to blame.
void ExcuseWhatIsHidden(const Bench& bench, std::vector<Tried>& all) {
  for (const Tried& culprit : all) {
    if (culprit.manner != Manner::kOtherWay) continue;
    const Protection& at_fault = Nth(bench.protections, culprit.result.index);
    for (Tried& other : all) {
      const Protection& p = Nth(bench.protections, other.result.index);
      if (other.manner != Manner::kWhateverTheValue || !LooksLike(at_fault, p)) continue;
      other.result.failures.clear();
      other.result.not_shown = {
          fmt::format("{} acts while its value is good, and does the same: mend that first.",
                      at_fault.name)};
      other.manner = Manner::kAsItShould;
    }
  }
}

class Trier {
 public:
  Trier(const Bench& bench, const LimitOptions& options) : bench_(bench), options_(options) {}

  Tried Try(int index) const {
    const Protection& p = Nth(bench_.protections, index);
    Tried tried;
    LimitResult& result = tried.result;
    result.index = index;
    const LimitRoom room = RoomOf(bench_, p);
    if (!room.why_not.empty()) {
      result.not_shown.push_back(fmt::format("Not tried: {}.", room.why_not));
      return tried;
    }
    result.engine_rpm = room.engine_rpm;
    const LimitTrial trial = MakeTrial(bench_, p, room, options_.faults);
    LimitSigns signs(bench_, p, trial.speed_rpm);
    const Seen seen = Play(bench_, trial.scenario, options_.seed, signs);
    if (seen.changes.empty() && CutsTheEngine(p) && p.stimulus != kEngineSpeed) {
      NothingSeen(p, room, result);
    } else {
      TrialJudge(p, room, trial, signs, seen, SeeingOf(bench_, p), result).Judge();
    }
    tried.manner = MannerOf(trial, seen);
    if (!options_.with_broken_wires) return tried;
    result.open = Blind(p, room, profile::fault::Open{});
    result.shorted = Blind(p, room, profile::fault::ShortToGround{});
    JudgeBlind("open", p.when_open, result.open, result);
    JudgeBlind("shorted to ground", p.when_shorted, result.shorted, result);
    return tried;
  }

 private:
  static bool CutsTheEngine(const Protection& p) {
    return p.action == ProtectionAction::kSparkCut || p.action == ProtectionAction::kFuelCut ||
           p.action == ProtectionAction::kLimitSpeed;
  }
  // No spark and no injection in the whole trial: does the engine run where the value is far from the limit?
  void NothingSeen(const Protection& p, const LimitRoom& room, LimitResult& result) const {
    const FarTrial far = MakeFarTrial(bench_, p, room, options_.faults);
    LimitSigns signs(bench_, p, far.speed_rpm);
    const Seen seen = Play(bench_, far.scenario, options_.seed, signs);
    if (seen.changes.empty() || seen.ActsAt(seen.end_ns - 1)) {
      result.not_shown.push_back(kNothingCame);
      return;
    }
    result.failures.push_back(fmt::format(
        "It acts while {} is good, {}: the engine does not run; at {} it does.", p.watches,
        ValueInWords(p, room.good), ValueInWords(p, far.value)));
  }

  report::Blinded Blind(const Protection& p, const LimitRoom& room,
                        const profile::FaultKind& kind) const {
    report::Blinded blind;
    if (PinOf(bench_, p).empty()) return blind;
    const BlindTrial trial = MakeBlindTrial(bench_, p, room, options_.faults, kind);
    LimitSigns signs(bench_, p, trial.speed_rpm);
    const Seen seen = Play(bench_, trial.scenario, options_.seed, signs);
    if (!seen.IsKnownAt(trial.broken_ns - 1) || seen.ActsAt(trial.broken_ns - 1)) return blind;
    blind.tried = true;
    const auto act_ns = seen.FirstIn(trial.good, true);
    blind.acts_while_good = act_ns && seen.ActsAt(trial.good.end_ns - 1);
    if (blind.acts_while_good) blind.after_s = ToSeconds(*act_ns - trial.broken_ns);
    blind.acts_beyond = seen.ActsAt(trial.beyond.end_ns - 1);
    return blind;
  }

  static void JudgeBlind(const char* what, profile::WhenBlind wanted, const report::Blinded& blind,
                         LimitResult& result) {
    if (wanted == profile::WhenBlind::kAnything) return;
    if (!blind.tried) {
      result.not_shown.push_back(
          fmt::format("What it does with its sensor's wire {} was not seen.", what));
      return;
    }
    const bool must = wanted == profile::WhenBlind::kActs;
    if (blind.acts_while_good == must) return;
    result.failures.push_back(fmt::format("With its sensor's wire {} it {}; it {}.", what,
                                          must ? "does not act" : "acts",
                                          must ? "must act" : "must not"));
  }

  const Bench& bench_;
  const LimitOptions& options_;
};

}  // namespace

report::Limits TryLimits(const Bench& bench, const LimitOptions& options) {
  report::Limits limits;
  limits.version = Version();
  limits.bench = &bench;
  limits.seed = options.seed;
  for (const profile::Fault& fault : options.faults) {
    limits.faults.push_back(report::FaultInWords(fault));
  }
  const Trier trier(bench, options);
  std::vector<Tried> all;
  for (std::size_t i = 0; i < bench.protections.size() && !options.stop(); ++i) {
    const int index = static_cast<int>(i);
    const bool wanted = options.only.empty() || std::ranges::count(options.only, index) > 0;
    if (wanted) all.push_back(trier.Try(index));
  }
  ExcuseWhatIsHidden(bench, all);
  for (Tried& tried : all) limits.results.push_back(std::move(tried.result));
  return limits;
}

}  // namespace drycrank::study
