// SPDX-License-Identifier: Apache-2.0
#include "protocol/io_node.h"

#include <algorithm>

namespace drycrank::protocol {
namespace {

constexpr std::uint32_t kSwitchedOff = 0x80000000;

std::uint8_t Sub(int number) { return static_cast<std::uint8_t>(number); }

}  // namespace

IoNode::IoNode(std::uint8_t node, int output_bytes, int analogue_outputs, int bus)
    : node_(node), output_bytes_(output_bytes), analogue_outputs_(analogue_outputs), bus_(bus) {
  SetDefaults();
}

void IoNode::SetDefaults() {
  dictionary_.clear();
  dictionary_[{0x1016, 1}] = {0, 4};
  dictionary_[{0x1017, 0}] = {0, 2};
  dictionary_[{0x1029, 1}] = {0, 1};
  for (int i = 1; i <= output_bytes_; ++i) {
    dictionary_[{0x6200, Sub(i)}] = {0, 1};
    dictionary_[{0x6206, Sub(i)}] = {0xff, 1};
    dictionary_[{0x6207, Sub(i)}] = {0, 1};
  }
  for (int i = 1; i <= analogue_outputs_; ++i) {
    dictionary_[{0x6411, Sub(i)}] = {0, 2};
    dictionary_[{0x6443, Sub(i)}] = {1, 1};
    dictionary_[{0x6444, Sub(i)}] = {0, 4};
  }
  for (const int number : {0, 1}) {
    const std::uint32_t id = (number == 0 ? kFirstWriteId : kSecondWriteId) + node_;
    dictionary_[{static_cast<std::uint16_t>(0x1400 + number), 1}] = {id | kSwitchedOff, 4};
    dictionary_[{static_cast<std::uint16_t>(0x1400 + number), 2}] = {255, 1};
    for (int i = 0; i <= 8; ++i) {
      dictionary_[{static_cast<std::uint16_t>(0x1600 + number), Sub(i)}] = {0, i == 0 ? 1 : 4};
    }
  }
}

void IoNode::PowerOn(TimeNs t_ns) {
  now_ns_ = t_ns;
  SetDefaults();
  beat_ns_ = master_gone_ns_ = kNever;
  waiting_.clear();
  waiting_.push_back(HeartbeatFrame(node_, NmtState::kStarting));
  state_ = NmtState::kPreOperational;
}

std::uint32_t IoNode::Value(std::uint16_t index, std::uint8_t sub) const {
  const auto at = dictionary_.find({index, sub});
  return at == dictionary_.end() ? 0 : at->second.value;
}

bool IoNode::Output(int output) const {
  return ((Value(0x6200, Sub(1 + output / 8)) >> (output % 8)) & 1) != 0;
}
std::int16_t IoNode::Analogue(int output) const {
  return static_cast<std::int16_t>(Value(0x6411, Sub(1 + output)));
}

void IoNode::Forget(std::uint16_t index) {
  std::erase_if(dictionary_, [index](const auto& entry) { return entry.first.index == index; });
}

void IoNode::Report(TimeNs t_ns, Emergency emergency) {
  now_ns_ = t_ns;
  waiting_.push_back(EmergencyFrame(node_, emergency));
}

void IoNode::OnFrame(const bus::TimedFrame& timed) {
  const bus::Frame& frame = timed.frame;
  if (timed.bus != bus_ || !plugged_ || frame.extended) return;
  now_ns_ = timed.t_ns;
  const std::uint32_t watched = Value(0x1016, 1);
  if (frame.id == kNmtId) return OnCommand(timed.t_ns, frame);
  if (frame.id == kHeartbeatId + ((watched >> 16) & 0x7f) && (watched & 0xffff) != 0) {
    master_gone_ns_ = timed.t_ns + (watched & 0xffff) * kNsPerMs;
  } else if (frame.id == kParameterRequestId + node_ && state_ != NmtState::kStopped) {
    if (const auto request = ReadRequestOf(frame)) OnRequest(*request);
  } else if (state_ == NmtState::kOperational) {
    OnValues(frame);
  }
}

void IoNode::OnCommand(TimeNs t_ns, const bus::Frame& frame) {
  if (frame.length != 2 || (frame.data[1] != 0 && frame.data[1] != node_)) return;
  switch (static_cast<NmtCommand>(frame.data[0])) {
    case NmtCommand::kStart:
      state_ = NmtState::kOperational;
      break;
    case NmtCommand::kStop:
      state_ = NmtState::kStopped;
      BeSafe();
      break;
    case NmtCommand::kEnterPreOperational:
      state_ = NmtState::kPreOperational;
      break;
    case NmtCommand::kResetNode:
      PowerOn(t_ns);
      break;
  }
}

void IoNode::OnRequest(const ParameterMessage& request) {
  if (request.kind == ParameterMessage::Kind::kWrite) {
    const std::uint32_t refused = Write(request);
    waiting_.push_back(refused == 0 ? WriteAnswer(node_, request.at)
                                    : AbortAnswer(node_, request.at, refused));
  } else if (request.kind == ParameterMessage::Kind::kRead) {
    const auto at = dictionary_.find(request.at);
    waiting_.push_back(at == dictionary_.end() ? AbortAnswer(node_, request.at, kNoSuchObject)
                                               : ReadAnswer(node_, request.at, at->second));
  } else if (request.kind == ParameterMessage::Kind::kOther) {
    waiting_.push_back(AbortAnswer(node_, request.at, kUnknownCommand));
  }
}

// 0, or why not. A message that is on may not change, nor what a mapped message has.
std::uint32_t IoNode::Write(const ParameterMessage& request) {
  const auto at = dictionary_.find(request.at);
  if (at == dictionary_.end()) return kNoSuchObject;
  if (request.value.bytes != at->second.bytes) return kWrongLength;
  const bool is_mapping = (request.at.index & 0xfff0) == 0x1600;
  if (is_mapping) {
    const auto communication = static_cast<std::uint16_t>(request.at.index - 0x200);
    if ((Value(communication, 1) & kSwitchedOff) == 0) return kNotInThisState;
    if (request.at.sub != 0) {
      const std::uint32_t mapped = request.value.value;
      const ObjectAt target{static_cast<std::uint16_t>(mapped >> 16),
                            static_cast<std::uint8_t>(mapped >> 8)};
      const auto found = dictionary_.find(target);
      if (found == dictionary_.end()) return kNoSuchObject;
      if (8 * found->second.bytes != static_cast<int>(mapped & 0xff)) return kCannotBeMapped;
    }
  }
  at->second = request.value;
  if (request.at.index == 0x1017) beat_ns_ = request.value.value == 0 ? kNever : now_ns_;
  return 0;
}

void IoNode::OnValues(const bus::Frame& frame) {
  for (const int number : {0, 1}) {
    if (Value(static_cast<std::uint16_t>(0x1400 + number), 1) == frame.id) {
      Unpack(frame, static_cast<std::uint16_t>(0x1600 + number));
    }
  }
}

// One value after the other, as it was mapped; a frame that is too short drives nothing.
void IoNode::Unpack(const bus::Frame& frame, std::uint16_t mapping) {
  const int count = static_cast<int>(Value(mapping, 0));
  int bits = 0;
  for (int i = 1; i <= count; ++i) bits += static_cast<int>(Value(mapping, Sub(i)) & 0xff);
  if (bits > 8 * frame.length) return;
  std::size_t byte = 0;
  for (int i = 1; i <= count; ++i) {
    const std::uint32_t mapped = Value(mapping, Sub(i));
    std::uint32_t value = 0;
    const std::size_t bytes = (mapped & 0xff) / 8;
    for (std::size_t k = 0; k < bytes; ++k) {
      value |= static_cast<std::uint32_t>(frame.data[byte + k]) << (8 * k);
    }
    byte += bytes;
    dictionary_[{static_cast<std::uint16_t>(mapped >> 16), static_cast<std::uint8_t>(mapped >> 8)}]
        .value = value;
  }
}

void IoNode::OnMasterGone(TimeNs t_ns) {
  master_gone_ns_ = kNever;
  Report(t_ns, {kHeartbeatError, 0x11});  // generic, communication
  const std::uint32_t then = Value(0x1029, 1);
  if (state_ != NmtState::kOperational || then == 1) return;
  state_ = then == 2 ? NmtState::kStopped : NmtState::kPreOperational;
  BeSafe();
}

void IoNode::BeSafe() {
  for (int i = 1; i <= output_bytes_; ++i) {
    const std::uint32_t mask = Value(0x6206, Sub(i));
    ObjectValue& output = dictionary_[{0x6200, Sub(i)}];
    output.value = (output.value & ~mask) | (Value(0x6207, Sub(i)) & mask);
  }
  for (int i = 1; i <= analogue_outputs_; ++i) {
    if (Value(0x6443, Sub(i)) != 1) continue;
    dictionary_[{0x6411, Sub(i)}].value = Value(0x6444, Sub(i)) & 0xffff;
  }
}

TimeNs IoNode::HeartbeatPeriodNs() const { return Value(0x1017, 0) * kNsPerMs; }

TimeNs IoNode::NextDue() const {
  return std::min({waiting_.empty() ? kNever : now_ns_, beat_ns_, master_gone_ns_});
}

bool IoNode::TakeDue(TimeNs t_ns, bus::TimedFrame& out) {
  if (master_gone_ns_ <= t_ns) OnMasterGone(t_ns);
  if (beat_ns_ <= t_ns) {
    beat_ns_ = t_ns + HeartbeatPeriodNs();
    waiting_.push_back(HeartbeatFrame(node_, state_));
  }
  if (!plugged_) waiting_.clear();
  if (waiting_.empty()) return false;
  out = {t_ns, bus_, true, waiting_.front()};
  waiting_.pop_front();
  return true;
}

}  // namespace drycrank::protocol
