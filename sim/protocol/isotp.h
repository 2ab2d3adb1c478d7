// SPDX-License-Identifier: Apache-2.0
//
// Messages of up to 4095 bytes over frames of 8 (ISO 15765-2, normal addressing, classical CAN; FD
// frames are not taken), both ways between one pair of identifiers. Pure: time is passed in, frames
// are taken out, nothing is allocated after construction.
//
//   single frame       0L data                     first frame        1L LL data, 6 bytes of it
//   consecutive frame  2S data, S = 1..15, 0, ...  flow control       3F BS ST
//
//   sender                      receiver                 BS: so many consecutive frames until the
//     first frame       ───►                             next flow control; 0: all. ST: least time
//                       ◄───  flow control (continue)    between them, 00..7F ms, F1..F9 100..900
//     consecutive 1..BS ───►                             us; what is reserved counts as 127 ms.
//                       ◄───  flow control               F: 0 continue, 1 wait, 2 overflow.
//     ...
//
// N_Bs: the sender's wait for a flow control; N_Cr: the receiver's for the next consecutive frame.
// A frame that breaks the rules ends the message with a named error; what is not expected at all
// (a consecutive frame or flow control out of the blue) is ignored, as the standard says.
#ifndef DRYCRANK_PROTOCOL_ISOTP_H_
#define DRYCRANK_PROTOCOL_ISOTP_H_

#include <array>
#include <cstdint>
#include <optional>
#include <span>

#include "bus/frame.h"
#include "types/nth.h"
#include "types/time.h"

namespace drycrank::protocol {

inline constexpr std::size_t kMaxIsoTpBytes = 4095;

enum class IsoTpError {
  kNone,
  kNoFlowControl,    // N_Bs ran out
  kNoConsecutive,    // N_Cr ran out
  kWrongSequence,    // a consecutive frame was lost or doubled
  kUnexpectedFrame,  // a new message began before the last was whole
  kOverflow,         // the receiver has no room
  kTooManyWaits,     // more than max_waits in a row; also when we are the one that waits
  kBadFlowStatus,    // a flow control with an unknown status
  kNotTaken,         // a message was not taken before the next came
};
inline constexpr std::size_t kIsoTpErrors = 9;
const char* Name(IsoTpError error);

struct IsoTpOptions {
  std::uint32_t transmit_id = 0, receive_id = 0;
  bool extended = false;                    // both identifiers have 29 bits
  std::uint8_t block_size = 0;              // what we ask of a sender
  std::uint8_t st_min = 0;                  // as in the frame
  std::size_t room_bytes = kMaxIsoTpBytes;  // a longer message is refused with overflow
  std::uint8_t padding = 0x00;              // frames are always 8 bytes
  TimeNs n_bs_ns = 1000 * kNsPerMs;
  TimeNs n_cr_ns = 1000 * kNsPerMs;
  int max_waits = 10;
  TimeNs least_gap_ns = 0;  // between our own consecutive frames, whatever the receiver bears
};

class IsoTp {
 public:
  explicit IsoTp(const IsoTpOptions& options) : options_(options) {}

  // False: one is still on its way, or the length is not 1..4095.
  bool Send(TimeNs t_ns, std::span<const std::uint8_t> message);
  // Takes single frames from another identifier too (requests to all: 0x7DF).
  void OnFrame(TimeNs t_ns, const bus::Frame& frame);
  void OnFunctionalFrame(TimeNs t_ns, const bus::Frame& frame);

  // When TakeDue has something to do next: a frame, or a time-out.
  TimeNs NextDue() const;
  bool TakeDue(TimeNs t_ns, bus::Frame& out);

  bool sending() const { return send_ != Sending::kNot; }
  // A whole message, once. It lasts until the next call with a frame.
  std::optional<std::span<const std::uint8_t>> TakeMessage();
  // The last error of either way, once, and how often each has been.
  IsoTpError TakeError();
  std::uint64_t count(IsoTpError error) const { return Nth(counts_, error); }
  // While busy, first frames and full blocks are answered with "wait" every N_Cr / 4.
  void set_busy(TimeNs t_ns, bool busy);

 private:
  enum class Sending { kNot, kStart, kAwaitingFlow, kBlock };
  enum class Receiving { kNot, kOn, kWhole };

  void Fail(IsoTpError error);
  void OnSingle(const bus::Frame& frame);
  void OnFirst(TimeNs t_ns, const bus::Frame& frame);
  void OnConsecutive(TimeNs t_ns, const bus::Frame& frame);
  void OnFlowControl(TimeNs t_ns, const bus::Frame& frame);
  void BeginReception(std::size_t length, std::span<const std::uint8_t> data);
  void EndReception();
  void AskForMore(TimeNs t_ns);
  bus::Frame Blank() const;
  bus::Frame StartFrame(TimeNs t_ns);
  bus::Frame NextConsecutive(TimeNs t_ns);
  bus::Frame FlowControl(std::uint8_t status) const;

  IsoTpOptions options_;
  std::array<std::uint64_t, kIsoTpErrors> counts_{};
  IsoTpError last_error_ = IsoTpError::kNone;

  Sending send_ = Sending::kNot;
  std::array<std::uint8_t, kMaxIsoTpBytes> out_{};
  std::size_t out_length_ = 0, out_done_ = 0;
  std::uint8_t out_sequence_ = 0, block_left_ = 0;
  bool endless_block_ = false;
  TimeNs st_min_ns_ = 0, out_due_ns_ = kNever;
  int waits_ = 0;

  Receiving receive_ = Receiving::kNot;
  std::array<std::uint8_t, kMaxIsoTpBytes> in_{};
  std::size_t in_length_ = 0, in_done_ = 0;
  std::uint8_t in_sequence_ = 0, in_block_left_ = 0;
  TimeNs in_deadline_ns_ = kNever;
  std::optional<std::uint8_t> flow_status_;  // to be sent
  TimeNs flow_due_ns_ = kNever;
  bool busy_ = false;
  int in_waits_ = 0;
};

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_ISOTP_H_
