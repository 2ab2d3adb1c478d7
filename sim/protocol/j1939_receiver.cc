// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "protocol/j1939_management.h"
#include "protocol/j1939_transport.h"
#include "types/nth.h"

namespace drycrank::protocol {
namespace {

constexpr int kMaxRetries = 3;
constexpr std::size_t kLongestFrame = 8;

}  // namespace

J1939Receiver::Session* J1939Receiver::Find(std::uint8_t source, bool broadcast) {
  for (Session& s : sessions_) {
    if (s.state != State::kFree && s.id.source == source && s.is_broadcast() == broadcast) {
      return &s;
    }
  }
  return nullptr;
}

void J1939Receiver::Abort(const J1939Id& to, std::uint8_t reason) {
  abort_ =
      ManagementFrame(address_, to.source, to.pgn, {kConnectionAbort, reason, 0xFF, 0xFF, 0xFF});
}

void J1939Receiver::GiveUp(Session& session, J1939Error error, std::uint8_t reason) {
  if (!session.is_broadcast() && reason != 0) Abort(session.id, reason);
  session.state = State::kFree;
  errors_.Add(error);
}

void J1939Receiver::OnFrame(TimeNs t_ns, const bus::Frame& frame) {
  const auto id = J1939IdOf(frame);
  if (!id || frame.length < 8) return;
  const bool for_us =
      id->destination == kGlobalAddress || (id->destination == address_ && address_ < kNullAddress);
  if (!for_us || id->source >= kNullAddress) return;
  if (id->pgn == kPgnTransportData) return OnPacket(t_ns, *id, frame);
  if (id->pgn != kPgnTransportManagement) return;
  const std::uint8_t control = frame.data[0];
  if (control == kRequestToSend || control == kBroadcastAnnounce) return OnBegin(t_ns, *id, frame);
  if (control != kConnectionAbort) return;
  Session* session = Find(id->source, false);
  if (session != nullptr && session->state == State::kPackets && session->id.pgn == PgnIn(frame)) {
    GiveUp(*session, J1939Error::kAborted, 0);
  }
}

void J1939Receiver::OnBegin(TimeNs t_ns, const J1939Id& id, const bus::Frame& frame) {
  const bool broadcast = frame.data[0] == kBroadcastAnnounce;
  if (broadcast != (id.destination == kGlobalAddress)) return;
  const J1939Id of{id.priority, PgnIn(frame), id.destination, id.source};
  const std::size_t length = frame.data[1] | static_cast<std::size_t>(frame.data[2]) << 8;
  const std::size_t packets = (length + kPacketBytes - 1) / kPacketBytes;
  if (length <= kLongestFrame || length > kMaxJ1939Bytes || packets != frame.data[3]) {
    if (!broadcast) Abort(of, kReasonNoRoom);
    return errors_.Add(J1939Error::kNoRoom);
  }
  Session* session = Find(id.source, broadcast);
  if (session != nullptr) {
    errors_.Add(J1939Error::kBusy);
  } else {
    const auto free = std::find_if(sessions_.begin(), sessions_.end(),
                                   [](const Session& s) { return s.state == State::kFree; });
    if (free == sessions_.end()) {
      if (!broadcast) Abort(of, kReasonBusy);
      return errors_.Add(J1939Error::kNoRoom);
    }
    session = &*free;
  }
  session->state = State::kPackets;
  session->id = of;
  session->length = length;
  session->packets = static_cast<int>(packets);
  session->next = 1;
  session->retries = 0;
  session->limit = frame.data[4] == 0 ? 255 : frame.data[4];
  session->block_end = session->packets;
  session->deadline_ns = t_ns + kT1Ns;
  session->answer_ns = broadcast ? kNever : t_ns;
}

// From the first packet that is missing.
void J1939Receiver::AskAgain(Session& session, TimeNs t_ns) {
  if (++session.retries > kMaxRetries) {
    return GiveUp(session, J1939Error::kWrongSequence, kReasonBadSequence);
  }
  session.answer_ns = t_ns;
}

void J1939Receiver::OnPacket(TimeNs t_ns, const J1939Id& id, const bus::Frame& frame) {
  Session* session = Find(id.source, id.destination == kGlobalAddress);
  if (session == nullptr || session->state != State::kPackets) return;
  const int number = frame.data[0];
  if (number != session->next) {
    if (session->is_broadcast()) return GiveUp(*session, J1939Error::kWrongSequence, 0);
    // A doubled packet is passed over; after a lost one, the rest of the block is.
    if (number == session->block_end && number > session->next) AskAgain(*session, t_ns);
    return;
  }
  const std::size_t begin = AsSize(number - 1) * kPacketBytes;
  std::copy_n(frame.data.begin() + 1, std::min(kPacketBytes, session->length - begin),
              session->bytes.begin() + static_cast<std::ptrdiff_t>(begin));
  session->deadline_ns = t_ns + kT1Ns;
  ++session->next;
  if (number < session->block_end) return;
  session->retries = 0;
  session->answer_ns = session->is_broadcast() ? kNever : t_ns;
  if (number < session->packets) return;
  session->state = State::kWhole;
  session->deadline_ns = kNever;
}

bus::Frame J1939Receiver::Answer(Session& session, TimeNs t_ns) {
  session.answer_ns = kNever;
  const auto frame = [&](const std::array<std::uint8_t, 5>& head) {
    return ManagementFrame(address_, session.id.source, session.id.pgn, head);
  };
  if (session.next > session.packets) {
    return frame({kEndOfMessage, static_cast<std::uint8_t>(session.length & 0xFF),
                  static_cast<std::uint8_t>(session.length >> 8),
                  static_cast<std::uint8_t>(session.packets), 0xFF});
  }
  const int count = std::min({block_, session.limit, session.packets - session.next + 1});
  session.block_end = session.next + count - 1;
  session.deadline_ns = t_ns + kT2Ns;
  return frame({kClearToSend, static_cast<std::uint8_t>(count),
                static_cast<std::uint8_t>(session.next), 0xFF, 0xFF});
}

TimeNs J1939Receiver::NextDue() const {
  if (abort_) return 0;
  TimeNs due_ns = kNever;
  for (const Session& s : sessions_) {
    if (s.state == State::kFree) continue;
    due_ns = std::min({due_ns, s.deadline_ns, s.answer_ns});
  }
  return due_ns;
}

bool J1939Receiver::TakeDue(TimeNs t_ns, bus::Frame& out) {
  for (Session& s : sessions_) {
    if (s.state == State::kFree) continue;
    if (s.answer_ns <= t_ns) {
      out = Answer(s, t_ns);
      return true;
    }
    if (s.deadline_ns > t_ns) continue;
    s.deadline_ns = t_ns + kT1Ns;
    if (s.is_broadcast()) {
      GiveUp(s, J1939Error::kTimeout, 0);
    } else if (s.next > 1 && s.retries < kMaxRetries) {
      AskAgain(s, t_ns);
      out = Answer(s, t_ns);
      return true;
    } else {
      GiveUp(s, J1939Error::kTimeout, kReasonTimeout);
    }
  }
  if (!abort_) return false;
  out = *abort_;
  abort_.reset();
  return true;
}

std::optional<J1939Receiver::Message> J1939Receiver::TakeMessage() {
  for (Session& s : sessions_) {
    if (s.state != State::kWhole || s.answer_ns != kNever) continue;
    s.state = State::kFree;
    return Message{s.id, std::span<const std::uint8_t>(s.bytes.data(), s.length)};
  }
  return std::nullopt;
}

}  // namespace drycrank::protocol
