// SPDX-License-Identifier: Apache-2.0
#include "core/pulse_source.h"

namespace drycrank::core {

bool PulseSource::Next(int64_t until, Pulse& pulse) {
  for (;;) {
    int32_t first = 0;
    for (int32_t c = 1; c < kChannels; ++c) {
      if (due_[c] < due_[first]) first = c;
    }
    const int64_t t = due_[first];
    if (t >= until || t == kAtNoTime) {
      if (motion_.end() >= until) {
        now_ = until;
        return false;
      }
      motion_.GoOn();
      now_ = motion_.begin();
      Plan();
      continue;
    }
    now_ = t;
    ToothChannel& channel = channels_[first];
    pulse = {t, first, channel.Level()};
    const bool shows = channel.Shows(t);
    channel.Pass();
    PlanOne(first);
    if (shows) return true;
  }
}

void PulseSource::Turn(int64_t now, int32_t speed, int32_t climb) {
  ComeTo(now);
  motion_.Turn(now, speed, climb);
  Plan();
}

void PulseSource::PlaceAgain(int64_t now, int32_t channel) {
  ComeTo(now);
  channels_[channel].FindPlace(motion_.AngleAt(now));
  PlanOne(channel);
}

void PulseSource::TimeAgain(int64_t now) {
  ComeTo(now);
  Plan();
}

void PulseSource::BeginAtZero(int64_t now) {
  ComeTo(now);
  motion_.Lessen(motion_.AngleAt(now));
  for (int32_t c = 0; c < kChannels; ++c) PlaceAgain(now, c);
}

bool PulseSource::LevelNow(int32_t c) const {
  const ToothChannel& channel = channels_[c];
  switch (static_cast<Fault>(channel.setting.fault)) {
    case Fault::kLow:
      return false;
    case Fault::kHigh:
      return true;
    case Fault::kNone:
    case Fault::kSilent:
      break;
  }
  return channel.has_wheel() ? channel.Before() : channel.setting.safe_level != 0;
}

void PulseSource::ComeTo(int64_t t) {
  while (motion_.end() < t) motion_.GoOn();
  now_ = t;
}

// Angles are counted from the last whole six turns, so that none grows without end.
void PulseSource::Lessen() {
  const int64_t turns = motion_.AngleAt(motion_.begin()) / kUnitsPerSixTurns;
  if (turns == 0) return;
  motion_.Lessen(turns * kUnitsPerSixTurns);
  for (ToothChannel& channel : channels_) channel.Lessen(turns * kUnitsPerSixTurns);
}

void PulseSource::Plan() {
  Lessen();
  for (int32_t c = 0; c < kChannels; ++c) PlanOne(c);
}

// What was overtaken comes now. Across the end of a piece it is looked for again (Next).
void PulseSource::PlanOne(int32_t c) {
  due_[c] = kAtNoTime;
  if (!channels_[c].has_wheel()) return;
  const int64_t t = motion_.TimeOf(channels_[c].Next());
  due_[c] = t < now_ ? now_ : t;
}

}  // namespace drycrank::core
