// SPDX-License-Identifier: Apache-2.0
#include "tools/echo_screen.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

#include "bus/layout.h"
#include "sweep/gone_again.h"
#include "sweep/sent_range.h"
#include "tools/commands.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::tools {
namespace {

constexpr double kEventPeriodMs = 20;
constexpr std::uint64_t kTimesTold = 2;      // since the value was sent
constexpr TimeNs kPatienceNs = 2 * kNsPerS;  // and five periods of what tells it
constexpr int kPatiencePeriods = 5;
constexpr double kDisplayCycleS = 0.02;  // it looks at its clock that often; ours, no source
constexpr double kFloatGrains = 10;  // of a digit, as a sweep sends a float
constexpr TimeNs kArrivesNs = kNsPerS;  // ours, no source

TimeNs PeriodNs(const profile::Message& message) {
  return FromMs(message.period_ms > 0 ? message.period_ms : kEventPeriodMs);
}

// How many layouts it has: each may come one period after the other.
std::int64_t LayoutsOf(const profile::Message& message) {
  std::set<std::int64_t> values;
  for (const profile::Signal& signal : message.signals) {
    if (signal.multiplex == profile::Multiplex::kSelected) values.insert(signal.multiplex_value);
  }
  return std::max<std::int64_t>(1, std::ssize(values));
}

}  // namespace

EchoScreen::EchoScreen(const profile::Bench& bench, std::vector<bus::CanBus*> buses, Clock& clock)
    : bench_(bench),
      buses_(std::move(buses)),
      clock_(clock),
      sent_(bench),
      due_ns_(sent_.messages().size(), 0),
      sent_ns_(sent_.messages().size(), -1) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const auto& messages = bench.buses[b].messages;
    for (std::size_t m = 0; m < messages.size(); ++m) {
      if (messages[m].sender != profile::Sender::kDisplay || Nth(buses_, b) == nullptr) continue;
      for (std::size_t s = 0; s < messages[m].signals.size(); ++s) {
        all_tellers_.push_back({static_cast<int>(b), static_cast<int>(m), static_cast<int>(s)});
      }
    }
  }
}

void EchoScreen::Send(const profile::SignalRef& signal, double physical) {
  const double moved = std::abs(physical - sent_.Value(signal));
  const profile::Signal& of = SignalAt(bench_, signal);
  way_[{signal.bus, signal.message, signal.signal}] +=
      std::isfinite(moved) ? moved : std::ldexp(std::abs(of.scale), of.length_bits);
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
    if (bus == nullptr || bus->Send(frame)) continue;
    if (refused_++ == 0) refused_ns_ = sent_ns_[index];
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
        if (bus::Matches(messages[m], timed->frame)) {
          Hear({static_cast<int>(b), static_cast<int>(m)}, timed->frame);
        }
      }
    }
    while (buses_[b] != nullptr && buses_[b]->NextEvent()) {
    }
  }
}

