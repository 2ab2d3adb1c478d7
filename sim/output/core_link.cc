// SPDX-License-Identifier: Apache-2.0
#include "output/core_link.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "core/core_node.h"
#include "profile/triggers.h"
#include "profile/turning_wheel.h"
#include "types/nth.h"

namespace drycrank::output {
namespace {

constexpr int kArm = 0x2000, kSpeed = 0x2001, kChannel = 0x2010, kBegins = 0x2100, kEnds = 0x2200;
constexpr int kTeeth = 1, kDuty = 3, kTurns = 4, kOffset = 5, kAdvance = 6, kInverted = 7,
              kFault = 8, kFirstGone = 9, kPeriod = 13, kAbsent = 14, kSafe = 15;
constexpr int kGoneWords = core::kMostTeeth / 32;
constexpr int kLongMs = 2000;  // nobody reaches a switch sooner; ours

// Of a channel, as Prepare writes them.
int EntriesOf(std::size_t teeth) { return 12 + kGoneWords + 2 * static_cast<int>(teeth); }

std::int32_t Micro(double deg) { return static_cast<std::int32_t>(std::lround(deg * 1e6)); }
std::int32_t Milli(double rpm) { return static_cast<std::int32_t>(std::lround(rpm * 1e3)); }

// What the segment comes to after so long, r/min.
double SpeedAfter(const Segment& segment, TimeNs for_ns) {
  if (segment.kind != SegmentKind::kRamp || segment.duration_s <= 0) return segment.speed_rpm;
  const double share = std::min(1.0, ToSeconds(for_ns) / segment.duration_s);
  return std::lerp(segment.speed_rpm, segment.to_rpm, share);
}

// Where a coil's voltage is positive: from as far before the tooth as its centre is behind its begin, but
// not further than half the air, to its centre.
std::vector<Tooth> PositiveAt(const std::vector<Tooth>& teeth) {
  std::vector<Tooth> positive = teeth;
  for (std::size_t i = 0; i < teeth.size(); ++i) {
    const double before_deg = i > 0 ? teeth[i - 1].end_deg : teeth.back().end_deg - 360;
    const double half_deg = (teeth[i].end_deg - teeth[i].begin_deg) / 2;
    const double air_deg = teeth[i].begin_deg - before_deg;
    positive[i] = {teeth[i].begin_deg - std::min(half_deg, air_deg / 2),
                   teeth[i].begin_deg + half_deg};
  }
  return positive;
}

// The core takes no begin before the wheel's 0: that is moved, and tooth 1 stays the first.
void BringIn(std::vector<Tooth>& high, double& offset_deg, int turns) {
  const double by_deg = high.empty() ? 0 : std::max(0.0, -high.front().begin_deg);
  for (Tooth& tooth : high) tooth = {tooth.begin_deg + by_deg, tooth.end_deg + by_deg};
  offset_deg -= by_deg * turns;
}

bool IsInverted(const profile::Trigger& trigger) {
  const auto* hall = std::get_if<profile::HallPickup>(&trigger.pickup);
  return hall != nullptr && !hall->low_at_tooth;
}

std::int32_t FaultOf(WheelState::Pickup pickup) {
  switch (pickup) {
    case WheelState::Pickup::kWorks:
      return static_cast<std::int32_t>(core::Fault::kNone);
    case WheelState::Pickup::kSilent:
      return static_cast<std::int32_t>(core::Fault::kSilent);
    case WheelState::Pickup::kOff:
      return static_cast<std::int32_t>(core::Fault::kLow);
    case WheelState::Pickup::kOn:
      break;
  }
  return static_cast<std::int32_t>(core::Fault::kHigh);
}

// 32 of the teeth, the first at the lowest bit.
std::int32_t GoneWord(const WheelState& state, int word) {
  std::uint32_t bits = 0;
  for (int i = 0; i < 32; ++i) {
    if (state.gone[AsSize(32 * word + i)]) bits |= 1u << i;
  }
  return static_cast<std::int32_t>(bits);
}

}  // namespace

CoreLink::CoreLink(std::unique_ptr<BytePort> port, const profile::Bench& bench,
                   const profile::out::Core& core, double start_deg, WhoWaits person)
    : line_(std::move(port), core, std::move(person)) {
  for (const profile::out::Core::Channel& at : core.channels) {
    assert(at.of == profile::OutputChannel::Of::kTrigger);
    const profile::Trigger& trigger = Nth(bench.triggers, at.index);
    const TurningWheel wheel = profile::TurningWheelOf(trigger, bench.engine);
    channels_.push_back({.at = at,
                         .high = wheel.is_coil ? PositiveAt(wheel.teeth) : wheel.teeth,
                         .turns = static_cast<std::int32_t>(std::lround(wheel.turn_deg / 360)),
                         .offset_deg = WrapSignedDeg(wheel.offset_deg - start_deg, wheel.turn_deg),
                         .inverted = IsInverted(trigger)});
    BringIn(channels_.back().high, channels_.back().offset_deg, channels_.back().turns);
  }
}

std::string CoreLink::Description() const {
  std::string words = fmt::format("trigger core at {}", line_.Name());
  for (const Channel& channel : channels_) {
    words +=
        fmt::format(", pin {} in the place of {}", channel.at.pin, profile::InWords(channel.at));
  }
  words += fmt::format("; safe {} ms after this computer falls silent", line_.missed_ms());
  if (line_.missed_ms() <= kLongMs) return words;
  return words +
         fmt::format(
             ". CAUTION: should this computer die, the pins go on for {:g} s, and with them "
             "all that the controller does; write missed_ms: 300",
             line_.missed_ms() / 1e3);
}

std::string CoreLink::Open() {
  std::string problem = line_.Open();
  if (problem.empty()) problem = line_.Write(kArm, 1, 0);
  int left = 0;
  for (const Channel& channel : channels_) left += EntriesOf(channel.high.size());
  for (const Channel& channel : channels_) {
    if (problem.empty()) problem = Prepare(channel, left);
  }
  return problem;
}

// All of it while nothing moves. An even wheel is written tooth by tooth as well: one way for all.
std::string CoreLink::Prepare(const Channel& channel, int& left) {
  const int at = kChannel + channel.at.pin;
  const std::pair<int, std::int32_t> entries[] = {{kTeeth, 0},
                                                  {kTurns, channel.turns},
                                                  {kOffset, Micro(channel.offset_deg)},
                                                  {kAdvance, 0},
                                                  {kInverted, channel.inverted ? 1 : 0},
                                                  {kFault, 0},
                                                  {kPeriod, 0},
                                                  {kAbsent, 0},
                                                  {kDuty, 0},
                                                  {kSafe, channel.at.safe_level}};
  std::string problem;
  const auto write = [&](int index, int sub, std::int32_t value) {
    if (problem.empty()) problem = line_.Write(index, sub, value);
    line_.SayHowLong(--left);
  };
  for (const auto& [sub, value] : entries) write(at, sub, value);
  for (int word = 0; word < kGoneWords; ++word) write(at, kFirstGone + word, 0);
  int sub = 0;
  for (const Tooth& tooth : channel.high) {
    ++sub;
    write(kBegins + channel.at.pin, sub, Micro(tooth.begin_deg));
    write(kEnds + channel.at.pin, sub, Micro(tooth.end_deg));
  }
  write(at, kTeeth, sub);
  // The safe level is shown when it is disarmed anew.
  write(kArm, 1, 0);
  return problem;
}

std::string CoreLink::Arm() {
  line_.StopNoMore();
  (void)line_.Beat();  // somebody may have thought about it for long: it must hear us first
  const std::string problem = line_.Write(kArm, 1, static_cast<std::int32_t>(core::kArmWord));
  line_.ForgetState();
  armed_ = true;
  if (!problem.empty()) Disarm();  // it may have heard us, and its answer was lost
  return problem;
}

void CoreLink::Give(const Given& given) {
  if (!armed_) return;
  if (const auto* motion = std::get_if<CrankMotion>(&given.state)) Take(*motion);
  if (const auto* state = std::get_if<WheelState>(&given.state))
    Take(Nth(channels_, given.channel), *state);
}

void CoreLink::Take(const CrankMotion& motion) {
  const Segment& to = motion.segment;
  const double before_rpm = SpeedAfter(motion_.segment, motion.begin_ns - motion_.begin_ns);
  motion_ = motion;
  const bool even = to.kind == SegmentKind::kHold || to.kind == SegmentKind::kRamp ||
                    (to.kind == SegmentKind::kCrank && to.ripple == 0);
  if (!even) return Fail(line_.Name() + ": the core cannot turn so; its pins are safe");
  if (to.kind != SegmentKind::kRamp || to.duration_s <= 0) {
    return Turn(to.kind == SegmentKind::kRamp ? to.to_rpm : to.speed_rpm, 0);
  }
  if (std::abs(to.speed_rpm - before_rpm) > 0.5) Turn(to.speed_rpm, 0);
  Turn(to.to_rpm, std::abs(to.to_rpm - to.speed_rpm) / to.duration_s);
}

void CoreLink::Turn(double rpm, double climb_rpm_per_s) {
  const std::int32_t climb = Milli(std::min(climb_rpm_per_s, kMostClimbRpmPerS));
  if (climb != climb_) Put(kSpeed, 2, climb);
  climb_ = climb;
  Put(kSpeed, 1, Milli(rpm));
}

void CoreLink::Take(Channel& channel, const WheelState& state) {
  const int at = kChannel + channel.at.pin;
  const WheelState& was = channel.state;
  const auto put = [&](int sub, std::int32_t before, std::int32_t now) {
    if (before != now) Put(at, sub, now);
  };
  put(kAdvance, Micro(was.advance_deg), Micro(state.advance_deg));
  put(kOffset, Micro(channel.offset_deg + was.late_deg),
      Micro(channel.offset_deg + state.late_deg));
  put(kInverted, was.inverted != channel.inverted, state.inverted != channel.inverted);
  for (int word = 0; word < kGoneWords; ++word) {
    put(kFirstGone + word, GoneWord(was, word), GoneWord(state, word));
  }
  put(kFault, FaultOf(was.pickup), FaultOf(state.pickup));
  channel.state = state;
}

void CoreLink::Put(int index, int sub, std::int32_t value) {
  if (!failure_.empty()) return;
  if (std::string problem = line_.Write(index, sub, value); !problem.empty())
    Fail(std::move(problem));
}

void CoreLink::Beat(TimeNs /*now_ns*/) {
  if (!failure_.empty()) return;
  std::string problem = line_.Beat();
  if (problem.empty() && armed_) problem = WhyNotArmed();
  if (!problem.empty()) Fail(std::move(problem));
}

// As it says itself. It may be another than the one that was armed: one that has started anew.
std::string CoreLink::WhyNotArmed() const {
  switch (line_.state()) {
    case CoreLine::CoreState::kUnknown:
    case CoreLine::CoreState::kArmed:
      return "";
    case CoreLine::CoreState::kSafe:
      return line_.Name() + ": the core missed us and has brought its pins to their safe level";
    default:
      return fmt::format(
          "{}: the core is not armed any more (heartbeat {}); it has started anew, or "
          "another program has disarmed it",
          line_.Name(), static_cast<int>(line_.state()));
  }
}

// Should the line be gone, the core misses us and does it by itself; but nobody has seen it do so.
void CoreLink::Disarm() {
  line_.FallSilent();
  if (!std::exchange(armed_, false)) return;
  const std::string problem = line_.Write(kArm, 1, 0);
  if (problem.empty() || !failure_.empty()) return;
  failure_ = fmt::format(
      "{}; it has not confirmed that its pins are safe, which they are after {} ms "
      "without us: take its supply off to be sure",
      problem, line_.missed_ms());
}

void CoreLink::Fail(std::string why) {
  if (failure_.empty()) failure_ = std::move(why);
  Disarm();
}

}  // namespace drycrank::output
