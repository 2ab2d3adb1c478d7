// SPDX-License-Identifier: Apache-2.0
#include "tools/echo_screen.h"

#include <algorithm>
#include <cmath>

#include "bus/layout.h"
#include "tools/commands.h"
#include "types/nth.h"

namespace drycrank::tools {
namespace {

constexpr double kEventPeriodMs = 20;
constexpr std::uint64_t kTimesTold = 2;      // since the value was sent
constexpr TimeNs kPatienceNs = 2 * kNsPerS;  // and five periods of what tells it
constexpr int kPatiencePeriods = 5;
constexpr TimeNs kArrivesNs = kNsPerS;  // ours, no source

TimeNs PeriodNs(const profile::Message& message) {
  return FromMs(message.period_ms > 0 ? message.period_ms : kEventPeriodMs);
}

}  // namespace

EchoScreen::EchoScreen(const profile::Bench& bench, std::vector<bus::CanBus*> buses, Clock& clock)
    : bench_(bench),
      buses_(std::move(buses)),
      clock_(clock),
      sent_(bench),
      due_ns_(sent_.messages().size(), 0),
      sent_ns_(sent_.messages().size(), -1) {}

void EchoScreen::Send(const profile::SignalRef& signal, double physical) {
  sent_.Set(signal, physical);
}

void EchoScreen::Silence(const profile::MessageRef& message, bool silent) {
  sent_.Silence(message, silent);
}

void EchoScreen::LetArrive() {
  const TimeNs until_ns = clock_.Now() + kArrivesNs;
  while (!StopAsked() && clock_.Now() < until_ns) Play(until_ns);
}

void EchoScreen::SendNow(std::size_t index) {
  const profile::MessageRef& ref = sent_.messages()[index];
  bus::CanBus* bus = Nth(buses_, ref.bus);
  sent_ns_[index] = clock_.Now();  // before: the display cannot have had it sooner
  for (const bus::Frame& frame : sent_.FramesOf(ref)) {
    if (bus != nullptr && !bus->Send(frame)) ++refused_;
  }
  due_ns_[index] = sent_ns_[index] + PeriodNs(MessageAt(bench_, ref));
}

void EchoScreen::SendDue() {
  for (std::size_t i = 0; i < due_ns_.size(); ++i) {
    if (!sent_.IsSilent(sent_.messages()[i]) && due_ns_[i] <= clock_.Now()) SendNow(i);
  }
}

void EchoScreen::Receive() {
  for (std::size_t b = 0; b < buses_.size(); ++b) {
    while (auto timed = buses_[b] == nullptr ? std::nullopt : buses_[b]->Receive()) {
      const auto& messages = bench_.buses[b].messages;
      for (std::size_t m = 0; m < messages.size(); ++m) {
        if (messages[m].sender != profile::Sender::kDisplay) continue;
        if (!bus::Matches(messages[m], timed->frame)) continue;
        Heard& heard = heard_[{static_cast<int>(b), static_cast<int>(m)}];
        ++heard.count;
        heard.last_ns = last_heard_ns_ = clock_.Now();
        heard.frame = timed->frame;
      }
    }
    while (buses_[b] != nullptr && buses_[b]->NextEvent()) {
    }
  }
}

void EchoScreen::Play(TimeNs until_ns, int descriptor) {
  std::vector<int> descriptors;
  for (const bus::CanBus* bus : buses_) descriptors.push_back(bus ? bus->FileDescriptor() : -1);
  descriptors.push_back(descriptor);
  SendDue();
  TimeNs next_ns = until_ns;
  for (std::size_t i = 0; i < due_ns_.size(); ++i) {
    if (!sent_.IsSilent(sent_.messages()[i])) next_ns = std::min(next_ns, due_ns_[i]);
  }
  clock_.WaitUntil(next_ns, descriptors);
  Receive();
}

std::vector<EchoScreen::Key> EchoScreen::TellersOf(const sweep::Echo& echo) const {
  std::vector<Key> tellers;
  for (const auto& at : {echo.shown, echo.state, echo.unit, echo.page, echo.lamp}) {
    if (at) tellers.push_back({at->bus, at->message});
  }
  std::sort(tellers.begin(), tellers.end());
  tellers.erase(std::unique(tellers.begin(), tellers.end()), tellers.end());
  return tellers;
}

std::optional<sweep::Shown> EchoScreen::Told(const sweep::Echo& echo) const {
  return sweep::ShownOf(bench_, echo, [&](const profile::SignalRef& at) -> std::optional<double> {
    const auto heard = heard_.find({at.bus, at.message});
    if (heard == heard_.end()) return std::nullopt;
    return bus::Decode(MessageAt(bench_, {at.bus, at.message}), at.signal, heard->second.frame);
  });
}

std::optional<sweep::Shown> EchoScreen::Look(const profile::Readout& readout) {
  Receive();  // what was told before does not count
  const sweep::Echo echo = sweep::EchoOf(bench_, readout.name);
  const std::vector<Key> tellers = TellersOf(echo);
  const profile::MessageRef message = profile::FindMessage(bench_, readout.message);
  for (std::size_t i = 0; i < sent_.messages().size(); ++i) {
    const profile::MessageRef& ref = sent_.messages()[i];
    const bool is_it = ref.bus == message.bus && ref.message == message.message;
    if (is_it && !sent_.IsSilent(ref)) SendNow(i);
  }
  std::map<Key, std::uint64_t> before;
  TimeNs most_ns = clock_.Now() + kPatienceNs;
  for (const Key& key : tellers) {
    before[key] = heard_[key].count;
    const TimeNs period_ns = PeriodNs(MessageAt(bench_, {key.first, key.second}));
    most_ns = std::max(most_ns, clock_.Now() + kPatiencePeriods * period_ns);
  }
  while (!StopAsked() && clock_.Now() < most_ns) {
    const bool told = std::all_of(tellers.begin(), tellers.end(), [&](const Key& key) {
      return heard_[key].count >= before[key] + kTimesTold;
    });
    if (told && !tellers.empty()) return Told(echo);
    Play(most_ns);
  }
  return std::nullopt;
}

std::optional<double> EchoScreen::GoneAfterS(const profile::Readout& readout, double most_s) {
  const sweep::Echo echo = sweep::EchoOf(bench_, readout.name);
  const profile::MessageRef message = profile::FindMessage(bench_, readout.message);
  TimeNs begin_ns = clock_.Now();
  for (std::size_t i = 0; i < sent_.messages().size(); ++i) {
    const profile::MessageRef& ref = sent_.messages()[i];
    if (ref.bus == message.bus && ref.message == message.message) begin_ns = sent_ns_[i];
  }
  const TimeNs most_ns = begin_ns + FromSeconds(most_s);
  while (!StopAsked() && clock_.Now() < most_ns) {
    Play(most_ns);
    const auto shown = Told(echo);
    if (!shown || shown->state != "stale") continue;
    const double after_s = ToSeconds(clock_.Now() - begin_ns);
    return std::floor(after_s / sweep::kEchoGrainS) * sweep::kEchoGrainS;
  }
  return std::nullopt;
}

}  // namespace drycrank::tools
