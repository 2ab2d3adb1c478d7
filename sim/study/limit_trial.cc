// SPDX-License-Identifier: Apache-2.0
#include "study/limit_trial.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "study/limit_sight.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::study {
namespace {

using profile::Bench;
using profile::Drive;
using profile::DriveKind;
using profile::LimitSide;
using profile::Protection;
using profile::ProtectionAction;

constexpr int kEngineSpeed = 0;
constexpr double kMargin = 4, kLeastMargin = 1.5;  // tolerances
constexpr double kCrankingRpm = 250, kUsualRpm = 2000, kLeastRpm = 1000, kStandsBelowRpm = 200;
constexpr double kAboveNeeds = 1.1, kBelowNeeds = 0.8, kUnderRevLimit = 0.95;
constexpr double kUnderLimitTo = 0.85, kOverLimitTo = 1.15;
constexpr double kCrankS = 2, kRunUpS = 1.5, kGoodS = 2.5, kSettleS = 1, kHoldS = 1.5;
constexpr double kShortestS = 4, kLongestS = 60, kTryLimitS = 8, kSpeedJumpS = 0.3;
constexpr double kNowhere = std::numeric_limits<double>::infinity();

double BarometerIn(const Bench& bench, const Protection& p) {
  if (!p.absolute) return 0;
  return ConvertDifference(bench.barometric_pressure_kpa, "kPa", p.unit).value_or(0);
}

// A value of the channel as one of the stimulus, and back.
double ToStimulus(const Bench& bench, const Protection& p, double value) {
  const double driven = value - BarometerIn(bench, p);
  return Convert(driven, p.unit, Nth(bench.stimuli, p.stimulus).unit).value_or(driven);
}
double FromStimulus(const Bench& bench, const Protection& p, double driven) {
  const auto value = Convert(driven, Nth(bench.stimuli, p.stimulus).unit, p.unit);
  return value.value_or(driven) + BarometerIn(bench, p);
}

// +1: beyond is higher.
double Outwards(const Protection& p) { return p.side == LimitSide::kAbove ? 1 : -1; }

struct Band {
  double low = -kNowhere, high = kNowhere;
};

// Of a stimulus: where none of its protections acts, with room; of those on `but` it is not asked.
Band GoodBand(const Bench& bench, int stimulus, std::optional<LimitSide> but = {}) {
  const profile::Stimulus& s = Nth(bench.stimuli, stimulus);
  Band band{s.min, s.max};
  for (const Protection& p : bench.protections) {
    if (p.stimulus != stimulus || p.side == but) continue;
    const double end = ToStimulus(bench, p, p.release - Outwards(p) * kMargin * p.tolerance);
    if (p.side == LimitSide::kAbove) band.high = std::min(band.high, end);
    if (p.side == LimitSide::kBelow) band.low = std::max(band.low, end);
  }
  return band;
}

double RestOf(const Bench& bench, int stimulus) {
  const Band band = GoodBand(bench, stimulus);
  const double initial = Nth(bench.stimuli, stimulus).initial;
  if (band.low > band.high) return (band.low + band.high) / 2;
  return std::clamp(initial, band.low, band.high);
}

bool StopsSparks(const Protection& p) {
  return p.action == ProtectionAction::kSparkCut || p.action == ProtectionAction::kLimitSpeed;
}
bool StopsFuel(const Protection& p) {
  return p.action == ProtectionAction::kFuelCut || p.action == ProtectionAction::kLimitSpeed;
}

// Fills in good and beyond, as far apart as the stimulus lets them be.
void PlaceValues(const Bench& bench, const Protection& p, LimitRoom& room) {
  const profile::Stimulus& s = Nth(bench.stimuli, p.stimulus);
  const double least_value = FromStimulus(bench, p, s.min);
  const double most_value = FromStimulus(bench, p, s.max);
  const double out = Outwards(p);
  const auto within = [&](double from, double wanted, double least, const char* what) {
    const double placed = std::clamp(wanted, least_value, most_value);
    if ((placed - from) * (wanted - from) < 0 || std::abs(placed - from) < std::abs(least)) {
      room.why_not =
          fmt::format("{} can be driven from {:g} to {:g} {}: too little to be well {} the limit",
                      s.name, s.min, s.max, s.unit, what);
    }
    return placed;
  };
  const double least = kLeastMargin * p.tolerance;
  room.beyond = within(p.limit, p.limit + out * kMargin * p.tolerance, least, "beyond");
  room.good = within(p.release, p.release - out * kMargin * p.tolerance, least, "within");
}

// The speed that other protections, and the limiter that is always there, leave.
double HighestRpm(const Bench& bench, const Protection& p) {
  double rpm = std::min(kUnderRevLimit * bench.controller->decoder.rev_limit_rpm,
                        GoodBand(bench, kEngineSpeed).high);
  for (const Protection& other : bench.protections) {
    const bool crossed = &other != &p && other.stimulus == p.stimulus && other.side == p.side;
    if (crossed && other.action == ProtectionAction::kLimitSpeed && LooksLike(other, p)) {
      rpm = std::min(rpm, other.limit_to_rpm / kAboveNeeds);
    }
  }
  return rpm;
}

void PlaceSpeed(const Bench& bench, const Protection& p, LimitRoom& room) {
  if (p.stimulus == kEngineSpeed) {
    room.engine_rpm = room.good;
    if (std::min(room.good, room.beyond) < kStandsBelowRpm) {
      room.why_not = "the engine would stand still beyond the limit";
    }
    if ((StopsSparks(p) || StopsFuel(p)) &&
        room.beyond > bench.controller->decoder.rev_limit_rpm) {
      room.why_not = fmt::format("the controller's own rev_limit_rpm, {:g}, comes first",
                                 bench.controller->decoder.rev_limit_rpm);
    }
    return;
  }
  double least = std::max(kLeastRpm, kAboveNeeds * p.needs_above_rpm);
  if (p.action == ProtectionAction::kLimitSpeed) {
    least = std::max(least, kOverLimitTo * p.limit_to_rpm);
  }
  const double most = HighestRpm(bench, p);
  room.engine_rpm = std::min(std::max(least, kUsualRpm), most);
  if (least > most) {
    room.why_not = fmt::format(
        "it shows at {:.0f} r/min and more, and other limits stop the engine from {:.0f} r/min on",
        least, most);
  }
}

void FindWhatHides(const Bench& bench, const Protection& p, LimitRoom& room) {
  for (const Protection& other : bench.protections) {
    if (&other == &p || other.stimulus != p.stimulus || other.side != p.side) continue;
    const bool crossed = other.IsBeyond(room.beyond, other.limit);
    const bool by_speed = other.action == ProtectionAction::kLimitSpeed &&
                          room.engine_rpm < other.limit_to_rpm && p.stimulus != kEngineSpeed;
    if (!crossed || by_speed || !LooksLike(other, p)) continue;
    room.why_not = fmt::format("{} does the same on the way: which of the two acts cannot be told",
                               other.name);
  }
}

Drive Driving(int stimulus, DriveKind kind, double to, double over_s = 0) {
  Drive drive;
  drive.stimulus = stimulus;
  drive.kind = kind;
  drive.to = to;
  drive.over_s = over_s;
  return drive;
}

// Steps one after the other, and what they drive.
class Script {
 public:
  Script(const Bench& bench, const Protection& p, const LimitRoom& room,
         const std::vector<profile::Fault>& faults)
      : bench_(bench), p_(p), room_(room) {
    scenario_.name = "limits_" + p.name;
    scenario_.title = "Limit of " + p.label;
    scenario_.faults = faults;
    value_now_ = room.good;
    value_.emplace_back(0, room.good);
    speed_.emplace_back(0, kCrankingRpm);
  }

