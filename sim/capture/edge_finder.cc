// SPDX-License-Identifier: Apache-2.0
#include "capture/edge_finder.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace drycrank::capture {
namespace {

constexpr double kOfNewPeak = 0.4;      // how fast the height of waves follows them
constexpr double kQuietDistances = 10;  // without a wave, in distances between the last two ...
constexpr double kDecayEvery = 4;       // ... after which the height is halved, again after so many

constexpr double kMostArm = 0.45;  // of the height of waves, however much noise there is

constexpr double kForALine = 3;         // samples of half a wave
constexpr double kUnlikeSlopes = 1.25;  // of its two halves
constexpr double kAtRest = 0.04;        // of the height of waves
constexpr double kMostlyFlat = 0.5;     // of the samples from one side to the other

double Between(double t0, double v0, double t1, double v1, double level) {
  return v1 == v0 ? t1 : t0 + (t1 - t0) * (level - v0) / (v1 - v0);
}

}  // namespace

void EdgeFinder::Add(double t_ns, double value) {
  if (std::isnan(value)) {
    state_ = -1;
    has_last_ = false;
    count_ = quiet_until_ = 0;
    hole_ = true;
    return;
  }
  if (full()) return;
  std::visit([&](const auto& rule) { By(rule, t_ns, value); }, rule_);
  last_ns_ = t_ns;
  last_v_ = value;
  has_last_ = true;
}

void EdgeFinder::Emit(double t_ns, bool high, double transit_ns) {
  if (!changes_.empty()) t_ns = std::max(t_ns, changes_.back().t_ns);
  changes_.push_back({t_ns, high, static_cast<float>(transit_ns), hole_});
  hole_ = false;
}

void EdgeFinder::By(const ExactRule&, double t_ns, double value) {
  const int level = value >= 0.5 ? 1 : 0;
  if (state_ >= 0 && level != state_) Emit(t_ns, level == 1);
  state_ = level;
}

void EdgeFinder::NoteCrossing(double t_ns, double value, double level) {
  if (!has_last_ || (last_v_ < level) == (value < level)) return;
  crossed_ns_ = Between(last_ns_, last_v_, t_ns, value, level);
  if (crossings_++ == 0) first_ns_ = crossed_ns_;
}

void EdgeFinder::By(const LevelRule& rule, double t_ns, double value) {
  NoteCrossing(t_ns, value, (rule.low_v + rule.high_v) / 2);
  const int level = value > rule.high_v ? 1 : value < rule.low_v ? 0 : -1;
  if (level < 0) return;
  if (state_ >= 0 && level != state_) Emit((first_ns_ + crossed_ns_) / 2, level == 1);
  state_ = level;
  crossings_ = 0;
}

double EdgeFinder::ArmOf(const WaveRule& rule) const {
  const double above_noise_v =
      height_ > 0 ? std::min(rule.noise_v, kMostArm * height_) : rule.noise_v;
  return std::max({rule.arm * height_, above_noise_v, rule.least_v});
}

void EdgeFinder::Decay(double t_ns) {
  if (decayed_ns_ <= 0 || t_ns - wave_ns_ < kQuietDistances * decayed_ns_) return;
  height_ /= 2;
  wave_ns_ += kDecayEvery * decayed_ns_;
}

void EdgeFinder::Sums::Add(double at, double value) {
  n += 1;
  t += at;
  v += value;
  tt += at * at;
  tv += at * value;
}

double EdgeFinder::ZeroOf(const Sums& below, const Sums& above) const {
  const Sums both{below.n + above.n, below.t + above.t, below.v + above.v, below.tt + above.tt,
                  below.tv + above.tv};
  if (std::min(below.n, above.n) < kForALine) return both.Zero();
  const double a = below.Slope(), b = above.Slope(), ratio = a / b;
  const bool alike = ratio > 1 / kUnlikeSlopes && ratio < kUnlikeSlopes;
  if (alike || !(a * b > 0)) return both.Zero();
  const double weight_a = below.n * a * a, weight_b = above.n * b * b;
  return (weight_a * below.Zero() + weight_b * above.Zero()) / (weight_a + weight_b);
}

// Samples that lie at rest fall to one side or the other by less than a step of the recorder, and
// no line tells where in a gap the wave changes sides: it does halfway.
double EdgeFinder::CrossingOf(double t) const {
  const double between = below_.n + above_.n - 2;
  if (flat_.n > kMostlyFlat * between) return (flat_.from + flat_.to) / 2;
  const double zero = ZeroOf(below_, above_);
  const bool is_sound = std::isfinite(zero) && zero >= 0 && zero <= t;
  return is_sound ? zero : t / 2;
}

// A side is left behind at the last sample on it; the line begins there anew.
void EdgeFinder::ArmWave(const WaveRule&, double t_ns, double value) {
  left_ns_ = t_ns;
  below_ = above_ = {};
  (value < 0 ? below_ : above_).Add(0, value);
  flat_ = {};
  peak_ = std::max(peak_, std::abs(value));
}

void EdgeFinder::By(const WaveRule& rule, double t_ns, double raw) {
  const double value = raw - rule.rest_v;
  Decay(t_ns);
  const double arm_v = ArmOf(rule);
  const int side = value > arm_v ? 1 : value < -arm_v ? 0 : -1;
  if (state_ < 0 || side == state_) {
    if (side >= 0) {
      state_ = side;
      ArmWave(rule, t_ns, value);
    }
    return;
  }
  const double t = t_ns - left_ns_;
  (value < 0 ? below_ : above_).Add(t, value);
  if (std::abs(value) <= (height_ > 0 ? kAtRest * height_ : rule.least_v)) flat_.Add(t);
  if (side < 0) return;
  const double at_ns = left_ns_ + CrossingOf(t);
  if (!changes_.empty()) {
    const double before_ns = std::exchange(distance_ns_, at_ns - changes_.back().t_ns);
    decayed_ns_ = std::max(before_ns, distance_ns_);
  }
  Emit(at_ns, side == 1, t);
  changes_.back().in_noise = height_ > 0 && kMostArm * height_ < rule.noise_v;
  wave_ns_ = at_ns;
  height_ = height_ == 0 ? peak_ : height_ + kOfNewPeak * (peak_ - height_);
  peak_ = 0;
  state_ = side;
  ArmWave(rule, t_ns, value);
}

void EdgeFinder::By(const StepRule& rule, double t_ns, double value) {
  const std::uint64_t size = ring_.size();
  const std::uint64_t back = std::min<std::uint64_t>(rule.samples, size - 1);
  if (count_ >= back && count_ >= quiet_until_) {
    const double before = ring_[(count_ - back) % size].v;
    const double leap = value - before;
    const int level = leap > 0 ? 1 : 0;
    if (std::abs(leap) > rule.height / 2 && level != state_) {
      const double half = before + (level == 1 ? 0.5 : -0.5) * rule.height;
      // Between the two samples that it lies between: the last two may both be behind it.
      Point to{t_ns, value};
      std::uint64_t by = 1;
      for (; by < back && (ring_[(count_ - by) % size].v < half) == (to.v < half); ++by)
        to = ring_[(count_ - by) % size];
      const Point& from = ring_[(count_ - by) % size];
      const double at_ns = Between(from.t_ns, from.v, to.t_ns, to.v, half);
      Emit(std::clamp(at_ns, from.t_ns, to.t_ns), level == 1);
      state_ = level;
      quiet_until_ = count_ + back / 2;
    }
  }
  ring_[count_++ % size] = {t_ns, value};
}

}  // namespace drycrank::capture
