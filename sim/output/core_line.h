// SPDX-License-Identifier: Apache-2.0
//
// The PC's end of the trigger core's line: entries of its dictionary written and read by expedited SDO,
// heartbeats both ways (hw-notes/trigger-core.md; frames: core/frame_line.h). A request that is not
// answered within 100 ms is asked again, until the core counts as gone; meanwhile the heartbeat goes on.
// The first of all has some seconds: opening the port starts many boards anew. It is asked more seldom
// then, as a board's loader may listen too, and that is said.
//
//   missed   |<------------- missed_ms ------------->|
//   beats    |     |     |     |     |     |     |   |    every sixth of it, both ways
//
// However long that is, heartbeats are kMostBeatMs apart at most, and a core that has been silent for
// kMostSilentMs is gone: a line that is pulled out shows soon.
#ifndef DRYCRANK_OUTPUT_CORE_LINE_H_
#define DRYCRANK_OUTPUT_CORE_LINE_H_

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "core/frame_line.h"
#include "output/byte_port.h"
#include "profile/output_device.h"

namespace drycrank::output {

// For the set-up, which may take some seconds; asked until StopNoMore.
struct WhoWaits {
  std::function<void(const std::string&)> say = {};
  std::function<bool()> has_stopped = {};
};

class CoreLine {
 public:
  static constexpr std::int32_t kMostBeatMs = 50, kMostSilentMs = 1000;
  CoreLine(std::unique_ptr<BytePort> port, const profile::out::Core& core, WhoWaits person = {});

  // Empty, or what went wrong. After Open both hear each other's heartbeat.
  std::string Open();
  std::string Write(int index, int sub, std::int32_t value);
  std::optional<std::int32_t> Read(int index, int sub);

  // Sends the heartbeat when it is due, takes what came. Empty, or why the core is gone.
  std::string Beat();
  // As its last heartbeat says.
  enum class CoreState { kUnknown = -1, kBegins = 0, kSafe = 4, kArmed = 5, kNotArmed = 127 };
  CoreState state() const { return state_; }
  // What it said so far is old.
  void ForgetState() { state_ = CoreState::kUnknown; }
  // It is set up: what is asked is asked to its end from now on, and waited for no longer than SilentMs.
  void StopNoMore() {
    person_.has_stopped = nullptr;
    is_set_up_ = true;
  }
  // From the request to its answer, the mean so far; 0: none was measured.
  TimeNs AnswerNs() const { return answers_ > 0 ? answers_ns_ / answers_ : 0; }
  // Who waits is told once, when it takes long.
  void SayHowLong(int requests_left);
  // From now on the core is to miss us.
  void FallSilent() { silent_ = true; }

  std::int32_t missed_ms() const { return missed_ms_; }
  std::string Name() const { return port_->Name(); }

 private:
  struct Answer {
    std::uint8_t command = 0;
    std::uint32_t value = 0;
  };
  std::optional<Answer> Ask(std::uint8_t command, int index, int sub, std::uint32_t value);
  std::optional<Answer> AskOnce(const core::CoreFrame& request, TimeNs until_ns);
  // So long an answer is waited for in all.
  TimeNs Patience() const;
  TimeNs BeatNs() const;
  std::int32_t SilentMs() const;
  bool HasStopped() const { return person_.has_stopped && person_.has_stopped(); }
  std::string WhyNoAnswer() const;
  void SayThatItWaits();
  bool Send(const core::CoreFrame& frame);
  void SendHeartbeat();
  bool Hear(TimeNs wait_ns, const core::CoreFrame* request, std::optional<Answer>& answer);
  void OnFrame(const core::CoreFrame& frame, const core::CoreFrame* request,
               std::optional<Answer>& answer);

  std::unique_ptr<BytePort> port_;
  int node_, own_node_;
  std::int32_t missed_ms_;
  core::FrameReader reader_;
  WhoWaits person_;
  bool open_ = false, gone_ = false, silent_ = false, answered_ = false, has_said_ = false,
       is_set_up_ = false;
  TimeNs sent_ns_ = 0, heard_ns_ = 0, open_ns_ = 0;
  TimeNs answers_ns_ = 0;
  std::int64_t answers_ = 0;
  CoreState state_ = CoreState::kUnknown;
};

}  // namespace drycrank::output

#endif  // DRYCRANK_OUTPUT_CORE_LINE_H_
