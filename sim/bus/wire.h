// SPDX-License-Identifier: Apache-2.0
//
// One bus at its own speed, in simulated time: every frame takes its bits (frame_bits.h), one after
// the other, the lowest identifier first, and nobody is interrupted. A frame is received at the end
// of its last bit; three bits of intermission later the bus is free for the next.
//
//   Queue(A) Queue(B)  Begin      TakeSent(A)   Begin       TakeSent(B)
//   ────┴───────┴────────┴─────A──────┴──3 bits──┴─────B────────┴──3 bits──
//
// A cyclic message has a mailbox, as controllers have them: a newer value takes the place of an
// older one that still waits, and that is counted. What was put in at the very same instant is not
// replaced. Frames without a mailbox wait in a queue; of one identifier the first goes first. A
// full queue refuses. All memory is taken at construction.
#ifndef DRYCRANK_BUS_WIRE_H_
#define DRYCRANK_BUS_WIRE_H_

#include <cstdint>
#include <vector>

#include "bus/frame.h"
#include "profile/message.h"
#include "types/time.h"

namespace drycrank::bus {

class Wire {
 public:
  static constexpr int kNoMailbox = -1;

  struct Sent {
    Frame frame;
    int sender = 0;
    int mailbox = kNoMailbox;
    TimeNs queued_ns = 0;
    TimeNs received_ns = 0;
  };
  struct Mailbox {
    std::uint64_t sent = 0;
    std::uint64_t replaced = 0;    // values that a newer one overtook
    TimeNs worst_response_ns = 0;  // from queued to received
  };

  // One mailbox per message of the bus. `queue_frames`: how many frames wait at most beside them.
  explicit Wire(const profile::Bus& bus, std::size_t queue_frames = 1024);

  // `sender` is handed back with the frame. False: refused (queue full, or not a valid frame).
  bool Queue(const Frame& frame, int sender, int mailbox, TimeNs t_ns);
  // After everybody has queued what is due at t_ns: when the bus is free, the most urgent begins.
  void Begin(TimeNs t_ns);
  // The next instant at which TakeSent or Begin has something to do; kNever while nothing waits.
  TimeNs NextDueNs() const;
  // The frame whose last bit is over by t_ns; nullptr when there is none. Lasts until Begin.
  const Sent* TakeSent(TimeNs t_ns);

  const std::vector<Mailbox>& mailboxes() const { return mailboxes_; }
  std::uint64_t refused() const { return refused_; }
  TimeNs busy_ns() const { return busy_ns_; }  // taken so far, frames begun included

 private:
  struct Waiting {
    std::uint64_t order = 0;  // arrival, among equals
    std::uint32_t urgency = 0;
    Sent sent;
  };
  bool Replace(const Frame& frame, int mailbox, TimeNs t_ns);

  profile::Bus rates_;  // bit rates only
  std::vector<Mailbox> mailboxes_;
  std::vector<Waiting> waiting_;  // capacity is fixed
  std::uint64_t arrivals_ = 0;
  bool sending_ = false;
  Sent now_;
  TimeNs free_ns_ = 0;
  TimeNs busy_ns_ = 0;
  std::uint64_t refused_ = 0;
};

}  // namespace drycrank::bus

#endif  // DRYCRANK_BUS_WIRE_H_
