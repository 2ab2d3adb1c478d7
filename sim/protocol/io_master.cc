// SPDX-License-Identifier: Apache-2.0
#include "protocol/io_master.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <utility>

#include "types/nth.h"

namespace drycrank::protocol {
namespace {

constexpr std::uint32_t kSwitchedOff = 0x80000000;  // of a message's identifier
constexpr std::uint32_t kOnEachChange = 255;
constexpr std::uint32_t kStopWithoutUs = 2;
constexpr std::uint32_t kUseErrorValue = 1, kUseErrorBits = 0xff;
constexpr std::size_t kMostEmergencies = 16;

int Milliseconds(TimeNs ns) { return static_cast<int>(ns / kNsPerMs); }

}  // namespace

IoMaster::IoMaster(IoNodeSetup setup)
    : setup_(std::move(setup)), bytes_(setup_.safe_bytes), values_(setup_.safe_values) {
  assert(bytes_.size() <= 8 && values_.size() <= 4);
  emergencies_.reserve(kMostEmergencies);
  PlanParameters();
}

void IoMaster::Plan(std::uint16_t index, std::size_t sub, std::uint32_t value, int bytes) {
  parameters_.push_back({{index, static_cast<std::uint8_t>(sub)}, {value, bytes}});
}

// What is safe comes before what drives.
void IoMaster::PlanParameters() {
  std::vector<std::uint32_t> outputs, analogue;
  for (std::size_t sub = 1; sub <= bytes_.size(); ++sub) {
    Plan(0x6206, sub, kUseErrorBits, 1);
    Plan(0x6207, sub, setup_.safe_bytes[sub - 1], 1);
    outputs.push_back(0x62000008u | static_cast<std::uint32_t>(sub) << 8);
  }
  for (std::size_t sub = 1; sub <= values_.size(); ++sub) {
    Plan(0x6443, sub, kUseErrorValue, 1);
    Plan(0x6444, sub, static_cast<std::uint32_t>(std::int32_t{setup_.safe_values[sub - 1]}), 4);
    analogue.push_back(0x64110010u | static_cast<std::uint32_t>(sub) << 8);
  }
  Plan(0x1029, 1, kStopWithoutUs, 1);
  Plan(0x1016, 1,
       static_cast<std::uint32_t>(setup_.own_node) << 16 |
           static_cast<std::uint32_t>(Milliseconds(kSilenceNs)),
       4);
  Plan(0x1017, 0, static_cast<std::uint32_t>(Milliseconds(kHeartbeatNs)), 2);
  PlanMessage(0, outputs);
  PlanMessage(1, analogue);
}

// A message is switched off while what is in it changes (CiA 301, 7.5.2.36).
void IoMaster::PlanMessage(int number, const std::vector<std::uint32_t>& mapped) {
  if (mapped.empty()) return;
  const auto communication = static_cast<std::uint16_t>(0x1400 + number);
  const auto mapping = static_cast<std::uint16_t>(0x1600 + number);
  const std::uint32_t id = (number == 0 ? kFirstWriteId : kSecondWriteId) + setup_.node;
  Plan(communication, 1, kSwitchedOff | id, 4);
  Plan(mapping, 0, 0, 1);
  for (std::size_t i = 0; i < mapped.size(); ++i) Plan(mapping, i + 1, mapped[i], 4);
  Plan(mapping, 0, static_cast<std::uint32_t>(mapped.size()), 1);
  Plan(communication, 2, kOnEachChange, 1);
  Plan(communication, 1, id, 4);
}

void IoMaster::Say(TimeNs t_ns, NmtCommand command) {
  command_ = command;
  command_ns_ = t_ns;
}

void IoMaster::Start(TimeNs t_ns) {
  state_ = State::kConnecting;
  failure_.clear();
  bytes_ = setup_.safe_bytes;
  values_ = setup_.safe_values;
  Say(t_ns, NmtCommand::kResetNode);
  beat_ns_ = t_ns;
  silence_ns_ = t_ns + kConnectNs;
}

void IoMaster::Stop(TimeNs t_ns) {
  if (state_ == State::kIdle || state_ == State::kStopped || state_ == State::kFailed) return;
  const bool hears_values = state_ == State::kRunning;
  BeQuiet();
  bytes_ = setup_.safe_bytes;
  values_ = setup_.safe_values;
  if (hears_values && !bytes_.empty()) outputs_ns_ = t_ns;
  if (hears_values && !values_.empty()) analogue_ns_ = t_ns;
  state_ = State::kStopped;
  Say(t_ns, NmtCommand::kStop);
}

void IoMaster::BeQuiet() {
  command_ns_ = beat_ns_ = parameter_ns_ = outputs_ns_ = analogue_ns_ = silence_ns_ = kNever;
}

void IoMaster::Fail(TimeNs t_ns, const std::string& why) {
  BeQuiet();
  failure_ = fmt::format("I/O node {}: {}", setup_.node, why);
  state_ = State::kFailed;
  Say(t_ns, NmtCommand::kStop);
}

void IoMaster::SetOutput(TimeNs t_ns, int output, bool on) {
  std::uint8_t& byte = Nth(bytes_, output / 8);
  const auto bit = static_cast<std::uint8_t>(1 << (output % 8));
  byte = static_cast<std::uint8_t>(on ? byte | bit : byte & ~bit);
  if (state_ == State::kRunning) outputs_ns_ = t_ns;
}

void IoMaster::SetAnalogue(TimeNs t_ns, int output, std::int16_t value) {
  Nth(values_, output) = value;
  if (state_ == State::kRunning) analogue_ns_ = t_ns;
}

void IoMaster::OnFrame(const bus::TimedFrame& timed) {
  const bus::Frame& frame = timed.frame;
  if (timed.bus != setup_.bus || frame.extended || frame.remote || frame.error) return;
  if (silence_ns_ == kNever) return;  // not begun, or over
  if (frame.id == kHeartbeatId + setup_.node && frame.length == 1) {
    OnHeartbeat(timed.t_ns, static_cast<NmtState>(frame.data[0] & 0x7f));
  } else if (frame.id == kParameterAnswerId + setup_.node) {
    if (const auto answer = ReadAnswerOf(frame)) OnAnswer(timed.t_ns, *answer);
  } else if (frame.id == kEmergencyId + setup_.node && frame.length == 8 &&
             emergencies_.size() < kMostEmergencies) {
    emergencies_.push_back(
        {static_cast<std::uint16_t>(frame.data[0] | frame.data[1] << 8), frame.data[2]});
  }
}

void IoMaster::OnHeartbeat(TimeNs t_ns, NmtState state) {
  if (state_ == State::kConnecting) {
    if (state != NmtState::kStarting || command_ns_ != kNever) return;  // of before its reset
    state_ = State::kSetting;
    next_parameter_ = 0;
    return AskNext(t_ns);
  }
  if (state == NmtState::kStarting) {
    return Fail(t_ns, "it has started anew by itself; look at its supply");
  }
  if (state_ == State::kStarting && state == NmtState::kOperational) {
    state_ = State::kRunning;
    if (!bytes_.empty()) outputs_ns_ = t_ns;
    if (!values_.empty()) analogue_ns_ = t_ns;
  }
  if (state_ != State::kRunning) return;
  silence_ns_ = t_ns + kSilenceNs;
  if (state == NmtState::kOperational) return;
  Fail(t_ns, fmt::format("it is {} and does not drive; its error messages may say why",
                         state == NmtState::kStopped ? "stopped" : "pre-operational"));
}

void IoMaster::AskNext(TimeNs t_ns) {
  silence_ns_ = t_ns + kAnswerNs;
  if (next_parameter_ < parameters_.size()) {
    parameter_ns_ = t_ns;
    return;
  }
  state_ = State::kStarting;
  Say(t_ns, NmtCommand::kStart);
}

void IoMaster::OnAnswer(TimeNs t_ns, const ParameterMessage& answer) {
  if (state_ != State::kSetting || parameter_ns_ != kNever) return;
  const Parameter& asked = parameters_[next_parameter_];
  if (answer.at != asked.at) return;
  if (answer.kind == ParameterMessage::Kind::kWritten) {
    ++next_parameter_;
    AskNext(t_ns);
  } else if (answer.kind == ParameterMessage::Kind::kAbort) {
    const bool is_about_safety = asked.at.index == 0x1016 || asked.at.index == 0x1029 ||
                                 (asked.at.index >= 0x6206 && asked.at.index <= 0x6207) ||
                                 (asked.at.index >= 0x6443 && asked.at.index <= 0x6444);
    Fail(t_ns,
         fmt::format("{:04X}h sub-index {} could not be set: {}{}", asked.at.index, asked.at.sub,
                     AbortInWords(answer.code),
                     is_about_safety ? "; it would not be safe without us, so it is not driven"
                                     : "; does it have these outputs?"));
  }
}

void IoMaster::OnSilence(TimeNs t_ns) {
  switch (state_) {
    case State::kConnecting:
      return Fail(t_ns,
                  "it does not answer a reset; is it on this bus, with this number and bit rate?");
    case State::kSetting:
      return Fail(t_ns, fmt::format("no answer to {:04X}h sub-index {}",
                                    parameters_[next_parameter_].at.index,
                                    parameters_[next_parameter_].at.sub));
    case State::kStarting:
      return Fail(t_ns, "it was started and is not operational");
    default:
      return Fail(t_ns,
                  fmt::format("nothing heard of it for {} ms; is its supply on, is it on the bus?",
                              Milliseconds(kSilenceNs)));
  }
}

TimeNs IoMaster::NextDue() const {
  return std::min({command_ns_, beat_ns_, parameter_ns_, outputs_ns_, analogue_ns_, silence_ns_});
}

bool IoMaster::TakeDue(TimeNs t_ns, bus::TimedFrame& out) {
  if (silence_ns_ <= t_ns) OnSilence(t_ns);
  out = {t_ns, setup_.bus, true, {}};
  return Take(t_ns, out.frame);
}

bool IoMaster::Take(TimeNs t_ns, bus::Frame& frame) {
  if (beat_ns_ <= t_ns) {
    beat_ns_ = t_ns + kHeartbeatNs;
    frame = HeartbeatFrame(setup_.own_node, NmtState::kOperational);
    return true;
  }
  if (parameter_ns_ <= t_ns) {
    parameter_ns_ = kNever;
    frame = WriteRequest(setup_.node, parameters_[next_parameter_].at,
                         parameters_[next_parameter_].value);
    return true;
  }
  if (TakeValues(t_ns, frame)) return true;  // before a stop: after it the node hears none
  if (command_ns_ > t_ns) return false;
  command_ns_ = kNever;
  frame = NmtFrame(command_, setup_.node);
  return true;
}

bool IoMaster::TakeValues(TimeNs t_ns, bus::Frame& frame) {
  const TimeNs again_ns = state_ == State::kRunning ? t_ns + kRefreshNs : kNever;
  if (outputs_ns_ <= t_ns) {
    outputs_ns_ = again_ns;
    frame = OutputsFrame();
    return true;
  }
  if (analogue_ns_ > t_ns) return false;
  analogue_ns_ = again_ns;
  frame = AnalogueFrame();
  return true;
}

bus::Frame IoMaster::OutputsFrame() const {
  bus::Frame frame;
  frame.id = kFirstWriteId + setup_.node;
  frame.length = static_cast<std::uint8_t>(bytes_.size());
  std::ranges::copy(bytes_, frame.data.begin());
  return frame;
}

bus::Frame IoMaster::AnalogueFrame() const {
  bus::Frame frame;
  frame.id = kSecondWriteId + setup_.node;
  frame.length = static_cast<std::uint8_t>(2 * values_.size());
  for (std::size_t i = 0; i < values_.size(); ++i) {
    const auto bits = static_cast<std::uint16_t>(values_[i]);
    frame.data[2 * i] = static_cast<std::uint8_t>(bits);
    frame.data[2 * i + 1] = static_cast<std::uint8_t>(bits >> 8);
  }
  return frame;
}

std::vector<Emergency> IoMaster::TakeEmergencies() {
  std::vector<Emergency> taken = emergencies_;
  emergencies_.clear();
  return taken;
}

}  // namespace drycrank::protocol
