// SPDX-License-Identifier: Apache-2.0
//
// The trigger core: four wheels on one crank, to edges in the order of their times. All of it is whole
// numbers, without allocation, exceptions or the C++ library, so that a microcontroller gives the
// edges of a PC, tick for tick.
//
//   set-points ─► FixedMotion ─┐
//                              ├─► Next: the earliest edge of all channels ─► board (core/board.h)
//   set-points ─► ToothChannel ┘
//
// An edge comes less than 2 ns after its exact time: at the next whole ns, or one more where the
// floor of a piece's angle decides. Left out: compression ripple, sine, a crank that swings back,
// coils' lobes (what stands behind the pin makes them).
#ifndef DRYCRANK_CORE_PULSE_SOURCE_H_
#define DRYCRANK_CORE_PULSE_SOURCE_H_

#include <stdint.h>

#include "core/fixed_motion.h"
#include "core/tooth_channel.h"

namespace drycrank::core {

inline constexpr int32_t kChannels = 4;

class PulseSource {
 public:
  // The next edge before `until`, ns; false: there is none, and time has come to `until`.
  // REQUIRES: until does not go back.
  bool Next(int64_t until, Pulse& pulse);

  // From now on, which is not before the last edge nor `until`.
  void Turn(int64_t now, int32_t speed, int32_t climb);
  // The channel's setting was changed: its wheel or its place is another, or else the time of its edges.
  void PlaceAgain(int64_t now, int32_t channel);
  void TimeAgain(int64_t now);
  // The crank's angle is 0 now. REQUIRES: it stands still.
  void BeginAtZero(int64_t now);

  ToothChannel& channel(int32_t c) { return channels_[c]; }
  const ToothChannel& channel(int32_t c) const { return channels_[c]; }
  // What the pin is to show now, by the wheel and the fault. REQUIRES: it is not silent.
  bool LevelNow(int32_t c) const;
  int32_t SpeedNow(int64_t now) const { return motion_.SpeedAt(now); }

 private:
  void ComeTo(int64_t t);
  void Plan();
  void PlanOne(int32_t channel);
  void Lessen();

  FixedMotion motion_;
  ToothChannel channels_[kChannels];
  int64_t due_[kChannels] = {kAtNoTime, kAtNoTime, kAtNoTime, kAtNoTime};
  int64_t now_ = 0;
};

}  // namespace drycrank::core

#endif  // DRYCRANK_CORE_PULSE_SOURCE_H_
