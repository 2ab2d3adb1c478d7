// SPDX-License-Identifier: Apache-2.0
//
// The crank's motion in whole numbers: the same on every machine, nothing rounded but one floor.
//
//   angle   1 turn of the crank = 6e13 units. At v thousandths of a turn per minute it grows by just v
//           units each ns, so a speed that is held has no error at all
//   t       ns; within a piece x = ns since its begin, at most 2^30
//   climb   thousandths of a turn per minute, per second
//
//   angle(x) = begin + floor(v x + (2 n + climb x) x / 2e9)       n: 1e-9ths of speed beside v
//
// A piece ends after 2^30 ns or where the climb reaches its target, and the next begins with the
// speed that it had, exactly. When an angle is reached is an integer as well: the least x with
// angle(x) >= it. The crank turns one way; 0 to 20,000 r/min; climbs to 2e8 (200,000 r/min a second).
//
// Rejected: binary fractions (Q32 turns), which need a product of 96 bits and drift by the rounding
// of the speed, 25 ns after 1,000 s.
#ifndef DRYCRANK_CORE_FIXED_MOTION_H_
#define DRYCRANK_CORE_FIXED_MOTION_H_

#include <stdint.h>

namespace drycrank::core {

inline constexpr int64_t kUnitsPerTurn = 60'000'000'000'000;
inline constexpr int64_t kUnitsPerSixTurns = 6 * kUnitsPerTurn;  // any shaft's turns fit into it
inline constexpr int64_t kAtNoTime = INT64_MAX;
inline constexpr int32_t kMostSpeed = 20'000'000;  // thousandths of a turn per minute
inline constexpr int32_t kMostClimb = 200'000'000;

class FixedMotion {
 public:
  // From `now` on towards `speed`: at once with climb 0. REQUIRES: now is not before the piece's begin,
  // nor after its end; 0 <= speed <= kMostSpeed, 0 <= climb <= kMostClimb.
  void Turn(int64_t now, int32_t speed, int32_t climb);

  // REQUIRES for both: within the piece.
  int64_t AngleAt(int64_t t) const { return angle_ + Grown(t - begin_); }
  // Thousandths of a turn per minute, rounded down.
  int32_t SpeedAt(int64_t t) const;

  // First ns of this piece at which the angle is reached; kAtNoTime: not within it.
  int64_t TimeOf(int64_t angle) const;

  int64_t begin() const { return begin_; }
  int64_t end() const { return begin_ + length_; }
  // The next piece, from the end of this one.
  void GoOn() { Begin(end()); }
  // Counts angles from `units` further on.
  void Lessen(int64_t units) { angle_ -= units; }

 private:
  int64_t Grown(int64_t x) const;
  int64_t Billionths(int64_t x) const { return part_ + climb_ * x; }
  void Begin(int64_t t);
  void Plan();

  int64_t begin_ = 0, length_ = int64_t{1} << 30;
  int64_t angle_ = 0;
  int64_t speed_ = 0, part_ = 0;  // thousandths of a turn per minute, and billionths of them
  int64_t climb_ = 0, target_ = 0;
};

}  // namespace drycrank::core

#endif  // DRYCRANK_CORE_FIXED_MOTION_H_
