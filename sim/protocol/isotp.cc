// SPDX-License-Identifier: Apache-2.0
#include "protocol/isotp.h"

#include <algorithm>

#include "types/nth.h"

namespace drycrank::protocol {
namespace {

constexpr std::uint8_t kContinue = 0, kWait = 1, kOverflowStatus = 2;
constexpr std::size_t kSingleBytes = 7, kFirstBytes = 6, kConsecutiveBytes = 7;

TimeNs SeparationNs(std::uint8_t st_min) {
  if (st_min <= 0x7F) return st_min * kNsPerMs;
  if (st_min >= 0xF1 && st_min <= 0xF9) return (st_min - 0xF0) * 100 * kNsPerUs;
  return 127 * kNsPerMs;  // reserved: the longest there is (ISO 15765-2, STmin error handling)
}

bool IsPlain(const bus::Frame& frame) { return !frame.remote && !frame.error && !frame.fd; }

}  // namespace

const char* Name(IsoTpError error) {
  switch (error) {
    case IsoTpError::kNone:
      return "none";
    case IsoTpError::kNoFlowControl:
      return "no flow control came";
    case IsoTpError::kNoConsecutive:
      return "no consecutive frame came";
    case IsoTpError::kWrongSequence:
      return "wrong sequence number";
    case IsoTpError::kUnexpectedFrame:
      return "a new message began before the last was whole";
    case IsoTpError::kOverflow:
      return "the receiver has no room";
    case IsoTpError::kTooManyWaits:
      return "the receiver waits for too long";
    case IsoTpError::kBadFlowStatus:
      return "unknown flow status";
    case IsoTpError::kNotTaken:
      return "a message was lost for want of reading";
  }
  return "";
}

void IsoTp::Fail(IsoTpError error) {
  last_error_ = error;
  ++Nth(counts_, error);
}

IsoTpError IsoTp::TakeError() {
  const IsoTpError error = last_error_;
  last_error_ = IsoTpError::kNone;
  return error;
}

std::optional<std::span<const std::uint8_t>> IsoTp::TakeMessage() {
  if (receive_ != Receiving::kWhole) return std::nullopt;
  receive_ = Receiving::kNot;
  return std::span<const std::uint8_t>(in_.data(), in_length_);
}

bool IsoTp::Send(TimeNs t_ns, std::span<const std::uint8_t> message) {
  if (sending() || message.empty() || message.size() > kMaxIsoTpBytes) return false;
  std::copy(message.begin(), message.end(), out_.begin());
  out_length_ = message.size();
  out_done_ = 0;
  waits_ = 0;
  out_due_ns_ = t_ns;
  send_ = Sending::kStart;
  return true;
}

void IsoTp::set_busy(TimeNs t_ns, bool busy) {
  busy_ = busy;
  if (!busy && flow_status_ == kWait) AskForMore(t_ns);
}

// ---- receiving --------------------------------------------------------------------------------

void IsoTp::OnFrame(TimeNs t_ns, const bus::Frame& frame) {
  if (frame.id != options_.receive_id || frame.extended != options_.extended) return;
  if (!IsPlain(frame) || frame.length == 0) return;
  switch (frame.data[0] >> 4) {
    case 0:
      return OnSingle(frame);
    case 1:
      return OnFirst(t_ns, frame);
    case 2:
      return OnConsecutive(t_ns, frame);
    case 3:
      return OnFlowControl(t_ns, frame);
    default:
      return;  // reserved
  }
}

void IsoTp::OnFunctionalFrame(TimeNs /*t_ns*/, const bus::Frame& frame) {
  if (IsPlain(frame) && frame.length > 0 && frame.data[0] >> 4 == 0) OnSingle(frame);
}

void IsoTp::BeginReception(std::size_t length, std::span<const std::uint8_t> data) {
  if (receive_ == Receiving::kOn) Fail(IsoTpError::kUnexpectedFrame);
  if (receive_ == Receiving::kWhole) Fail(IsoTpError::kNotTaken);
  std::copy(data.begin(), data.end(), in_.begin());
  in_length_ = length;
  in_done_ = data.size();
  EndReception();
  in_waits_ = 0;
}

void IsoTp::EndReception() {
  receive_ = Receiving::kNot;
  flow_status_.reset();
  flow_due_ns_ = in_deadline_ns_ = kNever;
}

void IsoTp::OnSingle(const bus::Frame& frame) {
  const std::size_t length = frame.data[0] & 0x0F;
  if (length == 0 || length > kSingleBytes || length >= frame.length) return;
  BeginReception(length, frame.bytes().subspan(1, length));
  receive_ = Receiving::kWhole;
  if (length > options_.room_bytes) {  // its sender asks for no flow control, and hears of none
    receive_ = Receiving::kNot;
    Fail(IsoTpError::kOverflow);
  }
}

void IsoTp::OnFirst(TimeNs t_ns, const bus::Frame& frame) {
  const std::size_t length = static_cast<std::size_t>(frame.data[0] & 0x0F) << 8 | frame.data[1];
  if (frame.length < 8 || length <= kSingleBytes) return;
  BeginReception(length, frame.bytes().subspan(2, kFirstBytes));
  if (length > options_.room_bytes) {
    receive_ = Receiving::kNot;
    flow_status_ = kOverflowStatus;
    flow_due_ns_ = t_ns;
    Fail(IsoTpError::kOverflow);
    return;
  }
  receive_ = Receiving::kOn;
  in_sequence_ = 1;
  AskForMore(t_ns);
}

// The next block: flow control now, and the frames of it from then on.
void IsoTp::AskForMore(TimeNs t_ns) {
  flow_status_ = busy_ ? kWait : kContinue;
  flow_due_ns_ = t_ns;
  in_block_left_ = options_.block_size;
  in_deadline_ns_ = t_ns + options_.n_cr_ns;
}

void IsoTp::OnConsecutive(TimeNs t_ns, const bus::Frame& frame) {
  if (receive_ != Receiving::kOn) return;
  const std::size_t bytes = std::min(kConsecutiveBytes, in_length_ - in_done_);
  if (frame.length < bytes + 1) return;  // too short to be it
  if ((frame.data[0] & 0x0F) != in_sequence_) {
    EndReception();
    return Fail(IsoTpError::kWrongSequence);
  }
  std::copy_n(frame.data.begin() + 1, bytes, in_.begin() + static_cast<std::ptrdiff_t>(in_done_));
  in_done_ += bytes;
  in_sequence_ = (in_sequence_ + 1) & 0x0F;
  if (in_done_ == in_length_) {
    receive_ = Receiving::kWhole;
    in_deadline_ns_ = kNever;
  } else if (options_.block_size > 0 && --in_block_left_ == 0) {
    AskForMore(t_ns);
  } else {
    in_deadline_ns_ = t_ns + options_.n_cr_ns;
  }
}

// ---- sending ----------------------------------------------------------------------------------

void IsoTp::OnFlowControl(TimeNs t_ns, const bus::Frame& frame) {
  if (send_ != Sending::kAwaitingFlow || frame.length < 3) return;
  const auto end = [&](IsoTpError error) {
    send_ = Sending::kNot;
    out_due_ns_ = kNever;
    Fail(error);
  };
  switch (frame.data[0] & 0x0F) {
    case kContinue:
      waits_ = 0;
      endless_block_ = frame.data[1] == 0;
      block_left_ = frame.data[1];
      st_min_ns_ = std::max(SeparationNs(frame.data[2]), options_.least_gap_ns);
      send_ = Sending::kBlock;
      out_due_ns_ = t_ns;
      return;
    case kWait:
      if (++waits_ > options_.max_waits) return end(IsoTpError::kTooManyWaits);
      out_due_ns_ = t_ns + options_.n_bs_ns;
      return;
    case kOverflowStatus:
      return end(IsoTpError::kOverflow);
    default:
      return end(IsoTpError::kBadFlowStatus);
  }
}

bus::Frame IsoTp::Blank() const {
  bus::Frame frame;
  frame.id = options_.transmit_id;
  frame.extended = options_.extended;
  frame.length = 8;
  std::fill_n(frame.data.begin(), 8, options_.padding);
  return frame;
}

bus::Frame IsoTp::FlowControl(std::uint8_t status) const {
  bus::Frame frame = Blank();
  frame.data[0] = static_cast<std::uint8_t>(0x30 | status);
  frame.data[1] = options_.block_size;
  frame.data[2] = options_.st_min;
  return frame;
}

bus::Frame IsoTp::StartFrame(TimeNs t_ns) {
  bus::Frame frame = Blank();
  if (out_length_ <= kSingleBytes) {
    frame.data[0] = static_cast<std::uint8_t>(out_length_);
    std::copy_n(out_.begin(), out_length_, frame.data.begin() + 1);
    send_ = Sending::kNot;
    out_due_ns_ = kNever;
    return frame;
  }
  frame.data[0] = static_cast<std::uint8_t>(0x10 | out_length_ >> 8);
  frame.data[1] = static_cast<std::uint8_t>(out_length_ & 0xFF);
  std::copy_n(out_.begin(), kFirstBytes, frame.data.begin() + 2);
  out_done_ = kFirstBytes;
  out_sequence_ = 1;
  send_ = Sending::kAwaitingFlow;
  out_due_ns_ = t_ns + options_.n_bs_ns;
  return frame;
}

bus::Frame IsoTp::NextConsecutive(TimeNs t_ns) {
  bus::Frame frame = Blank();
  const std::size_t bytes = std::min(kConsecutiveBytes, out_length_ - out_done_);
  frame.data[0] = static_cast<std::uint8_t>(0x20 | out_sequence_);
  std::copy_n(out_.begin() + static_cast<std::ptrdiff_t>(out_done_), bytes, frame.data.begin() + 1);
  out_done_ += bytes;
  out_sequence_ = (out_sequence_ + 1) & 0x0F;
  if (out_done_ == out_length_) {
    send_ = Sending::kNot;
    out_due_ns_ = kNever;
  } else if (!endless_block_ && --block_left_ == 0) {
    send_ = Sending::kAwaitingFlow;
    out_due_ns_ = t_ns + options_.n_bs_ns;
  } else {
    out_due_ns_ = t_ns + st_min_ns_;
  }
  return frame;
}

TimeNs IsoTp::NextDue() const { return std::min({out_due_ns_, flow_due_ns_, in_deadline_ns_}); }

bool IsoTp::TakeDue(TimeNs t_ns, bus::Frame& out) {
  if (flow_due_ns_ <= t_ns && flow_status_) {
    out = FlowControl(*flow_status_);
    const bool waiting = flow_status_ == kWait;
    if (waiting && ++in_waits_ > options_.max_waits) {
      EndReception();
      Fail(IsoTpError::kTooManyWaits);
      return false;
    }
    flow_due_ns_ = waiting ? t_ns + options_.n_cr_ns / 4 : kNever;
    if (waiting) {
      in_deadline_ns_ = kNever;
    } else {
      flow_status_.reset();
      if (receive_ == Receiving::kOn) in_deadline_ns_ = t_ns + options_.n_cr_ns;
    }
    return true;
  }
  if (in_deadline_ns_ <= t_ns) {
    in_deadline_ns_ = kNever;
    receive_ = Receiving::kNot;
    Fail(IsoTpError::kNoConsecutive);
  }
  if (out_due_ns_ > t_ns) return false;
  switch (send_) {
    case Sending::kStart:
      out = StartFrame(t_ns);
      return true;
    case Sending::kBlock:
      out = NextConsecutive(t_ns);
      return true;
    case Sending::kAwaitingFlow:
      send_ = Sending::kNot;
      out_due_ns_ = kNever;
      Fail(IsoTpError::kNoFlowControl);
      return false;
    case Sending::kNot:
      return false;
  }
  return false;
}

}  // namespace drycrank::protocol
