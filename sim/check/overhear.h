// SPDX-License-Identifier: Apache-2.0
//
// Overhears the talk between the run's tester and a controller, from the frames alone: what was
// asked, what was answered, and what was never answered. Nothing is sent.
//
// An answer is due 50 ms after the question (ISO 15765-4, P2), or 5 s after the controller has said
// that it comes later.
#ifndef DRYCRANK_CHECK_OVERHEAR_H_
#define DRYCRANK_CHECK_OVERHEAR_H_

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "bus/frame.h"
#include "check/judge.h"
#include "profile/bench.h"
#include "protocol/isotp.h"
#include "protocol/j1939_transport.h"

namespace drycrank::check {

// The identifiers that a bench's controller and its testers use besides its messages.
std::vector<Identifier> TalkOf(const profile::Bench& bench);

class Overhear {
 public:
  // The bench has what the question needs, else nothing is ever heard.
  Overhear(const profile::Bench& bench, const profile::Question& question);

  std::vector<Identifier> Identifiers() const { return identifiers_; }
  void Open();
  // A whole answer to the question, if this frame ends one; for DM1, a whole broadcast. Lasts until
  // the next call.
  std::optional<std::span<const std::uint8_t>> OnFrame(const bus::TimedFrame& frame);
  void Close(TimeNs end_ns);

  std::uint64_t asked() const { return asked_; }
  std::uint64_t unanswered() const { return unanswered_; }
  std::uint64_t refused() const { return refused_; }
  // "12 of 40 questions unanswered", "refused: service not supported"; empty when all went well.
  [[nodiscard]] std::string Trouble() const;
  // For a verdict without any answer.
  std::string Silence() const;

 private:
  std::optional<std::span<const std::uint8_t>> OnDm1(const bus::TimedFrame& frame);
  void OnRequest(const bus::TimedFrame& frame);
  bool IsAnswer(TimeNs t_ns, std::span<const std::uint8_t> message);
  void Settle(TimeNs t_ns);

  const profile::OnBoardDiagnostics* diagnostics_ = nullptr;
  profile::Question question_;
  std::vector<Identifier> identifiers_;
  std::array<std::uint8_t, 8> request_{};
  std::size_t request_length_ = 0;
  protocol::IsoTp link_;
  protocol::J1939Receiver dm1_;

  bool ours_last_ = false;  // the last question on the bus was this one
  TimeNs due_ns_ = kNever;  // an answer is awaited until then
  std::uint64_t asked_ = 0, unanswered_ = 0, refused_ = 0;
  std::uint8_t refusal_ = 0;
};

}  // namespace drycrank::check

#endif  // DRYCRANK_CHECK_OVERHEAR_H_
