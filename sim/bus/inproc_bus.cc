// SPDX-License-Identifier: Apache-2.0
#include "bus/inproc_bus.h"

#include <algorithm>
#include <utility>

namespace drycrank::bus {

InprocHub::InprocHub(Clock& clock, int bus, std::size_t queue_frames)
    : clock_(clock), bus_(bus), queue_frames_(queue_frames) {}

void InprocHub::Report(BusEvent event) {
  if (event == BusEvent::kUp) up_ = true;
  if (event == BusEvent::kDown || event == BusEvent::kBusOff) up_ = false;
  for (InprocBus* end : ends_) end->events_.Push(event);
}

bool InprocHub::Carry(const InprocBus& from, const Frame& frame) {
  if (!up_) return false;
  const TimedFrame timed{clock_.Now(), bus_, false, frame};
  for (InprocBus* end : ends_) {
    if (end != &from) end->Deliver(timed);
  }
  return true;
}

InprocBus::InprocBus(std::shared_ptr<InprocHub> hub)
    : hub_(std::move(hub)), received_(hub_->queue_frames_) {
  hub_->ends_.push_back(this);
}

InprocBus::~InprocBus() { std::erase(hub_->ends_, this); }

bool InprocBus::Send(const Frame& frame) {
  const bool sent = IsValid(frame) && hub_->Carry(*this, frame);
  ++(sent ? counters_.sent : counters_.send_refused);
  return sent;
}

std::optional<TimedFrame> InprocBus::Receive() {
  std::optional<TimedFrame> frame = received_.Pop();
  if (frame) ++counters_.received;
  return frame;
}

void InprocBus::Deliver(const TimedFrame& frame) {
  if (received_.Push(frame)) return;
  ++counters_.receive_lost;
  events_.Push(BusEvent::kOverrun);
}

}  // namespace drycrank::bus