  // Cranks and comes to speed, all values good.
  void Start() {
    profile::Step& step = Add("start", kCrankS);
    for (std::size_t i = 1; i < bench_.stimuli.size(); ++i) {
      const int stimulus = static_cast<int>(i);
      const double value =
          stimulus == p_.stimulus ? ToStimulus(bench_, p_, room_.good) : room_.rest[i];
      step.drives.push_back(Driving(stimulus, DriveKind::kHold, value));
    }
    step.drives.push_back(Driving(kEngineSpeed, DriveKind::kCrank, kCrankingRpm));
    Turn("run_up", room_.engine_rpm, kRunUpS, kSettleS);
  }

  // The engine's speed, on a straight line, then held.
  Phase Turn(const char* name, double rpm, double over_s, double hold_s) {
    const TimeNs begin_ns = now_ns();
    speed_.emplace_back(now_s_, speed_.back().second);
    Add(name, over_s).drives.push_back(Driving(kEngineSpeed, DriveKind::kRamp, rpm, over_s));
    speed_.emplace_back(now_s_, rpm);
    if (p_.stimulus == kEngineSpeed) NoteValue(rpm, over_s);
    return {begin_ns, Hold(name, hold_s).end_ns};
  }
  Phase Hold(const char* name, double for_s) {
    const TimeNs begin_ns = now_ns();
    Add(fmt::format("{}_held", name), for_s);
    return {begin_ns, now_ns()};
  }
  // The watched value; over_s 0: at once, but for the speed of an engine.
  Phase Move(const char* name, double value, double over_s, double hold_s) {
    if (p_.stimulus == kEngineSpeed)
      return Turn(name, value, std::max(over_s, kSpeedJumpS), hold_s);
    const TimeNs begin_ns = now_ns();
    const DriveKind kind = over_s > 0 ? DriveKind::kRamp : DriveKind::kHold;
    const Drive drive = Driving(p_.stimulus, kind, ToStimulus(bench_, p_, value), over_s);
    if (over_s > 0) {
      Add(name, over_s).drives.push_back(drive);
      NoteValue(value, over_s);
      Hold(name, hold_s);
    } else {
      NoteValue(value, 0);
      Add(name, hold_s).drives.push_back(drive);
    }
    return {begin_ns, now_ns()};
  }

