// SPDX-License-Identifier: Apache-2.0
//
// The trigger core as a node on CAN, or on a serial line that carries the same frames: an object
// dictionary, read and written by expedited SDO, and heartbeats both ways (CiA 301).
//
//   0x600 + node  ─► request, answered by 0x580 + node         0x700 + PC node ─► heartbeat taken
//   0x700 + node  ◄─ heartbeat sent: 4 stopped, 5 running, 127 not armed
//
//   1000      what it is           1016:1  the PC's node << 16 | ms after which it is missed, at least 10
//   1017      ms between heartbeats sent; 0: none
//   2000:1    arm: 0x216D7241 ("Arm!"), 0 to disarm    :2  0 not armed, 1 armed, 2 the PC fell silent
//   2001:1    speed, 1/1000 r/min; acts at once        :2  climb towards it, 1/1000 r/min a second
//        :3   speed now                                :4  frames refused
//   2010 + c  channel c, as ChannelSetting:
//             1 teeth · 2 missing · 3 duty · 4 turns · 5 offset · 6 advance · 7 inverted · 8 fault ·
//             9 to 12 teeth broken off, a bit each · 13 period · 14 absent · 15 safe level
//   2100 + c  begin of tooth :n (1 to 128), own shaft, millionths of a degree; 2200 + c: its end.
//             Both count once 2010 + c:1 is written; with 2010 + c:3 (duty) 0 the wheel is not even
//
// Nothing moves before it is armed, and it can be armed only while the PC's heartbeat comes. When that
// stays away, when it is disarmed, and from power on: each pin at its safe level, speed 0.
#ifndef DRYCRANK_CORE_CORE_NODE_H_
#define DRYCRANK_CORE_CORE_NODE_H_

#include <stdint.h>

#include "core/frame_line.h"
#include "core/pulse_source.h"

namespace drycrank::core {

inline constexpr uint32_t kArmWord = 0x216D7241;
inline constexpr int64_t kAhead = 500'000;  // ns: so far ahead edges are given to the board

class CoreNode {
 public:
  explicit CoreNode(uint8_t node) : node_(node) {}

  // Takes what came, gives the board what is due until now + kAhead, watches the PC.
  void Run();

 private:
  enum class State : int32_t { kNotArmed, kArmed, kFellSilent };

  void GiveUntil(int64_t t);
  void OnFrame(const CoreFrame& frame, int64_t now);
  void OnRequest(const CoreFrame& frame, int64_t now);
  uint32_t Read(int32_t index, int32_t sub, int32_t& value, int64_t now) const;
  uint32_t Write(int32_t index, int32_t sub, int32_t value, int64_t now);
  uint32_t Arm(int32_t word, int64_t now);
  uint32_t WriteChannel(int32_t c, int32_t sub, int32_t value, int64_t now);
  uint32_t WriteWheel(int32_t c, int32_t teeth, int64_t now);
  void Stop(State why, int64_t now);
  void Show(int32_t c, int64_t now);
  void Send(const CoreFrame& frame);
  void SendHeartbeat(int64_t now);
  bool HearsPc(int64_t now) const;
  int64_t From(int64_t now) const { return now > given_ ? now : given_; }

  uint8_t node_;
  State state_ = State::kNotArmed;
  PulseSource source_;
  FrameReader reader_;
  int64_t given_ = 0;  // edges up to here are the board's
  int32_t speed_ = 0, climb_ = 0;
  int32_t pc_node_ = 0, missed_ms_ = 0, every_ms_ = 0;
  int64_t heard_ = -1, sent_ = 0;
  int32_t tooth_begin_[kChannels][kMostTeeth] = {}, tooth_end_[kChannels][kMostTeeth] = {};
  bool started_ = false;
};

}  // namespace drycrank::core

#endif  // DRYCRANK_CORE_CORE_NODE_H_
