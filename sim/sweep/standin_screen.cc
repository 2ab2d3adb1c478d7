// SPDX-License-Identifier: Apache-2.0
#include "sweep/standin_screen.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "bus/layout.h"
#include "profile/state_names.h"
#include "sweep/echo.h"
#include "types/nth.h"

namespace drycrank::sweep {
namespace {

constexpr double kEventPeriodMs = 20;  // how often an event message is sent here
// Bits that no signal has are ones, as many senders leave them: a signal that was set too long
// shows it. SAE J1939-71 has it so; elsewhere common practice, no source.
constexpr std::uint8_t kUnusedBits = 0xFF;
constexpr double kShortOf = 1e-3;  // of a step
constexpr TimeNs kOthersNs = 10 * kNsPerMs, kStepNs = kNsPerMs;

TimeNs PeriodNs(const profile::Message& message) {
  return FromMs(message.period_ms > 0 ? message.period_ms : kEventPeriodMs);
}

// In the layout that has this signal.
void SelectFor(const profile::Signal& signal, const profile::Message& message,
               std::vector<double>& values) {
  for (std::size_t s = 0; s < message.signals.size(); ++s) {
    const profile::Signal& selector = message.signals[s];
    if (selector.multiplex != profile::Multiplex::kSelector) continue;
    values[s] = static_cast<double>(signal.multiplex_value) * selector.scale + selector.offset;
  }
}

bool Same(const profile::MessageRef& a, const profile::MessageRef& b) {
  return a.bus == b.bus && a.message == b.message;
}

}  // namespace

// ---- what is sent -------------------------------------------------------------------------------

SentValues::Entry SentValues::EntryOf(const profile::Message& message) {
  Entry entry{message, std::vector<double>(message.signals.size(), 0), -1, {}, false, false, 0};
  for (std::size_t s = 0; s < message.signals.size(); ++s) {
    const profile::Signal& signal = message.signals[s];
    if (signal.multiplex == profile::Multiplex::kSelector) entry.selector = static_cast<int>(s);
    if (signal.multiplex != profile::Multiplex::kSelected) continue;
    const bool known = std::ranges::find(entry.banks, signal.multiplex_value) != entry.banks.end();
    if (!known) entry.banks.push_back(signal.multiplex_value);
  }
  return entry;
}

SentValues::SentValues(const profile::Bench& bench) : bench_(bench), entries_(bench.buses.size()) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const auto& messages = bench.buses[b].messages;
    for (std::size_t m = 0; m < messages.size(); ++m) {
      entries_[b].push_back(EntryOf(messages[m]));
      if (messages[m].sender == profile::Sender::kDisplay) continue;
      messages_.push_back({static_cast<int>(b), static_cast<int>(m)});
    }
  }
}

SentValues::Entry& SentValues::At(const profile::MessageRef& message) {
  return Nth(Nth(entries_, message.bus), message.message);
}

void SentValues::Set(const profile::SignalRef& signal, double physical) {
  Entry& entry = At({signal.bus, signal.message});
  if (signal.signal == entry.selector) {
    entry.held = !std::isnan(physical);
    if (!entry.held) return;
  }
  const profile::Signal& set = Nth(entry.layout.signals, signal.signal);
  const auto bank = std::ranges::find(entry.banks, set.multiplex_value);
  if (set.multiplex == profile::Multiplex::kSelected && bank != entry.banks.end()) {
    std::rotate(entry.banks.begin(), bank, bank + 1);
  }
  Choose(signal);
  Nth(entry.values, signal.signal) = physical;
}

// Of signals that share bits, this one from now on.
void SentValues::Choose(const profile::SignalRef& signal) {
  const profile::Message& message = MessageAt(bench_, {signal.bus, signal.message});
  auto& chosen = At({signal.bus, signal.message}).layout.signals;
  const std::vector<int>& others = Nth(message.signals, signal.signal).instead_of;
  const bool is_shared = !others.empty() || !Nth(chosen, signal.signal).instead_of.empty();
  if (!is_shared) return;
  chosen = message.signals;
  Nth(chosen, signal.signal).instead_of.clear();
  for (const int other : others) Nth(chosen, other).instead_of = {signal.signal};
}