  TimeNs now_ns() const { return FromSeconds(now_s_); }
  double now_s() const { return now_s_; }
  profile::Scenario& scenario() { return scenario_; }
  const Points& value() const { return value_; }
  const Points& speed() const { return speed_; }

 private:
  profile::Step& Add(std::string name, double for_s) {
    now_s_ += for_s;
    profile::Step& step = scenario_.steps.emplace_back();
    step.name = fmt::format("{}_{}", name, scenario_.steps.size());
    step.for_s = for_s;
    return step;
  }
  // Just reached, since over_s.
  void NoteValue(double value, double over_s) {
    value_.emplace_back(now_s_ - over_s, value_now_);
    value_.emplace_back(now_s_, value);
    value_now_ = value;
  }

  const Bench& bench_;
  const Protection& p_;
  const LimitRoom& room_;
  profile::Scenario scenario_;
  double now_s_ = 0, value_now_ = 0;
  Points value_, speed_;
};

// For what it does to show.
double ShowsS(const Bench& bench, const Protection& p) {
  double shows_s = kHoldS;
  if (p.action == ProtectionAction::kLamp && p.lamp.signal >= 0) {
    shows_s += 3 * MessageAt(bench, {p.lamp.bus, p.lamp.message}).period_ms / 1000;
  }
  return shows_s;
}
// After it has come to the one side or the other.
double BackS(const Bench& bench, const Protection& p, const LimitRoom& room) {
  const double seen_ms = SeeingOf(bench, p).JumpMs(room.beyond, room.good, p.release, p.tolerance);
  return ShowsS(bench, p) + 2 * seen_ms / 1000;
}
double OutS(const Bench& bench, const Protection& p, const LimitRoom& room) {
  const double seen_ms = SeeingOf(bench, p).JumpMs(room.good, room.beyond, p.limit, p.tolerance);
  return ShowsS(bench, p) + 2 * (seen_ms + p.delay_ms + p.delay_tolerance_ms) / 1000;
}

double SlowlyS(const Bench& bench, const Protection& p, const LimitRoom& room) {
  const double for_each_s = std::max(1.0, 2 * SeeingOf(bench, p).filter_ms / 1000);
  return std::clamp(std::abs(room.beyond - room.good) / p.tolerance * for_each_s, kShortestS,
                    kLongestS * for_each_s);
}

void TryLimitTo(const Protection& p, const LimitRoom& room, Script& script, LimitTrial& trial) {
  const double low = kUnderLimitTo * p.limit_to_rpm;
  if (low < kAboveNeeds * p.needs_above_rpm || p.stimulus == kEngineSpeed) return;
  script.Turn("slower", low, kRunUpS, kSettleS);
  trial.below_limit_to = script.Hold("below_limit_to", kHoldS);
  trial.up_to_limit =
      script.Turn("up_to_limit", kOverLimitTo * p.limit_to_rpm, kTryLimitS, kSettleS);
  script.Turn("faster", room.engine_rpm, kRunUpS, kSettleS);
}

void TryTooSlow(const Bench& bench, const Protection& p, const LimitRoom& room, Script& script,
                LimitTrial& trial) {
  const double slow = kBelowNeeds * p.needs_above_rpm;
  const bool shows = p.action != ProtectionAction::kLimitSpeed && p.stimulus != kEngineSpeed;
  if (!shows || slow < kStandsBelowRpm) return;
  script.Turn("too_slow", slow, kRunUpS, kSettleS);
  trial.too_slow = script.Move("beyond_too_slow", room.beyond, 0, OutS(bench, p, room));
}

}  // namespace

bool LooksLike(const Protection& other, const Protection& p) {
  const bool same_output = p.output >= 0 && other.output == p.output;
  const bool same_lamp = p.action == ProtectionAction::kLamp &&
                         other.action == ProtectionAction::kLamp && other.lamp_text == p.lamp_text;
  return same_output || same_lamp || (StopsSparks(other) && StopsSparks(p)) ||
         (StopsFuel(other) && StopsFuel(p));
}

