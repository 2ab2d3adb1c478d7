// SPDX-License-Identifier: Apache-2.0
#include "study/requirements.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "check/wanted.h"
#include "profile/state_names.h"
#include "scenario/timeline.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::study {
namespace {

namespace expect = profile::expect;
using diagnose::Prediction;
using diagnose::Reading;
using profile::Needs;

constexpr double kNoNumber = std::numeric_limits<double>::quiet_NaN();
constexpr double kLeastJudgedMs = 100;  // of a step, besides one period of the message
constexpr double kSynchronised = 3;     // standin/controller.h
constexpr double kPatiencePeriods = 1.5;
constexpr double kTurnsLagS = 1;  // of what needs turns of the engine

constexpr bool IsOfOutputs(Needs needs) {
  return needs == Needs::kAngles || needs == Needs::kOutputs;
}

// What a target wants in a moment, and how far from it is still right.
struct Band {
  double wanted = 0, tolerance = 0;
};
std::optional<Band> BandOf(const profile::Bench& bench, const expect::Target& target,
                           const std::string& unit, double tolerance, const Moment& moment) {
  if (target.value) return Band{*target.value, tolerance};
  if (target.stimulus < 0) return std::nullopt;
  const std::string& from = Nth(bench.stimuli, target.stimulus).unit;
  const double stimulus = Nth(moment.situation.stimuli, target.stimulus);
  const auto wanted = unit.empty() ? std::optional(stimulus) : Convert(stimulus, from, unit);
  if (!wanted) return std::nullopt;
  const auto zero = target.absolute ? ConvertDifference(bench.barometric_pressure_kpa, "kPa",
                                                        unit.empty() ? from : unit)
                                    : std::optional(0.0);
  if (!zero) return std::nullopt;
  const double moved = Nth(moment.moved, target.stimulus);
  const double lag = unit.empty() ? moved : ConvertDifference(moved, from, unit).value_or(moved);
  return Band{*wanted + *zero, tolerance + std::abs(lag)};
}

std::optional<Violation> Outside(const std::optional<Band>& band, const Prediction& prediction,
                                 const std::string& unit) {
  if (!band) return std::nullopt;
  const double margin = prediction.Distance(band->wanted) - band->tolerance;
  if (margin <= 0) return std::nullopt;
  return Violation{margin, unit};
}

// `wanted`: whether the condition must hold. Above and below are monotonic, so the ends tell; a
// value in a band may be any.
std::optional<Violation> Against(const profile::Condition& condition, bool wanted,
                                 const Prediction& prediction, const std::string& unit) {
  const double low = prediction.low(), high = prediction.high();
  if (scenario::Holds(condition, low) == wanted || scenario::Holds(condition, high) == wanted) {
    return std::nullopt;
  }
  const bool point = condition.compare == profile::Compare::kEqual ||
                     condition.compare == profile::Compare::kNotEqual;
  const bool inside = low < condition.value && condition.value < high;
  if (point && low != high && (inside || condition.compare == profile::Compare::kNotEqual)) {
    return std::nullopt;
  }
  const double margin = std::min(std::abs(scenario::Margin(condition, low)),
                                 std::abs(scenario::Margin(condition, high)));
  return Violation{margin, unit};
}

}  // namespace

// Per kind of expectation: the reading that decides it, and when a prediction violates it.
struct Requirements::Of {
  const Requirements& all;

  int ReadingAt(const profile::SignalRef& at) const {
    if (at.signal < 0) return -1;
    for (std::size_t r = 0; r < all.readings_.size(); ++r) {
      const profile::SignalRef& ref = all.readings_[r].signal;
      if (ref.bus == at.bus && ref.message == at.message && ref.signal == at.signal) {
        return static_cast<int>(r);
      }
    }
    return -1;
  }
  int ReadingThatCarries(const std::string& carries) const {
    const auto at = std::ranges::find(all.readings_, carries, &diagnose::Reading::carries);
    return at == all.readings_.end() ? -1 : static_cast<int>(at - all.readings_.begin());
  }
  int ReadingIn(const profile::MessageRef& at) const {
    for (std::size_t r = 0; r < all.readings_.size(); ++r) {
      const profile::SignalRef& ref = all.readings_[r].signal;
      if (ref.bus == at.bus && ref.message == at.message) return static_cast<int>(r);
    }
    return -1;
  }

