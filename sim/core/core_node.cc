// SPDX-License-Identifier: Apache-2.0
#include "core/core_node.h"

#include "core/board.h"

namespace drycrank::core {
namespace {

// Abort codes of SDO (CiA 301; from memory).
constexpr uint32_t kDone = 0, kNoObject = 0x06020000, kNoSub = 0x06090011, kReadOnly = 0x06010002,
                   kWriteOnly = 0x06010001, kOutOfRange = 0x06090030, kNotNow = 0x08000022,
                   kBadRequest = 0x05040001;
constexpr int64_t kMs = 1'000'000;
constexpr int32_t kSubs = 15, kFirstMask = 9;

// Of a channel's entries 1 to 15.
struct Range {
  int32_t low, high;
};
constexpr Range kRanges[kSubs] = {{0, kMostTeeth},
                                  {0, kMostTeeth - 1},
                                  {0, 65535},
                                  {1, 3},
                                  {-1'080'000'000, 1'080'000'000},
                                  {-180'000'000, 180'000'000},
                                  {0, 1},
                                  {0, 3},
                                  {INT32_MIN, INT32_MAX},
                                  {INT32_MIN, INT32_MAX},
                                  {INT32_MIN, INT32_MAX},
                                  {INT32_MIN, INT32_MAX},
                                  {0, 60'000},
                                  {0, 60'000},
                                  {0, 1}};

int32_t& EntryOf(ChannelSetting& s, int32_t sub) {
  int32_t* const entries[] = {&s.teeth,  &s.missing, &s.duty,     &s.turns,
                              &s.offset, &s.advance, &s.inverted, &s.fault};
  if (sub < kFirstMask) return *entries[sub - 1];
  if (sub < kFirstMask + 4) return s.gone[sub - kFirstMask];
  return sub == 13 ? s.period_ms : sub == 14 ? s.absent_ms : s.safe_level;
}

// What a request writes: as many bytes as it says, or four.
int32_t Value(const uint8_t* request) {
  const int bytes = (request[0] & 1) != 0 ? 4 - (request[0] >> 2 & 3) : 4;
  uint32_t value = 0;
  for (int i = 0; i < bytes; ++i) value |= static_cast<uint32_t>(request[4 + i]) << 8 * i;
  return static_cast<int32_t>(value);
}
void SetValue(uint32_t value, uint8_t* data) {
  for (int i = 0; i < 4; ++i) data[i] = static_cast<uint8_t>(value >> 8 * i & 0xFF);
}

}  // namespace

void CoreNode::Run() {
  const int64_t now = BoardNow();
  if (!started_) {
    started_ = true;
    Stop(State::kNotArmed, now);
  }
  // A loop that comes late: what was to be until now is as it was, whatever is asked for now.
  if (state_ == State::kArmed && now > given_) GiveUntil(now);
  CoreFrame frame;
  for (int byte = BoardRead(); byte >= 0; byte = BoardRead()) {
    if (reader_.Take(static_cast<uint8_t>(byte), frame)) OnFrame(frame, now);
  }
  if (state_ == State::kArmed && !HearsPc(now)) Stop(State::kFellSilent, now);
  if (every_ms_ > 0 && now - sent_ >= every_ms_ * kMs) SendHeartbeat(now);
  if (state_ == State::kArmed) return GiveUntil(now + kAhead);
  Pulse pulse;
  source_.Next(From(now), pulse);  // at rest: time goes on, and that is all
}

void CoreNode::GiveUntil(int64_t t) {
  Pulse pulse;
  while (source_.Next(t, pulse)) BoardSet(pulse.channel, pulse.level, pulse.t);
  given_ = t;
}

bool CoreNode::HearsPc(int64_t now) const {
  return missed_ms_ > 0 && heard_ >= 0 && now - heard_ < missed_ms_ * kMs;
}

void CoreNode::OnFrame(const CoreFrame& frame, int64_t now) {
  if (frame.id == 0x600 + node_ && frame.length == 8) OnRequest(frame, now);
  if (pc_node_ > 0 && frame.id == 0x700 + pc_node_ && frame.length == 1) heard_ = now;
}

// Expedited: four bytes in the request or in the answer.
void CoreNode::OnRequest(const CoreFrame& frame, int64_t now) {
  const int32_t index = frame.data[1] | frame.data[2] << 8, sub = frame.data[3];
  const int command = frame.data[0] >> 5;
  int32_t value = Value(frame.data);
  uint32_t abort = kBadRequest;
  // 1: write, with its size told or not (0x23, 0x22); 2: read.
  if (command == 1 && (frame.data[0] & 2) != 0) abort = Write(index, sub, value, now);
  if (command == 2) abort = Read(index, sub, value, now);
  CoreFrame answer = frame;
  answer.id = static_cast<uint16_t>(0x580 + node_);
  answer.data[0] = abort != kDone ? 0x80 : command == 1 ? 0x60 : 0x43;
  SetValue(abort != kDone ? abort
           : command == 1 ? 0
                          : static_cast<uint32_t>(value),
           answer.data + 4);
  Send(answer);
}

uint32_t CoreNode::Read(int32_t index, int32_t sub, int32_t& value, int64_t now) const {
  const int32_t c = index & 0xF;
  if (index >= 0x2010 && index < 0x2010 + kChannels) {
    if (sub < 1 || sub > kSubs) return kNoSub;
    ChannelSetting setting = source_.channel(c).setting;
    value = EntryOf(setting, sub);
    return kDone;
  }
  switch (index << 8 | sub) {
    case 0x100000:
      value = 0;
      return kDone;  // no device profile
    case 0x101601:
      value = pc_node_ << 16 | missed_ms_;
      return kDone;
    case 0x101700:
      value = every_ms_;
      return kDone;
    case 0x200002:
      value = static_cast<int32_t>(state_);
      return kDone;
    case 0x200101:
      value = speed_;
      return kDone;
    case 0x200102:
      value = climb_;
      return kDone;
    case 0x200103:
      value = state_ == State::kArmed ? source_.SpeedNow(From(now)) : 0;
      return kDone;
    case 0x200104:
      value = static_cast<int32_t>(reader_.refused());
      return kDone;
    case 0x200001:
      return kWriteOnly;
    default:
      return index == 0x2000 || index == 0x2001 || index == 0x1016 ? kNoSub : kNoObject;
  }
}

uint32_t CoreNode::Write(int32_t index, int32_t sub, int32_t value, int64_t now) {
  const int32_t c = index & 0xF;
  if (index >= 0x2010 && index < 0x2010 + kChannels) return WriteChannel(c, sub, value, now);
  const bool begins = index >= 0x2100 && index < 0x2100 + kChannels;
  if (begins || (index >= 0x2200 && index < 0x2200 + kChannels)) {
    if (sub < 1 || sub > kMostTeeth) return kNoSub;
    if (value < 0 || value > 720'000'000) return kOutOfRange;
    (begins ? tooth_begin_ : tooth_end_)[c][sub - 1] = value;
    return kDone;
  }
  switch (index << 8 | sub) {
    case 0x101601:
      if ((value & 0xFFFF) < 10 || value >> 16 < 1 || value >> 16 > 127) return kOutOfRange;
      pc_node_ = value >> 16;
      missed_ms_ = value & 0xFFFF;
      return kDone;
    case 0x101700:
      if (value < 0 || value > 65535) return kOutOfRange;
      every_ms_ = value;
      return kDone;
    case 0x200001:
      return Arm(value, now);
    case 0x200101:
      if (value < 0 || value > kMostSpeed) return kOutOfRange;
      if (state_ != State::kArmed) return kNotNow;
      speed_ = value;
      source_.Turn(From(now), speed_, climb_);
      return kDone;
    case 0x200102:
      if (value < 0 || value > kMostClimb) return kOutOfRange;
      climb_ = value;
      return kDone;
    default:
      break;
  }
  int32_t ignored = 0;
  const uint32_t why = Read(index, sub, ignored, now);
  return why == kDone ? kReadOnly : why;
}

uint32_t CoreNode::Arm(int32_t word, int64_t now) {
  if (word == 0) {
    Stop(State::kNotArmed, now);
    return kDone;
  }
  if (static_cast<uint32_t>(word) != kArmWord) return kOutOfRange;
  if (!HearsPc(now)) return kNotNow;
  if (state_ == State::kArmed) return kDone;
  state_ = State::kArmed;
  source_.BeginAtZero(From(now));
  for (int32_t c = 0; c < kChannels; ++c) Show(c, now);
  return kDone;
}

uint32_t CoreNode::WriteChannel(int32_t c, int32_t sub, int32_t value, int64_t now) {
  if (sub < 1 || sub > kSubs) return kNoSub;
  const Range& range = kRanges[sub - 1];
  if (value < range.low || value > range.high) return kOutOfRange;
  if (sub == 1) return WriteWheel(c, value, now);
  if (sub == 4 && source_.channel(c).has_wheel()) return kNotNow;
  EntryOf(source_.channel(c).setting, sub) = value;
  if (sub == 5) source_.PlaceAgain(From(now), c);
  if (sub == 6) source_.TimeAgain(From(now));
  if (state_ == State::kArmed && (sub == 7 || sub == 8)) Show(c, now);
  return kDone;
}

// Even, or the teeth that were written. Before anything of it is taken over, all of it is looked at.
uint32_t CoreNode::WriteWheel(int32_t c, int32_t teeth, int64_t now) {
  ToothChannel& channel = source_.channel(c);
  ChannelSetting& setting = channel.setting;
  const bool even = setting.duty > 0 || teeth == 0;
  if (even && teeth > 0 && setting.missing >= teeth) return kOutOfRange;
  for (int32_t i = 0; !even && i < teeth; ++i) {
    const int32_t next = i + 1 < teeth ? tooth_begin_[c][i + 1] : 360'000'000 + tooth_begin_[c][0];
    const bool fits = tooth_begin_[c][i] < 360'000'000 && tooth_begin_[c][i] < tooth_end_[c][i] &&
                      tooth_end_[c][i] < next;
    if (!fits) return kOutOfRange;
  }
  setting.teeth = teeth;
  if (even) channel.SetEven();
  for (int32_t i = 0; !even && i < teeth; ++i)
    channel.SetTooth(i, tooth_begin_[c][i], tooth_end_[c][i]);
  source_.PlaceAgain(From(now), c);
  if (state_ == State::kArmed) Show(c, now);
  return kDone;
}

// What the pin shows after a change that is no edge.
void CoreNode::Show(int32_t c, int64_t now) {
  const ChannelSetting& setting = source_.channel(c).setting;
  if (setting.fault == static_cast<int32_t>(Fault::kSilent)) return;
  BoardSet(c, source_.LevelNow(c), From(now));
}

void CoreNode::Stop(State why, int64_t now) {
  state_ = why;
  uint32_t levels = 0;
  for (int32_t c = 0; c < kChannels; ++c) {
    if (source_.channel(c).setting.safe_level != 0) levels |= 1u << c;
  }
  BoardSafe(levels);
  source_.Turn(From(now), 0, 0);
  speed_ = 0;
}

void CoreNode::Send(const CoreFrame& frame) {
  uint8_t bytes[kMostLine];
  const int32_t count = Line(frame, bytes);
  for (int32_t i = 0; i < count; ++i) BoardWrite(bytes[i]);
}

void CoreNode::SendHeartbeat(int64_t now) {
  sent_ = now;
  const uint8_t state = state_ == State::kArmed ? 5 : state_ == State::kFellSilent ? 4 : 127;
  CoreFrame frame;
  frame.id = static_cast<uint16_t>(0x700 + node_);
  frame.length = 1;
  frame.data[0] = state;
  Send(frame);
}

}  // namespace drycrank::core
