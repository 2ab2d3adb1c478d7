// SPDX-License-Identifier: Apache-2.0
#include "bus/confirmations.h"

#include <utility>

namespace drycrank::bus {

Confirmations::Confirmations(BusCounters& counters, std::size_t frames)
    : counters_(counters), waiting_(frames) {}

void Confirmations::OnSent(const Frame& frame, TimeNs t_ns) {
  if (count_ == waiting_.size()) {
    MarkLate(At(0));
    At(0).done = true;
    DropDone();
  }
  At(count_++) = {frame, t_ns, false, false};
}

bool Confirmations::OnEcho(const Frame& frame) {
  for (std::size_t i = 0; i < count_; ++i) {
    Waiting& waiting = At(i);
    if (waiting.done || waiting.frame != frame) continue;
    waiting.done = true;
    if (waiting.late) --counters_.unconfirmed;
    ++counters_.confirmed;
    DropDone();
    return true;
  }
  return false;
}

bool Confirmations::Expire(TimeNs t_ns) {
  while (on_time_ < count_ && At(on_time_).t_ns + kConfirmWithinNs <= t_ns)
    MarkLate(At(on_time_++));
  return std::exchange(expired_, false);
}

void Confirmations::GiveUp() {
  for (std::size_t i = 0; i < count_; ++i) MarkLate(At(i));
  first_ = count_ = on_time_ = 0;
  expired_ = false;
}

void Confirmations::DropDone() {
  while (count_ > 0 && At(0).done) {
    first_ = (first_ + 1) % waiting_.size();
    --count_;
    if (on_time_ > 0) --on_time_;
  }
}

void Confirmations::MarkLate(Waiting& waiting) {
  if (waiting.late || waiting.done) return;
  waiting.late = expired_ = true;
  ++counters_.unconfirmed;
}

}  // namespace drycrank::bus
