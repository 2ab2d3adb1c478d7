// SPDX-License-Identifier: Apache-2.0
#include "run/tester.h"

#include <algorithm>
#include <array>

#include "protocol/obd.h"

namespace drycrank::run {
namespace {

using profile::Dialect;
using profile::Question;

constexpr TimeNs kAnswerNs = 50 * kNsPerMs, kLateAnswerNs = 5 * kNsPerS;  // ISO 15765-4, P2 and P2*

// What the tester asks for an expectation, or null.
const Question* AskedFor(const profile::Expectation& e) {
  const Question* question = profile::QuestionOf(e.kind);
  return question != nullptr && question->over != Dialect::kDm1 ? question : nullptr;
}

std::vector<Question> QuestionsOf(const profile::Scenario& scenario) {
  std::vector<Question> questions;
  for (const profile::Expectation& e : scenario.expectations) {
    const Question* asked = AskedFor(e);
    if (asked == nullptr) continue;
    const bool known = std::any_of(questions.begin(), questions.end(), [&](const Question& q) {
      return q.over == asked->over && q.pid == asked->pid;  // all codes: one question
    });
    if (!known) questions.push_back(*asked);
  }
  return questions;
}

protocol::IsoTpOptions LinkOf(const profile::OnBoardDiagnostics& config) {
  protocol::IsoTpOptions options;
  options.transmit_id = config.request_id;
  options.receive_id = config.response_id;
  options.extended = config.extended;
  return options;
}

}  // namespace

bool Tester::IsNeeded(const profile::Bench& bench, const profile::Scenario& scenario) {
  return bench.controller && bench.controller->diagnostics &&
         std::ranges::any_of(scenario.expectations, AskedFor);
}

Tester::Tester(const profile::Bench& bench, const profile::Scenario& scenario)
    : config_(*bench.controller->diagnostics),
      questions_(QuestionsOf(scenario)),
      slot_ns_(FromMs(config_.slot_ms)),
      due_ns_(slot_ns_),
      link_(LinkOf(config_)) {}

void Tester::OnFrame(const bus::TimedFrame& frame) {
  if (frame.bus != config_.bus) return;
  link_.OnFrame(frame.t_ns, frame.frame);
  const auto answer = link_.TakeMessage();
  if (!answer) return;
  const auto negative = protocol::ReadNegative(*answer);
  const bool pending = negative && negative->code == protocol::kResponsePending;
  awaiting_until_ns_ = pending ? frame.t_ns + kLateAnswerNs : 0;
}

TimeNs Tester::NextDue() const { return std::min(due_ns_, link_.NextDue()); }

bus::Frame Tester::Request(const Question& question) const {
  bus::Frame frame;
  frame.id = question.over == Dialect::kUds ? config_.request_id : config_.functional_id;
  frame.extended = config_.extended;
  frame.length = 8;
  const std::size_t length = protocol::RequestFor(question, std::span(frame.data.data() + 1, 7));
  frame.data[0] = static_cast<std::uint8_t>(length);  // a single frame
  return frame;
}

bool Tester::TakeDue(TimeNs t_ns, bus::TimedFrame& out) {
  out.t_ns = t_ns;
  out.bus = config_.bus;
  out.sent = true;
  if (link_.TakeDue(t_ns, out.frame)) return true;
  if (due_ns_ > t_ns) return false;
  due_ns_ = (t_ns / slot_ns_ + 1) * slot_ns_;
  if (awaiting_until_ns_ > t_ns) {
    ++passed_over_;
    return false;
  }
  out.frame = Request(questions_[next_]);
  next_ = (next_ + 1) % questions_.size();
  awaiting_until_ns_ = t_ns + kAnswerNs;
  return true;
}

}  // namespace drycrank::run
