// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "protocol/j1939_management.h"
#include "protocol/j1939_transport.h"
#include "types/nth.h"

namespace drycrank::protocol {
namespace {

constexpr std::size_t kLongestFrame = 8;
constexpr int kMaxPackets = 255;

}  // namespace

const char* Name(J1939Error error) {
  switch (error) {
    case J1939Error::kNone:
      return "none";
    case J1939Error::kTimeout:
      return "nothing came in time";
    case J1939Error::kAborted:
      return "the other side gave up";
    case J1939Error::kWrongSequence:
      return "a packet was lost or doubled";
    case J1939Error::kBusy:
      return "a new message began before the last was whole";
    case J1939Error::kNoRoom:
      return "no room for another message, or a length out of range";
  }
  return "";
}

bool J1939Sender::Send(TimeNs t_ns, const J1939Id& id, std::span<const std::uint8_t> message) {
  if (sending() || message.size() <= kLongestFrame || message.size() > kMaxJ1939Bytes) return false;
  id_ = id;
  std::copy(message.begin(), message.end(), bytes_.begin());
  length_ = message.size();
  packets_ = static_cast<int>((length_ + kPacketBytes - 1) / kPacketBytes);
  next_ = 1;
  block_end_ = 0;
  state_ = State::kAnnounce;
  due_ns_ = t_ns;
  return true;
}

void J1939Sender::Await(TimeNs until_ns) {
  state_ = State::kAwaitingAnswer;
  due_ns_ = until_ns;
}

void J1939Sender::OnFrame(TimeNs t_ns, const bus::Frame& frame) {
  const auto id = J1939IdOf(frame);
  if (!id || !sending() || IsBroadcast() || state_ == State::kAnnounce) return;
  if (id->pgn != kPgnTransportManagement || frame.length < 8) return;
  if (id->source != id_.destination || id->destination != id_.source || PgnIn(frame) != id_.pgn) {
    return;
  }
  switch (frame.data[0]) {
    case kClearToSend:
      return OnClearToSend(t_ns, frame);
    case kEndOfMessage:
      if (next_ > packets_) state_ = State::kIdle;
      return;
    case kConnectionAbort:
      state_ = State::kIdle;
      abort_reason_ = frame.data[1];
      return errors_.Add(J1939Error::kAborted);
    default:
      return;
  }
}

void J1939Sender::OnClearToSend(TimeNs t_ns, const bus::Frame& frame) {
  const int count = frame.data[1], first = frame.data[2];
  if (count == 0) return Await(t_ns + kT4Ns);  // hold
  if (first < 1 || first > packets_ || first > next_) {
    errors_.Add(J1939Error::kWrongSequence);
    state_ = State::kAbort;
    due_ns_ = t_ns;
    return;
  }
  next_ = first;
  block_end_ = std::min(packets_, first + count - 1);
  state_ = State::kPackets;
  due_ns_ = t_ns;
}

bus::Frame J1939Sender::Management(std::uint8_t control, std::uint8_t last) const {
  return ManagementFrame(
      id_.source, id_.destination, id_.pgn,
      {control, static_cast<std::uint8_t>(length_ & 0xFF), static_cast<std::uint8_t>(length_ >> 8),
       static_cast<std::uint8_t>(packets_), last});
}

bus::Frame J1939Sender::Packet() const {
  std::array<std::uint8_t, 8> data;
  data.fill(0xFF);
  data[0] = static_cast<std::uint8_t>(next_);
  const std::size_t begin = AsSize(next_ - 1) * kPacketBytes;
  std::copy_n(bytes_.begin() + static_cast<std::ptrdiff_t>(begin),
              std::min(kPacketBytes, length_ - begin), data.begin() + 1);
  return J1939Frame({7, kPgnTransportData, id_.destination, id_.source}, data);
}

bool J1939Sender::TakeDue(TimeNs t_ns, bus::Frame& out) {
  if (!sending() || due_ns_ > t_ns) return false;
  switch (state_) {
    case State::kAnnounce:
      out = Management(IsBroadcast() ? kBroadcastAnnounce : kRequestToSend, 0xFF);
      if (IsBroadcast()) {
        state_ = State::kPackets;
        block_end_ = packets_;
        due_ns_ = t_ns + kBroadcastGapNs;
      } else {
        Await(t_ns + kT3Ns);
      }
      return true;
    case State::kPackets:
      out = Packet();
      due_ns_ = t_ns + (IsBroadcast() ? kBroadcastGapNs : packet_gap_ns_);
      if (next_++ < block_end_) return true;
      if (IsBroadcast()) {
        state_ = State::kIdle;
      } else {
        Await(t_ns + kT3Ns);
      }
      return true;
    case State::kAwaitingAnswer:
      errors_.Add(J1939Error::kTimeout);
      [[fallthrough]];
    case State::kAbort: {
      const bool late = state_ == State::kAwaitingAnswer;
      state_ = State::kIdle;
      out = ManagementFrame(
          id_.source, id_.destination, id_.pgn,
          {kConnectionAbort, late ? kReasonTimeout : kReasonBadSequence, 0xFF, 0xFF, 0xFF});
      return true;
    }
    case State::kIdle:
      break;
  }
  return false;
}

static_assert(kMaxJ1939Bytes == kMaxPackets * kPacketBytes);

}  // namespace drycrank::protocol
