// SPDX-License-Identifier: Apache-2.0
#include "check/overhear.h"

#include <fmt/format.h>

#include <algorithm>

#include "protocol/j1939.h"
#include "protocol/obd.h"

namespace drycrank::check {
namespace {

constexpr TimeNs kAnswerNs = 50 * kNsPerMs, kLateAnswerNs = 5 * kNsPerS;

protocol::IsoTpOptions LinkOf(const profile::Bench& bench) {
  protocol::IsoTpOptions options;
  if (!bench.controller || !bench.controller->diagnostics) return options;
  options.receive_id = bench.controller->diagnostics->response_id;
  options.extended = bench.controller->diagnostics->extended;
  return options;
}

}  // namespace

std::vector<Identifier> TalkOf(const profile::Bench& bench) {
  std::vector<Identifier> talk;
  if (!bench.controller) return talk;
  if (const auto& d = bench.controller->diagnostics) {
    for (const std::uint32_t id : {d->functional_id, d->request_id, d->response_id}) {
      talk.push_back({d->bus, id, d->extended});
    }
  }
  if (const auto& j = bench.controller->j1939) {
    const auto source = static_cast<std::uint8_t>(j->address);
    const auto add = [&](int priority, std::uint32_t pgn, std::uint8_t from) {
      talk.push_back(
          {j->bus, protocol::JoinId({priority, pgn, protocol::kGlobalAddress, from}), true});
    };
    for (const std::uint32_t pgn :
         {protocol::kPgnAddressClaimed, protocol::kPgnAcknowledge, protocol::kPgnDm1,
          protocol::kPgnDm2, protocol::kPgnTransportManagement, protocol::kPgnTransportData}) {
      for (const int priority : {6, 7}) add(priority, pgn, source);
    }
    add(6, protocol::kPgnAddressClaimed, protocol::kNullAddress);  // cannot claim
  }
  return talk;
}

Overhear::Overhear(const profile::Bench& bench, const profile::Question& question)
    : question_(question), link_(LinkOf(bench)) {
  if (!bench.controller) return;
  if (question.over == profile::Dialect::kDm1) {
    if (!bench.controller->j1939) return;
    const auto& node = *bench.controller->j1939;
    const auto source = static_cast<std::uint8_t>(node.address);
    for (const std::uint32_t pgn :
         {protocol::kPgnDm1, protocol::kPgnTransportManagement, protocol::kPgnTransportData}) {
      for (const int priority : {6, 7}) {  // both are in use for transport
        const protocol::J1939Id id{priority, pgn, protocol::kGlobalAddress, source};
        identifiers_.push_back({node.bus, protocol::JoinId(id), true});
      }
    }
    return;
  }
  if (!bench.controller->diagnostics) return;
  diagnostics_ = &*bench.controller->diagnostics;
  request_length_ = protocol::RequestFor(question, request_);
  for (const std::uint32_t id :
       {diagnostics_->functional_id, diagnostics_->request_id, diagnostics_->response_id}) {
    identifiers_.push_back({diagnostics_->bus, id, diagnostics_->extended});
  }
}

void Overhear::Open() {
  ours_last_ = false;
  due_ns_ = kNever;
}

void Overhear::Settle(TimeNs t_ns) {
  if (due_ns_ < t_ns) ++unanswered_;
  due_ns_ = kNever;
}

void Overhear::Close(TimeNs end_ns) { Settle(end_ns); }

void Overhear::OnRequest(const bus::TimedFrame& frame) {
  const bus::Frame& f = frame.frame;
  const std::size_t length = f.length > 0 ? f.data[0] : 0;  // a single frame: 0L
  if (length == 0 || length > 7 || f.length <= length) return;
  const auto asked = f.bytes().subspan(1, length);
  const auto wanted = std::span(request_.data(), request_length_);
  ours_last_ = std::equal(asked.begin(), asked.end(), wanted.begin(), wanted.end());
  if (!ours_last_) return;
  Settle(frame.t_ns);
  ++asked_;
  due_ns_ = frame.t_ns + kAnswerNs;
}

bool Overhear::IsAnswer(TimeNs t_ns, std::span<const std::uint8_t> message) {
  if (!ours_last_) return false;
  if (const auto negative = protocol::ReadNegative(message)) {
    if (negative->service != request_[0]) return false;
    if (negative->code == protocol::kResponsePending) {
      due_ns_ = t_ns + kLateAnswerNs;
      return false;
    }
    due_ns_ = kNever;
    refusal_ = negative->code;
    ++refused_;
    return false;
  }
  if (message[0] != request_[0] + protocol::kAnswerOffset) return false;
  due_ns_ = kNever;
  return true;
}

std::optional<std::span<const std::uint8_t>> Overhear::OnDm1(const bus::TimedFrame& frame) {
  const auto id = protocol::J1939IdOf(frame.frame);
  if (!id) return std::nullopt;
  if (id->pgn == protocol::kPgnDm1) return frame.frame.bytes();
  bus::Frame unsent;
  while (dm1_.TakeDue(frame.t_ns, unsent)) continue;
  dm1_.OnFrame(frame.t_ns, frame.frame);
  const auto message = dm1_.TakeMessage();
  if (!message || message->id.pgn != protocol::kPgnDm1) return std::nullopt;
  return message->bytes;
}

std::optional<std::span<const std::uint8_t>> Overhear::OnFrame(const bus::TimedFrame& frame) {
  if (diagnostics_ == nullptr) return OnDm1(frame);
  if (frame.frame.id != diagnostics_->response_id) {
    OnRequest(frame);
    return std::nullopt;
  }
  bus::Frame unsent;
  link_.TakeDue(frame.t_ns, unsent);  // time-outs
  link_.OnFrame(frame.t_ns, frame.frame);
  while (link_.TakeDue(frame.t_ns, unsent)) continue;  // flow control is the tester's
  const auto message = link_.TakeMessage();
  if (!message || !IsAnswer(frame.t_ns, *message)) return std::nullopt;
  return message;
}

std::string Overhear::Trouble() const {
  if (refused_ > 0) {
    return fmt::format("{} of {} questions refused: {}", refused_, asked_,
                       protocol::NegativeText(refusal_));
  }
  if (unanswered_ > 0) return fmt::format("{} of {} questions unanswered", unanswered_, asked_);
  return "";
}

std::string Overhear::Silence() const {
  if (question_.over == profile::Dialect::kDm1) return "no DM1 was received";
  const std::string trouble = Trouble();
  if (!trouble.empty()) return trouble;
  return asked_ == 0 ? "the controller was not asked while this was judged"
                     : "the controller did not answer";
}

}  // namespace drycrank::check