void SentValues::Silence(const profile::MessageRef& message, bool silent) {
  At(message).silent = silent;
}

double SentValues::Value(const profile::SignalRef& signal) const {
  return Nth(Nth(Nth(entries_, signal.bus), signal.message).values, signal.signal);
}

bool SentValues::IsSilent(const profile::MessageRef& message) const {
  return Nth(Nth(entries_, message.bus), message.message).silent;
}

std::vector<bus::Frame> SentValues::FramesOf(const profile::MessageRef& message) {
  Entry& entry = At(message);
  if (entry.selector < 0 || entry.banks.empty() || entry.held) {
    return {bus::Encode(entry.layout, entry.values, entry.counter++, kUnusedBits)};
  }
  std::vector<bus::Frame> frames;
  const profile::Signal& selector = Nth(entry.layout.signals, entry.selector);
  for (const std::int64_t bank : entry.banks) {
    Nth(entry.values, entry.selector) =
        static_cast<double>(bank) * selector.scale + selector.offset;
    frames.push_back(bus::Encode(entry.layout, entry.values, entry.counter++, kUnusedBits));
  }
  return frames;
}

// ---- the screen ---------------------------------------------------------------------------------

StandinScreen::StandinScreen(const profile::Bench& bench, bool seen_by_echo,
                             const std::vector<std::string>& smoothed, Comes comes)
    : bench_(bench),
      display_(bench_),
      sent_(bench_),
      seen_by_echo_(seen_by_echo),
      comes_(comes) {
  for (const std::string& name : smoothed) approached_[name] = std::nan("");
  SwitchOn();
}

bool StandinScreen::SwitchOn() {
  display_.Reset();
  display_.Advance(t_ns_);
  const profile::Switching& set = bench_.display->switching;
  if (set.dark_ms + set.lamp_test_ms > 0) Wait(set.dark_ms + set.lamp_test_ms);
  return true;
}

void StandinScreen::Wait(double ms) {
  t_ns_ += FromMs(ms);
  display_.Advance(t_ns_);
}

void StandinScreen::Send(const profile::SignalRef& signal, double physical) {
  sent_.Set(signal, physical);
}

void StandinScreen::Silence(const profile::MessageRef& message, bool silent) {
  sent_.Silence(message, silent);
}

void StandinScreen::LetArrive() { (void)LookAtAll(); }

void StandinScreen::SendAll(const profile::MessageRef* but) {
  for (const profile::MessageRef& message : sent_.messages()) {
    if (but == nullptr || !Same(*but, message)) SendOne(message);
  }
}

void StandinScreen::SendOne(const profile::MessageRef& message) {
  if (sent_.IsSilent(message)) return;
  for (const bus::Frame& frame : sent_.FramesOf(message)) {
    display_.OnFrame({t_ns_, message.bus, true, frame});
  }
}

// A thousandth of a step short of what was sent, on the side that it came from: a low pass of first
// order never arrives.
void StandinScreen::Approach(const profile::Readout& readout) {
  const auto smoothed = approached_.find(readout.name);
  const profile::SignalRef at = profile::FindSignal(bench_, readout.message + "." + readout.signal);
  const int g = profile::IndexOf(bench_.display->gauges, readout.name);
  if (smoothed == approached_.end() || g < 0 || std::isnan(sent_.Value(at))) return;
  const double before = std::exchange(smoothed->second, sent_.Value(at));
  if (before == smoothed->second || std::isnan(before)) return;
  const profile::Gauge& gauge = Nth(bench_.display->gauges, g);
  const auto& layouts = bench_.display->layouts;
  const int m = profile::IndexOf(layouts, gauge.message);
  const int s = m < 0 ? -1 : profile::IndexOf(Nth(layouts, m).signals, gauge.signal);
  if (s < 0) return;
  const double short_of = kShortOf * std::abs(SignalAt(bench_, at).scale);
  const bool is_above = (before > smoothed->second) == (comes_ == Comes::kShort);
  profile::fault::Layout layout;
  layout.offset = Nth(Nth(layouts, m).signals, s).offset + (is_above ? short_of : -short_of);
  display_.SetLayout(gauge.message + "." + gauge.signal, layout, true);
}

