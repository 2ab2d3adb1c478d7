// SPDX-License-Identifier: Apache-2.0
//
// The twin of an I/O node (protocol/io_master.h): a CANopen device with outputs by CiA 401, as far as a
// master sets and drives it. It keeps to its dictionary: what was not mapped is not driven, and what
// happens without its master is what was written there.
#ifndef DRYCRANK_PROTOCOL_IO_NODE_H_
#define DRYCRANK_PROTOCOL_IO_NODE_H_

#include <cstdint>
#include <deque>
#include <map>

#include "bus/talker.h"
#include "protocol/canopen.h"

namespace drycrank::protocol {

class IoNode : public bus::Talker {
 public:
  IoNode(std::uint8_t node, int output_bytes, int analogue_outputs, int bus = 0);

  void PowerOn(TimeNs t_ns);

  void OnFrame(const bus::TimedFrame& frame) override;
  TimeNs NextDue() const override;
  bool TakeDue(TimeNs t_ns, bus::TimedFrame& out) override;

  NmtState state() const { return state_; }
  // What its terminals have. REQUIRES: there is such an output.
  bool Output(int output) const;
  std::int16_t Analogue(int output) const;

  // As the world does.
  void Unplug() { plugged_ = false; }
  void Forget(std::uint16_t index);  // a device without this object
  void Report(TimeNs t_ns, Emergency emergency);

 private:
  void SetDefaults();
  void OnCommand(TimeNs t_ns, const bus::Frame& frame);
  void OnRequest(const ParameterMessage& request);
  std::uint32_t Write(const ParameterMessage& request);
  void OnValues(const bus::Frame& frame);
  void Unpack(const bus::Frame& frame, std::uint16_t mapping);
  void OnMasterGone(TimeNs t_ns);
  void BeSafe();
  std::uint32_t Value(std::uint16_t index, std::uint8_t sub) const;
  TimeNs HeartbeatPeriodNs() const;

  std::uint8_t node_;
  int output_bytes_, analogue_outputs_, bus_;
  bool plugged_ = true;
  NmtState state_ = NmtState::kStarting;
  std::map<ObjectAt, ObjectValue> dictionary_;
  std::deque<bus::Frame> waiting_;  // to be sent
  TimeNs now_ns_ = 0, beat_ns_ = kNever, master_gone_ns_ = kNever;
};

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_IO_NODE_H_