void EchoScreen::Hear(const profile::MessageRef& ref, const bus::Frame& frame) {
  const profile::Message& message = MessageAt(bench_, ref);
  last_heard_ns_ = clock_.Now();
  for (int s = 0; s < static_cast<int>(message.signals.size()); ++s) {
    const bool is_in = bus::Decode(message, s, frame) || bus::SaysNotAvailable(message, s, frame);
    if (!is_in) continue;
    Heard& heard = heard_[{ref.bus, ref.message, s}];
    ++heard.count;
    heard.last_ns = last_heard_ns_;
    heard.frame = frame;
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

std::vector<EchoScreen::Key> EchoScreen::TellersOf(const sweep::Echo& echo) {
  std::vector<Key> tellers;
  for (const auto& at : {echo.shown, echo.state, echo.unit, echo.page, echo.lamp}) {
    if (at) tellers.push_back({at->bus, at->message, at->signal});
  }
  return tellers;
}

std::optional<double> EchoScreen::ToldBy(const profile::SignalRef& at) const {
  const auto heard = heard_.find({at.bus, at.message, at.signal});
  if (heard == heard_.end()) return std::nullopt;
  return bus::Decode(MessageAt(bench_, {at.bus, at.message}), at.signal, heard->second.frame);
}

std::optional<sweep::Shown> EchoScreen::Told(const sweep::Echo& echo) const {
  return sweep::ShownOf(bench_, echo, [&](const profile::SignalRef& at) { return ToldBy(at); });
}

// What did not come as often as it was wanted, or was told as no value.
void EchoScreen::KeepGone(const sweep::Echo& echo, const Counts& wanted, Gone& gone) const {
  sweep::Echo told = echo;
  for (auto* at : {&told.shown, &told.state, &told.unit, &told.page, &told.lamp}) {
    if (!*at) continue;
    const Key key{(*at)->bus, (*at)->message, (*at)->signal};
    const Heard& heard = heard_.at(key);
    const bool came = heard.count >= wanted.at(key);
    if (came && ToldBy(**at)) continue;
    if (!came) gone.last_ns = std::max(gone.last_ns, heard.last_ns);
    at->reset();
  }
  gone.parts = sweep::PartsGone(echo, told);
}

EchoScreen::Gone EchoScreen::GoneOf(const std::string& readout) const {
  const auto gone = gone_.find(readout);
  return gone == gone_.end() ? Gone{} : gone->second;
}

// At once, unless it is silenced.
void EchoScreen::SendIt(const profile::MessageRef& message) {
  for (std::size_t i = 0; i < sent_.messages().size(); ++i) {
    const profile::MessageRef& ref = sent_.messages()[i];
    const bool is_it = ref.bus == message.bus && ref.message == message.message;
    if (is_it && !sent_.IsSilent(ref)) SendNow(i);
  }
}

bool EchoScreen::Came(const Counts& counts) {
  return std::all_of(counts.begin(), counts.end(),
                     [&](const auto& at) { return heard_[at.first].count >= at.second; });
}

EchoScreen::Counts EchoScreen::CountsOf(const std::vector<Key>& tellers, std::uint64_t more) {
  Counts counts;
  for (const Key& key : tellers) counts[key] = heard_[key].count + more;
  return counts;
}

TimeNs EchoScreen::PatienceNs(const std::vector<Key>& tellers) const {
  TimeNs most_ns = kPatienceNs;
  for (const Key& key : tellers) {
    const profile::Message& message = MessageAt(bench_, {key[0], key[1]});
    most_ns = std::max(most_ns, kPatiencePeriods * LayoutsOf(message) * PeriodNs(message));
  }
  return most_ns;
}

sweep::Settling::Way EchoScreen::WayOf(const profile::Readout& readout) {
  const auto at = profile::FindSignal(bench_, readout.message + "." + readout.signal);
  const profile::Signal& signal = SignalAt(bench_, at);
  const double digit = std::pow(10.0, -readout.decimals), step = std::abs(signal.scale);
  const double told = readout.bar ? sweep::SegmentOf(*readout.bar) : digit;
  const double in_signal = ConvertDifference(told, readout.unit, signal.unit).value_or(told);
  sweep::Settling::Way way;
  way.digit = digit;
  way.finest = step > 0 ? std::max(1.0, in_signal / step) : 1;
  way.arrives_ns = PeriodNs(MessageAt(bench_, {at.bus, at.message}));
  const double grain = signal.is_float || step <= 0 ? in_signal / kFloatGrains
                                                    : std::min(step, in_signal);
  const double now = way_[{at.bus, at.message, at.signal}];
  double& before = looked_at_.try_emplace(readout.name, std::nan("")).first->second;
  const double steps = std::abs(now - std::exchange(before, now)) / grain;
  way.steps = std::isnan(steps) ? std::ldexp(1, signal.length_bits) : steps;
  return way;
}

EchoScreen::Looking EchoScreen::BeginLook(const Wanted& what) {
  const std::string& name = what.readout->name;
  Looking look{what, sweep::EchoOf(bench_, name), &settling_[name], {}, 0, clock_.Now(), false, {}};
  const std::vector<Key> tellers = TellersOf(look.echo);
  look.has_ended = tellers.empty();
  look.settling->Sent(look.came_ns, WayOf(*what.readout));
  look.patience_ns = PatienceNs(tellers);
  look.wanted = CountsOf(tellers, kTimesTold);
  Gone& gone = gone_[name];
  if (gone.swept_ns < 0 && !what.is_trial) gone.swept_ns = look.came_ns;
  return look;
}

void EchoScreen::SeeWhatCame(Looking& look) {
  const TimeNs now_ns = clock_.Now();
  look.has_ended = look.has_ended || now_ns >= look.came_ns + look.patience_ns;
  const auto told = look.has_ended ? std::nullopt : Told(look.echo);
  if (!told) return;
  const bool came = Came(look.wanted);
  sweep::Settling& settling = *look.settling;
  if (settling.Told(now_ns, *told)) {
    for (auto& [key, count] : look.wanted) count = std::max(count, heard_[key].count + 1);
  } else if (came && (settling.Stands(now_ns) ||
                      (settling.is_known() && look.what.warns == (told->state == "warning")))) {
    look.seen = told;
    look.has_ended = true;
  } else if (came) {
    for (auto& [key, count] : look.wanted) count = heard_[key].count + 1;
    look.came_ns = now_ns;
  }
}

std::vector<std::optional<sweep::Shown>> EchoScreen::LookAtEach(const std::vector<Wanted>& wanted) {
  Receive();  // what was told before does not count
  std::set<std::pair<int, int>> sent;
  for (const Wanted& one : wanted) {
    const auto message = profile::FindMessage(bench_, one.readout->message);
    if (sent.emplace(message.bus, message.message).second) SendIt(message);
  }
  std::vector<Looking> looks;
  for (const Wanted& one : wanted) looks.push_back(BeginLook(one));
  while (!StopAsked() && refused_ == 0) {
    TimeNs until_ns = std::numeric_limits<TimeNs>::max();
    for (Looking& look : looks) {
      if (!look.has_ended) SeeWhatCame(look);
      if (!look.has_ended) until_ns = std::min(until_ns, look.came_ns + look.patience_ns);
    }
    if (until_ns == std::numeric_limits<TimeNs>::max()) break;
    Play(until_ns);
  }
  std::vector<std::optional<sweep::Shown>> seen;
  for (Looking& look : looks) {
    if (!look.seen) KeepGone(look.echo, look.wanted, gone_[look.what.readout->name]);
    seen.push_back(std::move(look.seen));
  }
  return seen;
}

bool EchoScreen::IsSmoothed(const profile::Readout& readout) const {
  const auto settling = settling_.find(readout.name);
  return settling != settling_.end() && settling->second.is_smoothed();
}

// What came while it was looked at may have been its last word.
bool EchoScreen::IsSilent() {
  const TimeNs heard_ns = last_heard_ns_,
               until_ns = std::max<TimeNs>(heard_ns, 0) + PatienceNs(all_tellers_);
  Receive();
  while (!StopAsked() && refused_ == 0 && last_heard_ns_ == heard_ns && clock_.Now() < until_ns) {
    Play(until_ns);
  }
  return StopAsked() || refused_ > 0 || last_heard_ns_ == heard_ns;
}

std::vector<std::string> EchoScreen::Unsteady() const {
  std::vector<std::string> names;
  for (const auto& [name, settling] : settling_) {
    if (settling.is_unsteady()) names.push_back(name);
  }
  return names;
}

std::vector<std::string> EchoScreen::Smoothed() const {
  std::vector<std::string> names;
  for (const auto& [name, settling] : settling_) {
    if (settling.is_smoothed()) names.push_back(name);
  }
  return names;
}

// Between the last time that it was told to stand there and the first that it was not, nobody
// knows: what must be is taken where it lies between them, and else the nicest number.
double EchoScreen::GoneS(double stood_s, double gone_s, double must_s) {
  const bool may_be = must_s > stood_s - kDisplayCycleS && must_s <= gone_s;
  const double s =
      may_be ? must_s : sweep::NicestIn(stood_s, std::max(gone_s, stood_s + 1e-6), true);
  return std::floor(s / sweep::kEchoGrainS + 1e-9) * sweep::kEchoGrainS;
}

std::optional<double> EchoScreen::GoneAfterS(const profile::Readout& readout, double most_s) {
  const auto again = [&] {
    const auto message = profile::FindMessage(bench_, readout.message);
    Silence(message, false);
    const bool stands = Look(readout).has_value();
    Silence(message, true);
    return stands && !StopAsked();
  };
  return sweep::GoneMeasured(
      readout.dashes_after_ms * 1e-3, [&] { return GoneOnceAfterS(readout, most_s); }, again);
}

std::optional<double> EchoScreen::GoneOnceAfterS(const profile::Readout& readout, double most_s) {
  const sweep::Echo echo = sweep::EchoOf(bench_, readout.name);
  const profile::MessageRef message = profile::FindMessage(bench_, readout.message);
  TimeNs begin_ns = clock_.Now();
  for (std::size_t i = 0; i < sent_.messages().size(); ++i) {
    const profile::MessageRef& ref = sent_.messages()[i];
    if (ref.bus == message.bus && ref.message == message.message) begin_ns = sent_ns_[i];
  }
  const TimeNs most_ns = begin_ns + FromSeconds(most_s);
  TimeNs stood_ns = begin_ns;
  while (!StopAsked() && clock_.Now() < most_ns) {
    Play(most_ns);
    const auto shown = Told(echo);
    if (!shown || !echo.state) continue;
    const auto& by = *echo.state;
    const TimeNs told_ns = heard_[{by.bus, by.message, by.signal}].last_ns;
    if (shown->state == "stale") {
      return GoneS(ToSeconds(stood_ns - begin_ns), ToSeconds(told_ns - begin_ns),
                   readout.dashes_after_ms * 1e-3);
    }
    stood_ns = std::max(stood_ns, told_ns);
  }
  return std::nullopt;
}

}  // namespace drycrank::tools