std::optional<Shown> StandinScreen::Look(const profile::Readout& readout) {
  Approach(readout);
  const profile::MessageRef message = profile::FindMessage(bench_, readout.message);
  SendAll(nullptr);
  t_ns_ += PeriodNs(MessageAt(bench_, message));
  SendAll(&message);
  display_.Advance(t_ns_);
  return ShownNow(readout);
}

std::vector<std::optional<Shown>> StandinScreen::LookAtEach(const std::vector<Wanted>& wanted) {
  for (const Wanted& one : wanted) Approach(*one.readout);
  return Screen::LookAtEach(wanted);
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

std::optional<Screen::Started> StandinScreen::WatchStart(const profile::Readout& readout,
                                                         double most_s) {
  const profile::MessageRef message = profile::FindMessage(bench_, readout.message);
  Started started;
  t_ns_ += FromSeconds(most_s);  // what came before is long ago
  const TimeNs begin_ns = t_ns_;
  display_.Reset();
  for (TimeNs passed_ns = 0; passed_ns <= FromSeconds(most_s); passed_ns += kStepNs) {
    t_ns_ = begin_ns + passed_ns;
    display_.Advance(t_ns_);
    SendOne(message);
    const Shown shown = ShownNow(readout);
    if (HasValue(shown) && !started.stands_after_s) {
      started.stands_after_s = ToSeconds(passed_ns);
      started.first = {shown.page, shown.text, shown.unit, shown.state, ""};
    }
    if (!shown.lamp.empty() && shown.state != "warning") {
      started.lit_until_s = ToSeconds(passed_ns + kStepNs);
    }
  }
  return started;
}

std::optional<double> StandinScreen::OffAfterS(const profile::Readout& readout, double most_s) {
  const TimeNs begin_ns = t_ns_;
  for (TimeNs passed_ns = 0; passed_ns <= FromSeconds(most_s); passed_ns += kStepNs) {
    t_ns_ = begin_ns + passed_ns;
    if (passed_ns % kOthersNs == 0) SendAll(nullptr);
    display_.Advance(t_ns_);
    if (ShownNow(readout).state == "off") return ToSeconds(passed_ns);
  }
  return std::nullopt;
}

std::vector<Shown> StandinScreen::LookAtAll() {
  double longest_ms = 0;
  for (const profile::Gauge& gauge : bench_.display->gauges) {
    longest_ms = std::max(longest_ms, gauge.stale_ms);
  }
  const profile::Switching& set = bench_.display->switching;
  if (!set.key.empty()) {  // off, it goes dark
    SendAll(nullptr);
    longest_ms = std::max(longest_ms, set.off_after_ms);
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
  standin::GaugeLook look = display_.Look(gauge);
  if (look.blinks_hz > 0) look.lamp += fmt::format("{} {:g} Hz", kBlinks, look.blinks_hz);
  return {look.page, look.text, look.unit,
          profile::StateNamesOf(".state").at(static_cast<int>(look.state)), look.lamp};
}

Shown StandinScreen::ShownNow(const profile::Readout& readout) const {
  const int gauge = profile::IndexOf(bench_.display->gauges, readout.name);
  if (gauge < 0) return {.state = "absent"};
  if (!seen_by_echo_) return SeenAt(gauge);
  const auto as_sent = [&](const profile::SignalRef& at) -> std::optional<double> {
    const profile::Message& message = MessageAt(bench_, {at.bus, at.message});
    std::vector<double> values(message.signals.size(), 0);
    SelectFor(SignalAt(bench_, at), message, values);
    Nth(values, at.signal) = display_.Value(display_.ValueIndex(SignalAt(bench_, at).carries));
    return bus::Decode(message, at.signal, bus::Encode(message, values, 0));
  };
  return ShownOf(bench_, EchoOf(bench_, readout.name), as_sent).value_or(Shown{});
}

}  // namespace drycrank::sweep