  int Reading(const expect::Follows& kind) const { return ReadingAt(kind.signal); }
  int Reading(const expect::Always& kind) const { return ReadingAt(kind.condition.signal); }
  int Reading(const expect::Never& kind) const { return ReadingAt(kind.condition.signal); }
  int Reading(const expect::Within& kind) const { return ReadingAt(kind.condition.signal); }
  int Reading(const expect::ForAtLeast& kind) const { return ReadingAt(kind.condition.signal); }
  int Reading(const expect::Synchronised& kind) const { return ReadingAt(kind.condition.signal); }
  int Reading(const expect::MessagePresent& kind) const { return ReadingIn(kind.message); }
  int Reading(const expect::Counter& kind) const { return ReadingIn(kind.message); }
  int Reading(const expect::Checksum& kind) const { return ReadingIn(kind.message); }
  int Reading(const expect::DisplayShows& kind) const {
    const std::string& gauge = Nth(all.readouts_, kind.gauge).name;
    const bool number = kind.target.stimulus >= 0 || kind.target.value;
    const std::string carried = gauge + (number ? ".shown" : ".state");
    if (!number && !kind.state) return -1;
    return ReadingThatCarries(carried);
  }
  // A quiet bus says nothing of a wire.
  int Reading(const expect::OnlyKnownMessages& /*kind*/) const { return -1; }
  int Reading(const expect::NoErrorFrames& /*kind*/) const { return -1; }
  // What a tester hears is not among the readings; a witness is asked about a load (loads.h).
  template <class Kind>
  int Reading(const Kind& /*kind*/) const requires(Kind::kNeeds == Needs::kAnswers) {
    return -1;
  }
  // No reading carries an angle of an output. But without its position a controller fires and
  // injects nothing; edges come to its pins, whether it lives or not.
  template <class Kind>
  int Reading(const Kind& /*kind*/) const requires(IsOfOutputs(Kind::kNeeds)) {
    return ReadingThatCarries("sync_state");
  }
  int Reading(const expect::CamEdges& kind) const {
    return ReadingThatCarries("edges." + Nth(all.bench_.controller->triggers, kind.input).name);
  }

  using Result = std::optional<Violation>;
  Result By(const expect::Follows& kind, const diagnose::Reading& r, const Moment& moment,
            const Prediction& p) const {
    const double tolerance = check::ToleranceIn(all.bench_, kind.target, r.unit);
    return Outside(BandOf(all.bench_, kind.target, r.unit, tolerance, moment), p, r.unit);
  }
  Result By(const expect::DisplayShows& kind, const diagnose::Reading& r, const Moment& moment,
            const Prediction& p) const {
    const profile::Readout& gauge = Nth(all.readouts_, kind.gauge);
    if (r.carries.ends_with(".state")) return WrongState(*kind.state, r, p);
    const double tolerance = kind.target.tolerance + 0.5 * std::pow(10.0, -gauge.decimals);
    return Outside(BandOf(all.bench_, kind.target, gauge.unit, tolerance, moment), p, gauge.unit);
  }
  static Result WrongState(const std::string& wanted, const diagnose::Reading& r,
                           const Prediction& p) {
    if (!p.is_value()) return std::nullopt;
    const auto name = r.names.find(p.low());
    if (name != r.names.end() && name->second == wanted) return std::nullopt;
    return Violation{kNoNumber, ""};
  }
  Result By(const expect::Always& kind, const diagnose::Reading& r, const Moment& /*moment*/,
            const Prediction& p) const {
    return Against(kind.condition, true, p, r.unit);
  }
  Result By(const expect::Never& kind, const diagnose::Reading& r, const Moment& /*moment*/,
            const Prediction& p) const {
    return Against(kind.condition, false, p, r.unit);
  }
  Result By(const expect::Within& kind, const diagnose::Reading& r, const Moment& /*moment*/,
            const Prediction& p) const {
    return Against(kind.condition, true, p, r.unit);
  }
  Result By(const expect::ForAtLeast& kind, const diagnose::Reading& r, const Moment& /*moment*/,
            const Prediction& p) const {
    return Against(kind.condition, true, p, r.unit);
  }
  Result By(const expect::Synchronised& kind, const diagnose::Reading& r, const Moment& /*moment*/,
            const Prediction& p) const {
    return Against(kind.condition, true, p, r.unit);
  }
  template <class Kind>
  Result By(const Kind& /*kind*/, const diagnose::Reading& /*r*/, const Moment& /*moment*/,
            const Prediction& p) const requires(IsOfOutputs(Kind::kNeeds)) {
    if (p.high() >= kSynchronised) return std::nullopt;
    return Violation{kNoNumber, ""};
  }
  // Only by not coming at all.
  Result By(const expect::CamEdges& /*kind*/, const diagnose::Reading& /*r*/,
            const Moment& /*moment*/, const Prediction& /*p*/) const {
    return std::nullopt;
  }
  template <class Kind>
  Result By(const Kind& /*kind*/, const diagnose::Reading& /*r*/, const Moment& /*moment*/,
            const Prediction& /*p*/) const
      requires(Kind::kNeeds == Needs::kAnswers || std::is_same_v<Kind, expect::MessagePresent> ||
               std::is_same_v<Kind, expect::Counter> || std::is_same_v<Kind, expect::Checksum> ||
               std::is_same_v<Kind, expect::OnlyKnownMessages> ||
               std::is_same_v<Kind, expect::NoErrorFrames>) {
    return std::nullopt;
  }
};

