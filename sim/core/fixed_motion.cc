// SPDX-License-Identifier: Apache-2.0
#include "core/fixed_motion.h"

namespace drycrank::core {
namespace {

constexpr int64_t kBillion = 1'000'000'000;
constexpr int64_t kMostLength = int64_t{1} << 30;
constexpr int kMostSteps = 6;  // by the slope; then by halves

struct Quotient {
  int64_t whole, rest;  // 0 <= rest < divisor
};
Quotient FloorDivided(int64_t value, int64_t divisor) {
  Quotient q{value / divisor, value % divisor};
  if (q.rest < 0) {
    q.rest += divisor;
    --q.whole;
  }
  return q;
}

}  // namespace

void FixedMotion::Turn(int64_t now, int32_t speed, int32_t climb) {
  Begin(now);
  target_ = speed;
  if (climb == 0 || speed_ == speed) {
    speed_ = speed;
    part_ = climb_ = 0;
  } else {
    climb_ = speed_ < speed ? climb : -climb;
  }
  Plan();
}

// The next piece, with the angle and the speed of this one at t.
void FixedMotion::Begin(int64_t t) {
  const int64_t x = t - begin_;
  angle_ += Grown(x);
  const Quotient speed = FloorDivided(Billionths(x), kBillion);
  speed_ += speed.whole;
  part_ = speed.rest;
  begin_ = t;
  const bool there =
      climb_ > 0 ? speed_ >= target_ : speed_ < target_ || (speed_ == target_ && part_ == 0);
  if (climb_ != 0 && there) {
    speed_ = target_;
    part_ = climb_ = 0;
  }
  Plan();
}

// To where the climb is at its end: the first ns at which the target is reached.
void FixedMotion::Plan() {
  length_ = kMostLength;
  if (climb_ == 0) return;
  const int64_t left = (target_ - speed_) * kBillion - part_;  // of the climb's sign
  const int64_t size = climb_ > 0 ? climb_ : -climb_, way = climb_ > 0 ? left : -left;
  const int64_t x = (way + size - 1) / size;
  if (x < length_) length_ = x;
}

int64_t FixedMotion::Grown(int64_t x) const {
  const int64_t whole = speed_ * x;
  const int64_t twice = 2 * part_ + climb_ * x;
  if (twice == 0) return whole;
  // x twice / 2e9, of which x (twice / 2e9) and x times the rest each fit.
  const Quotient q = FloorDivided(twice, 2 * kBillion);
  return whole + x * q.whole + x * q.rest / (2 * kBillion);
}

int32_t FixedMotion::SpeedAt(int64_t t) const {
  return static_cast<int32_t>(speed_ + FloorDivided(Billionths(t - begin_), kBillion).whole);
}

// angle(low) < angle <= angle(high) throughout.
int64_t FixedMotion::TimeOf(int64_t angle) const {
  const int64_t wanted = angle - angle_;
  if (wanted <= 0) return begin_;
  int64_t low = 0, high = length_;
  if (Grown(high) < wanted) return kAtNoTime;
  int64_t x = 0, there = 0;
  for (int step = 0; high - low > 1; ++step) {
    const int64_t slope = speed_ + (part_ + climb_ * x) / kBillion;
    const bool by_slope = step < kMostSteps && slope > 0;
    const int64_t next = by_slope ? x + (wanted - there) / slope : low + (high - low) / 2;
    x = next <= low ? low + 1 : next >= high ? high - 1 : next;
    there = Grown(x);
    if (there < wanted) {
      low = x;
    } else {
      high = x;
    }
  }
  return begin_ + high;
}

}  // namespace drycrank::core
