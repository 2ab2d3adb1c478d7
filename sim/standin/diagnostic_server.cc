// SPDX-License-Identifier: Apache-2.0
#include "standin/diagnostic_server.h"

#include <algorithm>
#include <string>
#include <utility>

#include "protocol/obd.h"
#include "protocol/uds.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::standin {
namespace {

constexpr TimeNs kPendingAfterNs = 25 * kNsPerMs;  // P2 is 50 ms at most
constexpr TimeNs kLookNs = 10 * kNsPerMs;
// Between consecutive frames, so that a slow interface's send queue holds them.
constexpr TimeNs kFrameGapNs = kNsPerMs;

protocol::IsoTpOptions LinkOf(const profile::OnBoardDiagnostics& config) {
  protocol::IsoTpOptions options;
  options.transmit_id = config.response_id;
  options.receive_id = config.request_id;
  options.extended = config.extended;
  options.least_gap_ns = kFrameGapNs;
  return options;
}

// Of a channel; the values that every controller has are in the parameters' own units.
std::string UnitOf(const profile::Controller& controller, const std::string& channel) {
  const int analog = profile::IndexOf(controller.analog, channel);
  if (analog >= 0) return Nth(controller.analog, analog).unit;
  const int frequency = profile::IndexOf(controller.frequency, channel);
  if (frequency >= 0) return Nth(controller.frequency, frequency).unit;
  return "";
}

}  // namespace

DiagnosticServer::DiagnosticServer(const profile::Controller& controller, OwnValues values)
    : config_(*controller.diagnostics),
      values_(std::move(values)),
      memory_(config_.trouble_codes, values_),
      link_(LinkOf(config_)) {
  for (const profile::ReportedPid& reported : config_.pids) {
    Parameter& parameter = Nth(parameters_, reported.pid);
    parameter.value = values_.index_of(reported.channel);
    const std::string unit = UnitOf(controller, reported.channel);
    const std::string_view told = profile::FindPid(reported.pid)->unit;
    if (unit.empty() || told.empty()) continue;
    parameter.factor = ConvertDifference(1, unit, told).value_or(1);
    parameter.offset = Convert(0, unit, told).value_or(0);
  }
  troubles_.reserve(config_.trouble_codes.size());
}

bool DiagnosticServer::HasPid(int pid) const { return Nth(parameters_, pid).value >= 0; }

double DiagnosticServer::PidValue(int pid) const {
  const Parameter& parameter = Nth(parameters_, pid);
  return values_.at(parameter.value) * parameter.factor + parameter.offset;
}

void DiagnosticServer::ClearTroubles() {
  memory_.Clear();
  troubles_.clear();
}

void DiagnosticServer::Look() {
  memory_.Look(values_);
  troubles_.clear();
  for (const TroubleMemory::Entry& entry : memory_.entries()) {
    if (!entry.stored) continue;
    const int status =
        protocol::kPending | protocol::kConfirmed | (entry.active ? protocol::kTestFailed : 0);
    troubles_.push_back(
        {static_cast<std::uint16_t>(entry.code->code), static_cast<std::uint8_t>(status)});
  }
}

void DiagnosticServer::OnFrame(const bus::TimedFrame& frame) {
  if (frame.bus != config_.bus || frame.frame.extended != config_.extended) return;
  const bool functional = frame.frame.id == config_.functional_id;
  if (functional) {
    link_.OnFunctionalFrame(frame.t_ns, frame.frame);
  } else if (frame.frame.id == config_.request_id) {
    link_.OnFrame(frame.t_ns, frame.frame);
  } else {
    return;
  }
  TakeRequest(frame.t_ns, functional);
}

void DiagnosticServer::TakeRequest(TimeNs t_ns, bool functional) {
  const auto request = link_.TakeMessage();
  if (!request) return;
  if (answer_ns_ != kNever || link_.sending()) {
    ++passed_over_;
    return;
  }
  std::copy(request->begin(), request->end(), request_.begin());
  request_length_ = request->size();
  functional_ = functional;
  answer_ns_ = t_ns + FromMs(config_.answer_ms);
  if (answer_ns_ - t_ns > kPendingAfterNs) pending_ns_ = t_ns + kPendingAfterNs;
}

void DiagnosticServer::Answer(TimeNs t_ns) {
  answer_ns_ = pending_ns_ = kNever;
  Look();
  const std::span request(request_.data(), request_length_);
  const std::size_t length = protocol::IsObdService(request[0])
                                 ? protocol::AnswerObd(*this, request, functional_, answer_)
                                 : protocol::AnswerUds(*this, request, functional_, answer_);
  if (length > 0) link_.Send(t_ns, std::span(answer_.data(), length));
}

TimeNs DiagnosticServer::NextDue() const {
  return std::min({look_ns_, answer_ns_, pending_ns_, link_.NextDue()});
}

bool DiagnosticServer::TakeDue(TimeNs t_ns, bus::TimedFrame& out) {
  if (look_ns_ <= t_ns) {
    Look();
    look_ns_ = (t_ns / kLookNs + 1) * kLookNs;
  }
  if (pending_ns_ <= t_ns) {
    pending_ns_ = kNever;
    link_.Send(t_ns, std::span(answer_.data(), protocol::WritePending(request_[0], answer_)));
  }
  if (answer_ns_ <= t_ns && !link_.sending()) Answer(t_ns);
  out.t_ns = t_ns;
  out.bus = config_.bus;
  out.sent = true;
  return link_.TakeDue(t_ns, out.frame);
}

}  // namespace drycrank::standin
