// SPDX-License-Identifier: Apache-2.0
//
// SAE J1939-21 transport protocol: 9 to 1785 bytes in packets of 7, each with its number 1..255.
//
//   to all (BAM)       to one (RTS/CTS)
//   announce  ───►     request to send ───►
//   packet 1  ───►                     ◄─── clear to send   how many packets the receiver takes,
//   packet 2  ───►     packets         ───►                 from which; 0: hold on. It asks again
//   50 ms apart                        ◄─── clear to send,  for what was lost.
//                                           or end of message
//
// Time-outs (J1939-21): T1 750 ms between packets, T2 1250 ms from clear to send to a packet, T3
// 1250 ms for an answer, T4 1050 ms after a hold. Pure as isotp.h: time in, frames out, memory
// fixed.
#ifndef DRYCRANK_PROTOCOL_J1939_TRANSPORT_H_
#define DRYCRANK_PROTOCOL_J1939_TRANSPORT_H_

#include <array>
#include <cstdint>
#include <optional>
#include <span>

#include "bus/frame.h"
#include "protocol/j1939.h"
#include "types/nth.h"
#include "types/time.h"

namespace drycrank::protocol {

inline constexpr std::size_t kMaxJ1939Bytes = 1785;

enum class J1939Error {
  kNone,
  kTimeout,        // no answer, or no packet, in time
  kAborted,        // the other side gave up
  kWrongSequence,  // a packet was lost or doubled, and could not be had again
  kBusy,           // a new session of the same sender began before the last was whole
  kNoRoom,         // more sessions at once than there is memory for, or a length out of range
};
inline constexpr std::size_t kJ1939Errors = 6;
const char* Name(J1939Error error);

class J1939Errors {
 public:
  void Add(J1939Error error) {
    last_ = error;
    ++Nth(counts_, error);
  }
  J1939Error Take() {
    const J1939Error error = last_;
    last_ = J1939Error::kNone;
    return error;
  }
  std::uint64_t count(J1939Error error) const { return Nth(counts_, error); }

 private:
  J1939Error last_ = J1939Error::kNone;
  std::array<std::uint64_t, kJ1939Errors> counts_{};
};

// One message on its way out.
class J1939Sender {
 public:
  static constexpr TimeNs kBroadcastGapNs = 50 * kNsPerMs;

  // False: one is on its way, or the length is not 9..1785. id.source is the sender's address.
  bool Send(TimeNs t_ns, const J1939Id& id, std::span<const std::uint8_t> message);
  void OnFrame(TimeNs t_ns, const bus::Frame& frame);
  TimeNs NextDue() const { return state_ == State::kIdle ? kNever : due_ns_; }
  bool TakeDue(TimeNs t_ns, bus::Frame& out);

  bool sending() const { return state_ != State::kIdle; }
  J1939Error TakeError() { return errors_.Take(); }
  const J1939Errors& errors() const { return errors_; }
  std::uint8_t abort_reason() const { return abort_reason_; }  // of the last kAborted
  // Between packets to one receiver.
  void set_packet_gap(TimeNs gap_ns) { packet_gap_ns_ = gap_ns; }

 private:
  enum class State { kIdle, kAnnounce, kPackets, kAwaitingAnswer, kAbort };

  void OnClearToSend(TimeNs t_ns, const bus::Frame& frame);
  void Await(TimeNs until_ns);
  bus::Frame Management(std::uint8_t control, std::uint8_t last) const;
  bus::Frame Packet() const;
  bool IsBroadcast() const { return id_.destination == kGlobalAddress; }

  State state_ = State::kIdle;
  TimeNs due_ns_ = kNever;
  J1939Id id_;
  std::array<std::uint8_t, kMaxJ1939Bytes> bytes_{};
  std::size_t length_ = 0;
  int packets_ = 0, next_ = 1, block_end_ = 0;  // packet numbers; block_end_ is the last to send
  TimeNs packet_gap_ns_ = kNsPerMs;
  J1939Errors errors_;
  std::uint8_t abort_reason_ = 0;
};

// Messages on their way in, from several senders at once.
class J1939Receiver {
 public:
  static constexpr std::size_t kSessions = 8;

  // `address`: ours; kNullAddress: only what is for all.
  explicit J1939Receiver(std::uint8_t address = kNullAddress) : address_(address) {}
  void set_address(std::uint8_t address) { address_ = address; }

  void OnFrame(TimeNs t_ns, const bus::Frame& frame);
  TimeNs NextDue() const;
  bool TakeDue(TimeNs t_ns, bus::Frame& out);

  struct Message {
    J1939Id id;
    std::span<const std::uint8_t> bytes;
  };
  // A whole message, once. It lasts until the next call with a frame.
  std::optional<Message> TakeMessage();
  J1939Error TakeError() { return errors_.Take(); }
  const J1939Errors& errors() const { return errors_; }
  // How many packets it asks for at once.
  void set_block(int packets) { block_ = packets; }

 private:
  enum class State { kFree, kPackets, kWhole };
  struct Session {
    State state = State::kFree;
    J1939Id id;
    std::array<std::uint8_t, kMaxJ1939Bytes> bytes{};
    std::size_t length = 0;
    int packets = 0, next = 1, block_end = 0, limit = 255, retries = 0;
    TimeNs deadline_ns = kNever;
    TimeNs answer_ns = kNever;  // clear to send or end of message is due
    bool is_broadcast() const { return id.destination == kGlobalAddress; }
  };

  void OnBegin(TimeNs t_ns, const J1939Id& id, const bus::Frame& frame);
  void OnPacket(TimeNs t_ns, const J1939Id& id, const bus::Frame& frame);
  void AskAgain(Session& session, TimeNs t_ns);
  void GiveUp(Session& session, J1939Error error, std::uint8_t reason);
  bus::Frame Answer(Session& session, TimeNs t_ns);
  Session* Find(std::uint8_t source, bool broadcast);
  void Abort(const J1939Id& to, std::uint8_t reason);

  std::uint8_t address_;
  int block_ = 16;
  std::array<Session, kSessions> sessions_;
  std::optional<bus::Frame> abort_;
  J1939Errors errors_;
};

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_J1939_TRANSPORT_H_