double ValueAt(const Points& points, TimeNs t_ns) {
  const double t_s = ToSeconds(t_ns);
  const auto next = std::ranges::upper_bound(points, t_s, {}, &std::pair<double, double>::first);
  if (next == points.begin()) return points.front().second;
  const auto last = std::prev(next);
  if (next == points.end()) return last->second;
  const double share = (t_s - last->first) / (next->first - last->first);
  return last->second + share * (next->second - last->second);
}

std::string PinOf(const Bench& bench, const Protection& protection) {
  const profile::Controller& controller = *bench.controller;
  const int analog = profile::IndexOf(controller.analog, protection.watches);
  if (analog >= 0) return Nth(controller.analog, analog).terminal;
  const int frequency = profile::IndexOf(controller.frequency, protection.watches);
  if (frequency >= 0) return Nth(controller.frequency, frequency).terminal;
  if (controller.triggers.empty()) return "";
  return Nth(controller.triggers, controller.decoder.primary).terminal;
}

LimitRoom RoomOf(const Bench& bench, const Protection& protection) {
  LimitRoom room;
  for (std::size_t i = 0; i < bench.stimuli.size(); ++i) {
    room.rest.push_back(RestOf(bench, static_cast<int>(i)));
  }
  if (bench.triggers.empty() || bench.controller->triggers.empty()) {
    room.why_not = "the bench has no crank sensor, so that no engine turns";
    return room;
  }
  PlaceValues(bench, protection, room);
  if (room.why_not.empty()) PlaceSpeed(bench, protection, room);
  if (room.why_not.empty()) FindWhatHides(bench, protection, room);
  return room;
}

LimitTrial MakeTrial(const Bench& bench, const Protection& p, const LimitRoom& room,
                     const std::vector<profile::Fault>& faults) {
  LimitTrial trial;
  Script script(bench, p, room, faults);
  const double slowly_s = SlowlyS(bench, p, room);
  const double back_s = BackS(bench, p, room), out_s = OutS(bench, p, room);
  trial.slow_rate = std::abs(room.beyond - room.good) / slowly_s;
  script.Start();
  trial.good = script.Hold("good", kGoodS + p.delay_ms / 1000);
  trial.slow_out = script.Move("slowly_out", room.beyond, slowly_s, out_s);
  if (p.action == ProtectionAction::kLimitSpeed) TryLimitTo(p, room, script, trial);
  trial.slow_back = script.Move("slowly_back", room.good, slowly_s, back_s);
  trial.out = script.Move("out", room.beyond, 0, out_s);
  trial.back = script.Move("back", room.good, 0, back_s);
  if (p.needs_above_rpm > 0) TryTooSlow(bench, p, room, script, trial);
  trial.value = script.value();
  trial.speed_rpm = script.speed();
  trial.scenario = std::move(script.scenario());
  return trial;
}

FarTrial MakeFarTrial(const Bench& bench, const Protection& p, const LimitRoom& room,
                      const std::vector<profile::Fault>& faults) {
  const Band band = GoodBand(bench, p.stimulus, p.side);
  LimitRoom far = room;
  far.good = FromStimulus(bench, p, p.side == LimitSide::kAbove ? band.low : band.high);
  FarTrial trial;
  trial.value = far.good;
  Script script(bench, p, far, faults);
  script.Start();
  script.Hold("far", kGoodS + p.delay_ms / 1000);
  trial.speed_rpm = script.speed();
  trial.scenario = std::move(script.scenario());
  return trial;
}

BlindTrial MakeBlindTrial(const Bench& bench, const Protection& p, const LimitRoom& room,
                          const std::vector<profile::Fault>& faults,
                          const profile::FaultKind& kind) {
  BlindTrial trial;
  Script script(bench, p, room, faults);
  script.Start();
  script.Hold("good", kGoodS);
  profile::Fault broken;
  broken.kind = kind;
  broken.at = PinOf(bench, p);
  broken.name = fmt::format("{} {}", profile::Name(kind), broken.at);
  broken.from_s = script.now_s();
  trial.broken_ns = script.now_ns();
  script.scenario().faults.push_back(broken);
  const double hold_s = OutS(bench, p, room) + 2 * BlindMs(bench, p) / 1000 + kSettleS;
  trial.good = script.Hold("broken", hold_s);
  trial.beyond = script.Move("beyond", room.beyond, 0, hold_s);
  trial.speed_rpm = script.speed();
  trial.scenario = std::move(script.scenario());
  return trial;
}

}  // namespace drycrank::study
