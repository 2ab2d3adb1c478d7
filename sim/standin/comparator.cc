// SPDX-License-Identifier: Apache-2.0
#include "standin/comparator.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace drycrank::standin {
namespace {

using std::numbers::pi;

// Where 0 V is meant, this much beside it counts as reached: a wave that rests at zero but for the
// rounding of the network's solution has arrived. Moves no crossing by more than some picoseconds.
constexpr double kZeroBandV = 1e-9;

// x in [low_x, high_x] where the piece has `level_v`. REQUIRES: monotone there, ends on both sides.
double BracketedRoot(const Wave& piece, double level_v, double low_x, double high_x) {
  const bool rising = piece.AtFraction(high_x) > piece.AtFraction(low_x);
  double x = 0.5 * (low_x + high_x);
  for (int i = 0; i < 60 && high_x - low_x > 1e-14; ++i) {
    const double error_v = piece.AtFraction(x) - level_v;
    if ((error_v < 0) == rising) {
      low_x = x;
    } else {
      high_x = x;
    }
    const double slope = piece.end_v - piece.begin_v + piece.peak_v * pi * std::cos(pi * x);
    const double newton_x = x - error_v / slope;
    const bool inside = newton_x > low_x && newton_x < high_x;  // false for a zero slope as well
    const double next_x = inside ? newton_x : 0.5 * (low_x + high_x);
    if (std::abs(next_x - x) < 1e-13) return next_x;
    x = next_x;
  }
  return x;
}

double CrossingX(const Wave& piece, double level_v, double from_x, double to_x) {
  const double rise_v = piece.end_v - piece.begin_v;
  if (piece.peak_v == 0) return (level_v - piece.begin_v) / rise_v;
  if (rise_v == 0) {
    const double sine = std::clamp((level_v - piece.begin_v) / piece.peak_v, 0.0, 1.0);
    const double x = std::asin(sine) / pi;
    return from_x < 0.25 ? x : 1.0 - x;
  }
  return BracketedRoot(piece, level_v, from_x, to_x);
}

// Where in (0, 1) it turns round: dv/dx = rise + peak pi cos(pi x) changes its sign at most once;
// -1: nowhere.
double TurnX(const Wave& piece) {
  const double rise_v = piece.end_v - piece.begin_v;
  if (std::abs(rise_v) >= std::abs(piece.peak_v) * pi) return -1;
  return rise_v == 0 ? 0.5 : std::acos(-rise_v / (piece.peak_v * pi)) / pi;
}

// The highest of side * v from its begin on.
double HighestUntil(const Wave& piece, TimeNs end_ns, double side) {
  double highest_v = side * piece.begin_v;
  if (piece.end_ns == kNever || piece.end_ns <= piece.begin_ns) return highest_v;
  const auto length_ns = static_cast<double>(piece.end_ns - piece.begin_ns);
  const double end_x = std::min(1.0, static_cast<double>(end_ns - piece.begin_ns) / length_ns);
  highest_v = std::max(highest_v, side * piece.AtFraction(end_x));
  const double turn_x = TurnX(piece);
  if (turn_x > 0 && turn_x < end_x)
    highest_v = std::max(highest_v, side * piece.AtFraction(turn_x));
  return highest_v;
}

}  // namespace

Comparator Comparator::For(const profile::TriggerChannel& channel) {
  if (channel.conditioning == profile::Conditioning::kThreshold) {
    return Comparator(channel.high_v, channel.low_v);
  }
  const bool falling = channel.edge == profile::ActiveEdge::kFalling;
  Comparator comparator =
      falling ? Comparator(channel.arm_v, kZeroBandV) : Comparator(-kZeroBandV, -channel.arm_v);
  comparator.arm_v_ = falling ? channel.arm_v : -channel.arm_v;
  comparator.arm_share_ = channel.arm_share;
  return comparator;
}

// The piece before is known as far as this one's begin; from there on what it said counts no more.
void Comparator::Adapt(const Wave& next) {
  const double side = arm_v_ > 0 ? 1 : -1;
  if (started_) lobe_v_ = std::max(lobe_v_, HighestUntil(last_, next.begin_ns, side));
  last_ = next;
  if (side * next.begin_v <= kZeroBandV) {
    if (lobe_v_ > kZeroBandV) {  // what stays within the band is no lobe
      lobes_v_[oldest_lobe_] = lobe_v_;
      oldest_lobe_ = (oldest_lobe_ + 1) % kLobesKept;
    }
    lobe_v_ = 0;
  }
  const double highest_v = *std::ranges::max_element(lobes_v_);
  const double level_v = side * std::max(std::abs(arm_v_), arm_share_ * highest_v);
  (side > 0 ? high_v_ : low_v_) = level_v;
}

void Comparator::DropFrom(TimeNs begin_ns) {
  while (count_ > 0) {
    const Pending& last = pending_[(head_ + count_ - 1) % kCapacity];
    if (last.t_ns < begin_ns) return;
    level_ = !last.high;
    --count_;
  }
}

void Comparator::Push(TimeNs t_ns) {
  level_ = !level_;
  if (count_ == kCapacity) {
    ++dropped_;
    return;
  }
  pending_[(head_ + count_) % kCapacity] = {t_ns, level_};
  ++count_;
}

bool Comparator::Take() {
  const bool high = pending_[head_].high;
  head_ = (head_ + 1) % kCapacity;
  --count_;
  return high;
}

void Comparator::Settle(TimeNs t_ns, double v) {
  if (level_ ? v <= low_v_ : v >= high_v_) Push(t_ns);
}

void Comparator::FollowPart(const Wave& piece, double from_x, double from_v, double to_x,
                            double to_v) {
  const bool crosses =
      level_ ? from_v > low_v_ && to_v <= low_v_ : from_v < high_v_ && to_v >= high_v_;
  if (!crosses) return;
  const double x = CrossingX(piece, level_ ? low_v_ : high_v_, from_x, to_x);
  const double length_ns = static_cast<double>(piece.end_ns - piece.begin_ns);
  Push(piece.begin_ns + std::llround(std::clamp(x, from_x, to_x) * length_ns));
}

void Comparator::OnPiece(const Wave& piece) {
  DropFrom(piece.begin_ns);
  if (arm_share_ > 0) Adapt(piece);
  if (!started_) {
    started_ = true;
    level_ = piece.begin_v >= high_v_;
  }
  Settle(piece.begin_ns, piece.begin_v);
  if (piece.end_ns == kNever) return;
  const double turn_x = TurnX(piece);
  if (turn_x < 0) {
    FollowPart(piece, 0, piece.begin_v, 1, piece.end_v);
    return;
  }
  const bool level = piece.end_v == piece.begin_v;
  const double turn_v = level ? piece.begin_v + piece.peak_v : piece.AtFraction(turn_x);
  FollowPart(piece, 0, piece.begin_v, turn_x, turn_v);
  FollowPart(piece, turn_x, turn_v, 1, piece.end_v);
}

}  // namespace drycrank::standin
