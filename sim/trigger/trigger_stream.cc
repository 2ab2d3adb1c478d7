// SPDX-License-Identifier: Apache-2.0
#include "trigger/trigger_stream.h"

#include <cassert>

#include "types/nth.h"

namespace drycrank::trigger {

TriggerStream::TriggerStream(std::span<const TurningWheel> wheels) {
  channels_.reserve(wheels.size());
  for (const TurningWheel& wheel : wheels) {
    channels_.emplace_back(wheel, static_cast<int>(channels_.size()));
  }
}

TriggerEvent TriggerStream::Take(const engine::Motion& motion) {
  assert(next_.t_ns != kNever);
  const TriggerEvent taken = next_;
  Nth(channels_, taken.channel).Take(motion);
  Select();
  return taken;
}

void TriggerStream::Restart(TimeNs now_ns, const engine::Motion& motion) {
  for (Channel& channel : channels_) channel.Restart(now_ns, motion);
  Select();
}

void TriggerStream::SetAdvance(int channel, const Advance& advance) {
  Nth(channels_, channel).SetAdvance(advance);
}

void TriggerStream::SetFault(int channel, const ChannelFault& fault) {
  Nth(channels_, channel).SetFault(fault);
}

bool TriggerStream::metal(int channel) const { return Nth(channels_, channel).metal(); }

// At most some eight channels: looking at each is faster than a heap.
void TriggerStream::Select() {
  next_ = {};
  for (const Channel& channel : channels_) {
    if (channel.next().t_ns < next_.t_ns) next_ = channel.next();
  }
}

}  // namespace drycrank::trigger
