// SPDX-License-Identifier: Apache-2.0
#include "trigger/channel.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>
#include <variant>

#include "trigger/wheel_edges.h"
#include "types/nth.h"

namespace drycrank::trigger {

namespace {

struct WornTooth {
  Tooth tooth;
  int number = 0;  // of the wheel's own teeth, from 1; 0: one too many
};

// An eccentric wheel is farthest away, and its lobes lowest, where its edges come from early to
// late.
double HeightAt(const TurningWheel& wheel, const ChannelFault& fault, double crank_deg) {
  if (fault.runout_swing == 0) return 1;
  const double wheel_deg = (crank_deg - wheel.offset_deg) * 360 / wheel.turn_deg;
  const double rad = (wheel_deg - fault.runout_at_deg) * std::numbers::pi / 180;
  return 1 - fault.runout_swing * std::cos(rad);
}

// The teeth as they pass the sensor, ascending.
std::vector<WornTooth> TeethOf(const TurningWheel& wheel, const ChannelFault& fault) {
  constexpr double kDegToRad = std::numbers::pi / 180;
  std::vector<WornTooth> teeth;
  for (const Tooth& tooth : wheel.teeth)
    teeth.push_back({tooth, static_cast<int>(teeth.size()) + 1});
  for (const Tooth& tooth : fault.extra_teeth) teeth.push_back({tooth, 0});
  const auto wander = [&](double& deg) {
    deg += fault.runout_deg * std::sin((deg - fault.runout_at_deg) * kDegToRad);
  };
  for (WornTooth& worn : teeth) {
    if (fault.runout_deg == 0) break;
    wander(worn.tooth.begin_deg);
    wander(worn.tooth.end_deg);
  }
  std::ranges::stable_sort(teeth, {}, [](const WornTooth& t) { return t.tooth.begin_deg; });
  return teeth;
}

bool SameShape(const ChannelFault& a, const ChannelFault& b) {
  const auto same_tooth = [](const Tooth& x, const Tooth& y) {
    return x.begin_deg == y.begin_deg && x.end_deg == y.end_deg;
  };
  return a.runout_deg == b.runout_deg && a.runout_at_deg == b.runout_at_deg &&
         a.runout_swing == b.runout_swing &&
         std::ranges::equal(a.extra_teeth, b.extra_teeth, same_tooth);
}

constexpr double kLeastShare = 1e-9;  // of a lobe that is past: so its rest is never quite 0

// As at.Plus(deg), which takes four times as long where no turn ends between.
CrankAngle Ahead(const CrankAngle& at, double deg) {
  const double ahead_deg = at.deg + deg;
  return ahead_deg > 0 && ahead_deg < 360 ? CrankAngle{at.turns, ahead_deg} : at.Plus(deg);
}

bool IsGone(const ChannelFault& fault, int tooth) {
  return std::ranges::find(fault.missing_teeth, tooth) != fault.missing_teeth.end();
}

}  // namespace

Channel::Channel(const TurningWheel& wheel, int number)
    : wheel_(wheel),
      number_(number),
      reluctance_(wheel.is_coil),
      period_turns_(static_cast<int>(wheel.turn_deg / 360)) {
  if (wheel.is_coil) {
    // peak_v belongs to a full lobe at peak_at_rpm, which lasts full_deg / (6 peak_at_rpm) seconds.
    lobe_v_s_ = wheel.emf.peak_v * FullLobeDeg(WheelEdges(wheel)) / (6 * wheel.emf.peak_at_rpm);
  }
  fault_.missing_teeth.reserve(wheel.teeth.size());
  CutMarks();
  present_ = all_;
  if (!present_.empty()) level_ = present_.back().metal;
}

// The marks of the wheel as the fault leaves it.
void Channel::CutMarks() {
  const std::vector<WornTooth> teeth = TeethOf(wheel_, fault_);
  TurningWheel worn = wheel_;
  worn.teeth.clear();
  for (const WornTooth& tooth : teeth) worn.teeth.push_back(tooth.tooth);
  all_.clear();
  for (const WheelEdge& edge : WheelEdges(worn)) {
    const double lobe_deg = reluctance_ ? edge.lobe_deg : 0;
    const double begin_deg =
        WrapDeg(edge.crank_deg - (reluctance_ ? edge.lead_deg : 0), wheel_.turn_deg);
    const int number = Nth(teeth, edge.tooth - 1).number;
    all_.push_back({.at = CrankAngle::FromDegrees(0, begin_deg),
                    .lobe_deg = lobe_deg,
                    .height = HeightAt(wheel_, fault_, edge.crank_deg),
                    .metal = edge.metal,
                    .tooth = number,
                    .missing = false});
  }
  std::sort(all_.begin(), all_.end(),
            [](const Mark& a, const Mark& b) { return a.at.Minus(b.at) < 0; });
}

void Channel::SetFault(const ChannelFault& fault) {
  if (Mount(fault)) placed_ = false;
}

// Whether anything about the wheel is other than before.
bool Channel::Mount(const ChannelFault& fault) {
  const bool same_shape = SameShape(fault, fault_);
  const bool same = same_shape && fault.fitted == fault_.fitted &&
                    fault.late_deg == fault_.late_deg &&
                    fault.missing_teeth == fault_.missing_teeth;
  if (same) return false;
  fault_ = fault;               // keeps its storage
  if (!same_shape) CutMarks();  // allocates
  for (Mark& mark : all_) mark.missing = IsGone(fault_, mark.tooth);
  return true;
}

void Channel::Restart(TimeNs now_ns, const engine::Motion& motion) {
  back_ = motion.backwards();
  ReplanLobe(now_ns, motion);
  if (!placed_) Locate(now_ns, motion);
  if (!started_) shown_ = level_;
  placed_ = started_ = true;
  FindNext(now_ns, motion, false);
}

// Whether a lobe in progress cannot go on, or ends at another time than was announced.
void Channel::ReplanLobe(TimeNs now_ns, const engine::Motion& motion) {
  replanned_ = false;
  if (lobe_end_ns_ <= now_ns) return;
  const TimeNs end_ns = TimeOf(motion, lobe_end_, now_ns);
  cut_ = cut_ || !placed_ || back_ != lobe_back_ || end_ns == kNever || end_ns <= now_ns;
  replanned_ = !cut_ && end_ns != lobe_end_ns_;
}

// The first mark after now; one within the current nanosecond counts as passed.
void Channel::Locate(TimeNs now_ns, const engine::Motion& motion) {
  present_.clear();  // keeps its storage: never more marks than before, but for teeth too many
  std::copy_if(all_.begin(), all_.end(), std::back_inserter(present_),
               [](const Mark& mark) { return !mark.missing; });
  level_ = false;
  if (!fault_.fitted || present_.empty()) return;
  const CrankAngle wheel = motion.AngleAt(now_ns).Plus(advance_.DegAt(now_ns) - fault_.late_deg);
  const double in_period_deg = wheel.InCycle(360.0 * period_turns_);
  const CrankAngle in_period = CrankAngle::FromDegrees(0, in_period_deg);
  period_ = (wheel.turns - in_period.turns) / period_turns_;
  const auto after = std::find_if(present_.begin(), present_.end(),
                                  [&](const Mark& mark) { return mark.at.Minus(in_period) > 0; });
  index_ = AsSize(after - present_.begin());
  if (index_ == present_.size()) {
    index_ = 0;
    ++period_;
  }
  while (TimeOf(motion, NextAngle(), now_ns) <= now_ns) Step();
  level_ = present_[(index_ + present_.size() - 1) % present_.size()].metal;
}

// Angle of the next mark at advance zero.
CrankAngle Channel::NextAngle() const {
  const CrankAngle& at = present_[index_].at;
  const CrankAngle angle{period_ * period_turns_ + at.turns, at.deg};
  return fault_.late_deg == 0 ? angle : Ahead(angle, fault_.late_deg);
}

void Channel::Step() {
  if (++index_ < present_.size()) return;
  index_ = 0;
  ++period_;
}

// While the crank swings back a cam's phaser is taken to stand still.
TimeNs Channel::TimeOf(const engine::Motion& motion, CrankAngle edge, TimeNs from_ns) const {
  if (!back_) return TimeOfEdge(motion, advance_, edge, from_ns);
  return std::max(from_ns, motion.TimeAt(edge.Plus(-advance_.DegAt(from_ns))));
}

void Channel::StepBack() {
  if (index_ == 0) {
    index_ = present_.size();
    --period_;
  }
  --index_;
}

// The next mark, forwards or backwards, is behind.
void Channel::Pass() {
  if (back_) StepBack();
  const Mark& mark = present_[index_];
  if (reluctance_) {
    lobe_deg_ = mark.lobe_deg;
    lobe_height_ = mark.height;
    lobe_end_ = back_ ? NextAngle() : Ahead(NextAngle(), lobe_deg_);
    lobe_metal_ = mark.metal;
    lobe_back_ = back_;
  }
  if (!back_) Step();
}

void Channel::Take(const engine::Motion& motion) {
  const TimeNs taken_ns = next_.t_ns;
  const bool is_rest = next_.lobe_peak_v == 0 && next_.lobe_begin_v == 0;
  shown_ = next_.metal;
  lobe_end_ns_ = is_rest ? 0 : next_.lobe_end_ns;
  cut_ = replanned_ = false;
  if (!correcting_) {
    level_ = next_.metal;
    Pass();
  }
  const bool abuts = !back_ && lobe_end_ns_ > 0 && !present_.empty() &&
                     std::abs(lobe_end_.Minus(NextAngle())) < 1e-9;
  FindNext(taken_ns, motion, abuts);
}

// `abuts`: at the end of the lobe just taken, which this motion has given.
void Channel::FindNext(TimeNs from_ns, const engine::Motion& motion, bool abuts) {
  next_ = {.channel = number_};
  correcting_ = reluctance_ ? cut_ || replanned_ : shown_ != level_;
  if (correcting_ && replanned_) return FindRest(from_ns, motion);
  if (correcting_) {
    next_ = {.t_ns = from_ns, .channel = number_, .metal = level_, .lobe_end_ns = from_ns};
    return;
  }
  if (!fault_.fitted || present_.empty()) return;
  if (back_) return FindBack(from_ns, motion);
  next_.metal = present_[index_].metal;
  next_.t_ns = abuts ? lobe_end_ns_ : TimeOf(motion, NextAngle(), from_ns);
  if (!reluctance_ || next_.t_ns == kNever) return;
  FindLobe(motion, next_.t_ns == from_ns && !abuts);
}

// The mark behind, as the crank comes back to it. A lobe that it stands in is met where it stands.
void Channel::FindBack(TimeNs now_ns, const engine::Motion& motion) {
  StepBack();
  const Mark& mark = present_[index_];
  const CrankAngle at = NextAngle();
  const CrankAngle met = at.Plus(mark.lobe_deg);
  const double inside_deg = met.Minus(motion.AngleAt(now_ns)) - advance_.DegAt(now_ns);
  const TimeNs met_ns = inside_deg > 0 ? now_ns : TimeOf(motion, met, now_ns);
  Step();
  const std::size_t before = (index_ + 2 * present_.size() - 2) % present_.size();
  next_.metal = present_[before].metal;
  next_.t_ns = reluctance_ ? met_ns : TimeOf(motion, at, now_ns);
  if (!reluctance_ || met_ns == kNever) return;
  next_.lobe_end_ns = TimeOf(motion, at, met_ns);
  if (next_.lobe_end_ns == kNever) return;
  const double share = std::clamp(1 - std::max(0.0, inside_deg) / mark.lobe_deg, 0.0, 1.0);
  const TimeNs lasts_ns = std::max<TimeNs>(1, next_.lobe_end_ns - met_ns);
  next_.lobe_peak_v = share * FluxOf(mark.height, mark.metal) / ToSeconds(lasts_ns);
}

// The rest of the lobe in progress, as this motion gives it.
void Channel::FindRest(TimeNs now_ns, const engine::Motion& motion) {
  next_ = {.t_ns = now_ns, .channel = number_, .metal = lobe_metal_};
  next_.lobe_end_ns = TimeOf(motion, lobe_end_, now_ns);
  const double ahead_deg = lobe_end_.Minus(motion.AngleAt(now_ns)) - advance_.DegAt(now_ns);
  const double left_deg = back_ ? -ahead_deg : ahead_deg;
  const double left = std::clamp(left_deg / lobe_deg_, kLeastShare, 1 - kLeastShare);
  const TimeNs lasts_ns = std::max<TimeNs>(1, next_.lobe_end_ns - now_ns);
  const double peak_v = FluxOf(lobe_height_, lobe_metal_) * left / ToSeconds(lasts_ns);
  next_.lobe_begin_v = peak_v * std::sin(std::numbers::pi * (1 - left));
  next_.lobe_peak_v = peak_v * std::sin(std::numbers::pi * left / 2) - next_.lobe_begin_v / 2;
}

// `overtaken`: some of the lobe may be past already. What is left keeps the height its speed gives.
void Channel::FindLobe(const engine::Motion& motion, bool overtaken) {
  const double lobe_deg = present_[index_].lobe_deg;
  const CrankAngle end = Ahead(NextAngle(), lobe_deg);
  next_.lobe_end_ns = TimeOf(motion, end, next_.t_ns);
  if (next_.lobe_end_ns == kNever) return;
  double share = 1;
  if (overtaken) {
    const double left_deg = end.Minus(motion.AngleAt(next_.t_ns)) - advance_.DegAt(next_.t_ns);
    share = std::clamp(left_deg / lobe_deg, 0.0, 1.0);
  }
  const TimeNs lasts_ns = std::max<TimeNs>(1, next_.lobe_end_ns - next_.t_ns);
  next_.lobe_peak_v = share * FluxOf(present_[index_].height, next_.metal) / ToSeconds(lasts_ns);
}

}  // namespace drycrank::trigger
