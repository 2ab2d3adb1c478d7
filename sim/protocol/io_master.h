// SPDX-License-Identifier: Apache-2.0
//
// Drives the outputs of one CANopen I/O node (CiA 401). It writes the node's parameters, so that the
// node itself supervises us and knows what is safe without us; starts it; and hears its heartbeat.
//
//   Start: the node is reset
//   kConnecting ──it has started──► kSetting ──all written──► kStarting ──operational──► kRunning
//        any of them ──silence, refusal or restart──► kFailed, with its reason
//   Stop, or a failure: the safe values if it hears them, "stop" to the node, and no heartbeat any more
//
// Objects: 1016h whom the node supervises, 1017h its own heartbeat, 1029h what it does without us,
// 1400h and 1600h and those after them how values reach it, 6200h eight outputs a byte, 6206h and
// 6207h their error mode and value, 6411h analogue outputs, 6443h and 6444h theirs.
#ifndef DRYCRANK_PROTOCOL_IO_MASTER_H_
#define DRYCRANK_PROTOCOL_IO_MASTER_H_

#include <cstdint>
#include <string>
#include <vector>

#include "bus/talker.h"
#include "protocol/canopen.h"

namespace drycrank::protocol {

struct IoNodeSetup {
  std::uint8_t node = 5, own_node = 127;
  int bus = 0;                                 // index in the bench
  std::vector<std::uint8_t> safe_bytes = {};   // of outputs, eight each; at most 8
  std::vector<std::int16_t> safe_values = {};  // of analogue outputs; at most 4
};

class IoMaster : public bus::Talker {
 public:
  enum class State { kIdle, kConnecting, kSetting, kStarting, kRunning, kStopped, kFailed };

  static constexpr TimeNs kHeartbeatNs = 50 * kNsPerMs;  // ours, and what the node is told to send
  static constexpr TimeNs kSilenceNs = 150 * kNsPerMs;   // of either: a cause to be safe
  static constexpr TimeNs kConnectNs = 2 * kNsPerS;      // a node takes a moment to start
  static constexpr TimeNs kAnswerNs = 500 * kNsPerMs;    // a parameter
  static constexpr TimeNs kRefreshNs = 100 * kNsPerMs;   // they are sent again

  explicit IoMaster(IoNodeSetup setup);

  void Start(TimeNs t_ns);
  void Stop(TimeNs t_ns);
  // Sent as soon as it is running. REQUIRES: there is such an output.
  void SetOutput(TimeNs t_ns, int output, bool on);
  void SetAnalogue(TimeNs t_ns, int output, std::int16_t value);

  void OnFrame(const bus::TimedFrame& frame) override;
  TimeNs NextDue() const override;
  bool TakeDue(TimeNs t_ns, bus::TimedFrame& out) override;

  State state() const { return state_; }
  // kFailed: why, and what helps.
  const std::string& failure() const { return failure_; }
  // What the node has reported since the last time; of many at once the first ones.
  std::vector<Emergency> TakeEmergencies();

 private:
  struct Parameter {
    ObjectAt at;
    ObjectValue value;
  };
  void PlanParameters();
  void PlanMessage(int number, const std::vector<std::uint32_t>& mapped);
  void Plan(std::uint16_t index, std::size_t sub, std::uint32_t value, int bytes);
  void OnHeartbeat(TimeNs t_ns, NmtState state);
  void OnAnswer(TimeNs t_ns, const ParameterMessage& answer);
  void AskNext(TimeNs t_ns);
  void Say(TimeNs t_ns, NmtCommand command);
  void OnSilence(TimeNs t_ns);
  void BeQuiet();
  void Fail(TimeNs t_ns, const std::string& why);
  bool Take(TimeNs t_ns, bus::Frame& frame);
  bool TakeValues(TimeNs t_ns, bus::Frame& frame);
  bus::Frame OutputsFrame() const;
  bus::Frame AnalogueFrame() const;

  IoNodeSetup setup_;
  std::vector<Parameter> parameters_;
  std::size_t next_parameter_ = 0;
  State state_ = State::kIdle;
  std::string failure_;
  NmtCommand command_ = NmtCommand::kStop;
  // When each is due.
  TimeNs command_ns_ = kNever, beat_ns_ = kNever, parameter_ns_ = kNever;
  TimeNs outputs_ns_ = kNever, analogue_ns_ = kNever;
  TimeNs silence_ns_ = kNever;  // the node has to be heard before
  std::vector<std::uint8_t> bytes_;
  std::vector<std::int16_t> values_;
  std::vector<Emergency> emergencies_;
};

}  // namespace drycrank::protocol

#endif  // DRYCRANK_PROTOCOL_IO_MASTER_H_