Requirements::Requirements(const profile::Bench& bench, const profile::Scenario& scenario,
                           const std::vector<Reading>& readings)
    : bench_(bench),
      scenario_(scenario),
      readings_(readings),
      readouts_(RequiredReadouts(bench)),
      by_reading_(readings.size()) {
  const Of of{*this};
  for (std::size_t e = 0; e < scenario.expectations.size(); ++e) {
    const int reading = std::visit([&](const auto& kind) { return of.Reading(kind); },
                                   scenario.expectations[e].kind);
    readings_of_.push_back(reading);
    if (reading >= 0) Nth(by_reading_, reading).push_back(static_cast<int>(e));
  }
}

bool Requirements::IsJudged(int expectation, const Moment& moment) const {
  const profile::Expectation& e = Nth(scenario_.expectations, expectation);
  const std::string& step = scenario_.steps[moment.step].name;
  if (!e.during.empty() && std::ranges::count(e.during, step) == 0) return false;
  if (ReadingOf(expectation) < 0) return false;
  const TimeNs least_ns = FromMs(PeriodMs(expectation) + kLeastJudgedMs);
  return moment.end_ns - SettledNs(expectation, moment) >= least_ns;
}

bool Requirements::IsOfDegrees(int expectation) const {
  return IsOfOutputs(profile::NeedsOf(Nth(scenario_.expectations, expectation).kind));
}

TimeNs Requirements::SettledNs(int expectation, const Moment& moment) const {
  return moment.begin_ns + FromSeconds(Nth(scenario_.expectations, expectation).settle_s);
}

TimeNs Requirements::PatienceNs(int expectation) const {
  return FromMs(kPatiencePeriods * PeriodMs(expectation));
}

bool Requirements::Turns(int reading) const {
  const diagnose::Reading& r = Nth(readings_, reading);
  return r.turning || r.carries == "engine_speed" || r.carries.starts_with("sync");
}

TimeNs Requirements::LagNs(int reading, const Prediction& predicted) const {
  if (Turns(reading)) return FromSeconds(kTurnsLagS);
  return predicted.is_none() ? 0 : FromSeconds(kLagS);
}

double Requirements::PeriodMs(int expectation) const {
  const profile::SignalRef& at = Nth(readings_, ReadingOf(expectation)).signal;
  if (at.bus < 0) return 0;
  return profile::MessageAt(bench_, {at.bus, at.message}).period_ms;
}

bool Requirements::NeedsAllMoments(int expectation) const {
  const Needs needs = profile::NeedsOf(Nth(scenario_.expectations, expectation).kind);
  return needs == Needs::kStretch || needs == Needs::kBegin || needs == Needs::kTurns;
}

std::optional<Violation> Requirements::Violated(int expectation, const Moment& moment,
                                                const Prediction& prediction) const {
  if (prediction.is_restless()) return std::nullopt;
  const int reading = ReadingOf(expectation);
  if (reading < 0) return std::nullopt;
  const Reading& r = Nth(readings_, reading);
  if (prediction.is_none()) return Violation{kNoNumber, r.unit};
  const Of of{*this};
  return std::visit([&](const auto& kind) { return of.By(kind, r, moment, prediction); },
                    Nth(scenario_.expectations, expectation).kind);
}

double Requirements::Likeness(int expectation) const {
  const int reading = ReadingOf(expectation);
  if (reading < 0) return 0;
  const Reading& r = Nth(readings_, reading);
  return r.discrete ? 0.25 : 2 * r.sigma;
}

}  // namespace drycrank::study
