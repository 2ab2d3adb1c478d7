// SPDX-License-Identifier: Apache-2.0
#include "bus/wire.h"

#include <algorithm>

#include "bus/frame_bits.h"
#include "types/nth.h"

namespace drycrank::bus {

Wire::Wire(const profile::Bus& bus, std::size_t queue_frames) : mailboxes_(bus.messages.size()) {
  rates_.bitrate_bps = bus.bitrate_bps;
  rates_.data_bitrate_bps = bus.data_bitrate_bps;
  waiting_.reserve(queue_frames + 2 * mailboxes_.size());
}

bool Wire::Replace(const Frame& frame, int mailbox, TimeNs t_ns) {
  for (Waiting& waiting : waiting_) {
    if (waiting.sent.mailbox != mailbox || waiting.sent.queued_ns == t_ns) continue;
    waiting.sent.frame = frame;
    waiting.sent.queued_ns = t_ns;
    waiting.urgency = ArbitrationField(frame);
    ++Nth(mailboxes_, mailbox).replaced;
    return true;
  }
  return false;
}

bool Wire::Queue(const Frame& frame, int sender, int mailbox, TimeNs t_ns) {
  if (!IsValid(frame)) {
    ++refused_;
    return false;
  }
  if (mailbox != kNoMailbox && Replace(frame, mailbox, t_ns)) return true;
  if (waiting_.size() == waiting_.capacity()) {
    ++refused_;
    return false;
  }
  waiting_.push_back(
      {arrivals_++, ArbitrationField(frame), {frame, sender, mailbox, t_ns, kNever}});
  return true;
}

void Wire::Begin(TimeNs t_ns) {
  if (sending_ || waiting_.empty() || t_ns < free_ns_) return;
  const auto first =
      std::min_element(waiting_.begin(), waiting_.end(), [](const Waiting& a, const Waiting& b) {
        return a.urgency != b.urgency ? a.urgency < b.urgency : a.order < b.order;
      });
  now_ = first->sent;
  *first = waiting_.back();
  waiting_.pop_back();
  FrameBits bits = ExactBits(now_.frame);
  free_ns_ = t_ns + DurationNs(bits, rates_);
  busy_ns_ += free_ns_ - t_ns;
  bits.nominal -= kIntermissionBits;
  now_.received_ns = t_ns + DurationNs(bits, rates_);
  sending_ = true;
}

TimeNs Wire::NextDueNs() const {
  if (sending_) return now_.received_ns;
  return waiting_.empty() ? kNever : free_ns_;
}

const Wire::Sent* Wire::TakeSent(TimeNs t_ns) {
  if (!sending_ || now_.received_ns > t_ns) return nullptr;
  sending_ = false;
  if (now_.mailbox != kNoMailbox) {
    Mailbox& mailbox = Nth(mailboxes_, now_.mailbox);
    ++mailbox.sent;
    mailbox.worst_response_ns =
        std::max(mailbox.worst_response_ns, now_.received_ns - now_.queued_ns);
  }
  return &now_;
}

}  // namespace drycrank::bus
