// SPDX-License-Identifier: Apache-2.0
#include "output/core_line.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <utility>

#include "types/nth.h"

namespace drycrank::output {
namespace {

constexpr std::uint8_t kWrite = 0x23, kRead = 0x40, kWritten = 0x60, kValue = 0x43;
constexpr TimeNs kAskAgain = 100 * kNsPerMs, kAskSeldom = 500 * kNsPerMs,
                 kFirstAnswer = 5 * kNsPerS;
constexpr int kMissed = 0x1016, kEvery = 0x1017;

// Of the abort codes of SDO (CiA 301, from memory) those that the core gives.
const char* WhyAborted(std::uint32_t code) {
  switch (code) {
    case 0x06090030:
      return "out of its range";
    case 0x08000022:
      return "not in this state; it has started anew, or does not hear our heartbeat";
    case 0x06020000:
    case 0x06090011:
      return "it has no such entry: is it a trigger core, and a new one?";
    default:
      return "it cannot";
  }
}

std::uint32_t ValueOf(const core::CoreFrame& frame) {
  std::uint32_t value = 0;
  for (int i = 0; i < 4; ++i) value |= std::uint32_t{frame.data[4 + i]} << 8 * i;
  return value;
}

}  // namespace

CoreLine::CoreLine(std::unique_ptr<BytePort> port, const profile::out::Core& core, WhoWaits person)
    : port_(std::move(port)),
      node_(core.node),
      own_node_(core.own_node),
      missed_ms_(static_cast<std::int32_t>(std::lround(core.missed_ms))),
      person_(std::move(person)) {}

TimeNs CoreLine::BeatNs() const { return std::clamp(missed_ms_ / 6, 1, kMostBeatMs) * kNsPerMs; }

std::int32_t CoreLine::SilentMs() const { return std::min(missed_ms_, kMostSilentMs); }

std::string CoreLine::Open() {
  if (std::string problem = port_->Open(); !problem.empty()) return problem;
  open_ = true;
  heard_ns_ = port_->Now();
  answers_ns_ = answers_ = 0;
  for (const auto& [index, value] : {std::pair{kMissed, own_node_ << 16 | missed_ms_},
                                     {kEvery, static_cast<std::int32_t>(BeatNs() / kNsPerMs)}}) {
    if (std::string problem = Write(index, index == kMissed ? 1 : 0, value); !problem.empty()) {
      return problem;
    }
  }
  SendHeartbeat();
  open_ns_ = port_->Now();
  return "";
}

std::string CoreLine::Write(int index, int sub, std::int32_t value) {
  const auto answer = Ask(kWrite, index, sub, static_cast<std::uint32_t>(value));
  if (!answer) return WhyNoAnswer();
  if (answer->command == kWritten) return "";
  return fmt::format("{}: the core does not take {} at {:#x}:{}: {}", Name(), value, index, sub,
                     WhyAborted(answer->value));
}

std::optional<std::int32_t> CoreLine::Read(int index, int sub) {
  const auto answer = Ask(kRead, index, sub, 0);
  if (!answer || answer->command != kValue) return std::nullopt;
  return static_cast<std::int32_t>(answer->value);
}

std::string CoreLine::Beat() {
  if (port_->Now() - sent_ns_ >= BeatNs()) SendHeartbeat();
  std::optional<Answer> late;
  if (!Hear(0, nullptr, late)) gone_ = true;
  if (gone_) return fmt::format("{}: the line is gone", Name());
  if (port_->Now() - heard_ns_ > SilentMs() * kNsPerMs) {
    return fmt::format("{}: the core has been silent for {} ms", Name(), SilentMs());
  }
  return "";
}

std::optional<CoreLine::Answer> CoreLine::Ask(std::uint8_t command, int index, int sub,
                                              std::uint32_t value) {
  core::CoreFrame request;
  request.id = static_cast<std::uint16_t>(0x600 + node_);
  request.length = 8;
  request.data[0] = command;
  request.data[1] = static_cast<std::uint8_t>(index & 0xFF);
  request.data[2] = static_cast<std::uint8_t>(index >> 8);
  request.data[3] = static_cast<std::uint8_t>(sub);
  for (int i = 0; i < 4; ++i)
    request.data[4 + i] = static_cast<std::uint8_t>(value >> 8 * i & 0xFF);
  const TimeNs begin_ns = port_->Now(), end_ns = begin_ns + Patience();
  TimeNs again_ns = kAskAgain;
  while (!gone_ && !HasStopped() && port_->Now() < end_ns) {
    const bool is_first = !answered_;  // a board's start is not the line's time
    if (auto answer = AskOnce(request, std::min(end_ns, port_->Now() + again_ns))) {
      if (!is_first) answers_ns_ += port_->Now() - begin_ns, ++answers_;
      return answer;
    }
    if (answered_ || again_ns == kAskSeldom || port_->Now() - begin_ns < 3 * kAskAgain) continue;
    again_ns = kAskSeldom;
    SayThatItWaits();
  }
  return std::nullopt;
}

// One that is to miss us is not waited for longer. Nothing moves while it is set up: there is time.
TimeNs CoreLine::Patience() const {
  const std::int32_t missed_ms = is_set_up_ ? SilentMs() : missed_ms_;
  const TimeNs missed_ns = silent_ ? 0 : missed_ms * kNsPerMs;
  return std::max(answered_ || silent_ ? 3 * kAskAgain : kFirstAnswer, missed_ns);
}

void CoreLine::SayThatItWaits() {
  if (!person_.say || gone_) return;
  person_.say(fmt::format(
      "{}: no answer yet. A board that starts anew when its port is opened needs up to 2 s; "
      "waiting, {:g} s in all",
      Name(), ToSeconds(Patience())));
}

void CoreLine::SayHowLong(int requests_left) {
  const double left_s = ToSeconds(AnswerNs()) * requests_left;
  if (has_said_ || !person_.say || port_->Now() - open_ns_ < kNsPerS || left_s < 1) return;
  has_said_ = true;
  person_.say(
      fmt::format("{}: a slow line, {:.0f} ms for each entry; its wheels are written in about "
                  "{:.0f} s more",
                  Name(), ToMs(AnswerNs()), left_s));
}

std::string CoreLine::WhyNoAnswer() const {
  if (gone_) return fmt::format("{}: the line is gone", Name());
  if (HasStopped()) return fmt::format("{}: stopped while it was set up", Name());
  if (answered_) return fmt::format("{}: node {} answers no more", Name(), node_);
  return fmt::format(
      "{}: node {} does not answer, {:g} s long; is it the right line, baud rate and node, and "
      "does the "
      "core run on that board?",
      Name(), node_, ToSeconds(Patience()));
}

std::optional<CoreLine::Answer> CoreLine::AskOnce(const core::CoreFrame& request, TimeNs until_ns) {
  std::optional<Answer> answer;
  if (!Send(request)) return answer;
  while (!answer && !gone_ && port_->Now() < until_ns) {
    if (port_->Now() - sent_ns_ >= BeatNs()) SendHeartbeat();
    if (HasStopped()) break;
    if (!Hear(kNsPerMs, &request, answer)) gone_ = true;
  }
  return answer;
}

bool CoreLine::Send(const core::CoreFrame& frame) {
  std::array<std::uint8_t, core::kMostLine> bytes;
  const auto count = static_cast<std::size_t>(core::Line(frame, bytes.data()));
  if (!open_ || !port_->Write(std::span(bytes).first(count))) gone_ = true;
  return !gone_;
}

void CoreLine::SendHeartbeat() {
  if (silent_) return;
  sent_ns_ = port_->Now();
  core::CoreFrame beat;
  beat.id = static_cast<std::uint16_t>(0x700 + own_node_);
  beat.length = 1;
  beat.data[0] = 5;  // operational
  Send(beat);
}

// False: the line is gone.
bool CoreLine::Hear(TimeNs wait_ns, const core::CoreFrame* request, std::optional<Answer>& answer) {
  if (!open_) return false;
  std::array<std::uint8_t, 256> bytes;
  for (;;) {
    const int count = port_->Read(bytes, wait_ns);
    if (count < 0) return false;
    core::CoreFrame frame;
    for (int i = 0; i < count; ++i) {
      if (reader_.Take(bytes[static_cast<std::size_t>(i)], frame)) OnFrame(frame, request, answer);
    }
    if (count < static_cast<int>(bytes.size())) return true;
    wait_ns = 0;
  }
}

void CoreLine::OnFrame(const core::CoreFrame& frame, const core::CoreFrame* request,
                       std::optional<Answer>& answer) {
  if (frame.id == 0x700 + node_ && frame.length == 1) {
    heard_ns_ = port_->Now();
    state_ = static_cast<CoreState>(frame.data[0]);
  }
  if (frame.id != 0x580 + node_ || frame.length != 8 || request == nullptr) return;
  heard_ns_ = port_->Now();
  // Of the entry that was asked for; an older answer may come late.
  if (!std::equal(frame.data + 1, frame.data + 4, request->data + 1)) return;
  answered_ = true;
  answer = Answer{frame.data[0], ValueOf(frame)};
}

}  // namespace drycrank::output
