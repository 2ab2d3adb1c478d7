// SPDX-License-Identifier: Apache-2.0
#include "sweep/standin_screen.h"

#include <algorithm>
#include <cmath>

#include "bus/layout.h"
#include "sweep/echo.h"
#include "types/nth.h"

namespace drycrank::sweep {
namespace {

constexpr double kEventPeriodMs = 20;  // how often an event message is sent here
constexpr TimeNs kOthersNs = 10 * kNsPerMs, kStepNs = kNsPerMs;

TimeNs PeriodNs(const profile::Message& message) {
  return FromMs(message.period_ms > 0 ? message.period_ms : kEventPeriodMs);
}

const char* Word(standin::GaugeState state) {
  switch (state) {
    case standin::GaugeState::kOk:
      return "ok";
    case standin::GaugeState::kWarning:
      return "warning";
    case standin::GaugeState::kStale:
      break;
  }
  return "stale";
}

bool Same(const profile::MessageRef& a, const profile::MessageRef& b) {
  return a.bus == b.bus && a.message == b.message;
}

}  // namespace

SentValues::SentValues(const profile::Bench& bench) : bench_(bench), entries_(bench.buses.size()) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const auto& messages = bench.buses[b].messages;
    for (std::size_t m = 0; m < messages.size(); ++m) {
      entries_[b].push_back({std::vector<double>(messages[m].signals.size(), 0), false, 0});
      if (messages[m].sender == profile::Sender::kDisplay) continue;
      messages_.push_back({static_cast<int>(b), static_cast<int>(m)});
    }
  }
}

SentValues::Entry& SentValues::At(const profile::MessageRef& message) {
  return Nth(Nth(entries_, message.bus), message.message);
}

void SentValues::Set(const profile::SignalRef& signal, double physical) {
  Nth(At({signal.bus, signal.message}).values, signal.signal) = physical;
}

void SentValues::Silence(const profile::MessageRef& message, bool silent) {
  At(message).silent = silent;
}

bool SentValues::IsSilent(const profile::MessageRef& message) const {
  return Nth(Nth(entries_, message.bus), message.message).silent;
}

bus::Frame SentValues::FrameOf(const profile::MessageRef& message) {
  Entry& entry = At(message);
  return bus::Encode(MessageAt(bench_, message), entry.values, entry.counter++);
}

StandinScreen::StandinScreen(const profile::Bench& bench, bool seen_by_echo)
    : bench_(bench), display_(bench_), sent_(bench_), seen_by_echo_(seen_by_echo) {}

bool StandinScreen::SwitchOn() {
  display_.Reset();
  display_.Advance(t_ns_);
  return true;
}

void StandinScreen::Send(const profile::SignalRef& signal, double physical) {
  sent_.Set(signal, physical);
}

void StandinScreen::Silence(const profile::MessageRef& message, bool silent) {
  sent_.Silence(message, silent);
}

void StandinScreen::SendAll(const profile::MessageRef* but) {
  for (const profile::MessageRef& message : sent_.messages()) {
    if (sent_.IsSilent(message) || (but != nullptr && Same(*but, message))) continue;
    display_.OnFrame({t_ns_, message.bus, true, sent_.FrameOf(message)});
  }
}

std::optional<Shown> StandinScreen::Look(const profile::Readout& readout) {
  const profile::MessageRef message = profile::FindMessage(bench_, readout.message);
  SendAll(nullptr);
  t_ns_ += PeriodNs(MessageAt(bench_, message));
  SendAll(&message);
  display_.Advance(t_ns_);
  return ShownNow(readout);
}

std::optional<double> StandinScreen::GoneAfterS(const profile::Readout& readout, double most_s) {
  const profile::MessageRef message = profile::FindMessage(bench_, readout.message);
  t_ns_ -= PeriodNs(MessageAt(bench_, message));  // the last frame came a period ago
  const TimeNs begin_ns = t_ns_;
  for (TimeNs passed_ns = kStepNs; passed_ns <= FromSeconds(most_s); passed_ns += kStepNs) {
    t_ns_ = begin_ns + passed_ns;
    if (passed_ns % kOthersNs == 0) SendAll(&message);
    display_.Advance(t_ns_);
    if (ShownNow(readout).state != "stale") continue;
    const double stood_s = ToSeconds(passed_ns - kStepNs);
    return seen_by_echo_ ? std::floor(stood_s / kEchoGrainS + 1e-9) * kEchoGrainS : stood_s;
  }
  return std::nullopt;
}

std::vector<Shown> StandinScreen::LookAtAll() {
  double longest_ms = 0;
  for (const profile::Gauge& gauge : bench_.display->gauges) {
    longest_ms = std::max(longest_ms, gauge.stale_ms);
  }
  t_ns_ += FromMs(longest_ms) + kNsPerS;
  SendAll(nullptr);
  display_.Advance(t_ns_);
  std::vector<Shown> all;
  for (std::size_t i = 0; i < bench_.display->gauges.size(); ++i) {
    all.push_back(SeenAt(static_cast<int>(i)));
  }
  return all;
}

Shown StandinScreen::SeenAt(int gauge) const {
  const standin::GaugeLook look = display_.Look(gauge);
  return {look.page, look.text, look.unit, Word(look.state), look.lamp};
}

Shown StandinScreen::ShownNow(const profile::Readout& readout) const {
  const int gauge = profile::IndexOf(bench_.display->gauges, readout.name);
  if (gauge < 0) return {.state = "absent"};
  if (!seen_by_echo_) return SeenAt(gauge);
  const auto as_sent = [&](const profile::SignalRef& at) -> std::optional<double> {
    const profile::Message& message = MessageAt(bench_, {at.bus, at.message});
    std::vector<double> values(message.signals.size(), 0);
    Nth(values, at.signal) = display_.Value(display_.ValueIndex(SignalAt(bench_, at).carries));
    return bus::Decode(message, at.signal, bus::Encode(message, values, 0));
  };
  return ShownOf(bench_, EchoOf(bench_, readout.name), as_sent).value_or(Shown{});
}

}  // namespace drycrank::sweep
