// SPDX-License-Identifier: Apache-2.0
#include "check/checker.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <unordered_map>
#include <unordered_set>

#include "bus/layout.h"
#include "check/judge.h"
#include "check/judged_time.h"
#include "check/overhear.h"
#include "check/silence.h"
#include "check/value_words.h"
#include "types/nth.h"

namespace drycrank::check {
namespace {

struct Seat {
  JudgedTime time;
  std::unique_ptr<Judge> judge;
  std::vector<int> buses;  // that must be observable
  TimeNs patience_ns = 0;  // after so long a time observed, silence is silence

  bool DependsOn(int bus) const { return std::ranges::count(buses, bus) > 0; }
};

// REQUIRES: not of a kind that is witnessed
Seat SeatOf(const Subject& subject, const profile::Scenario& scenario,
            const profile::Expectation& expectation, Silence silence) {
  const auto make = [&](const auto& kind) { return MakeJudge(subject, kind); };
  Seat seat{JudgedTime(scenario, expectation), std::visit(make, expectation.kind), {}, 0};
  assert(seat.judge != nullptr);
  if (silence == Silence::kMeetsNothing && seat.judge->NeedsReports()) {
    seat.judge = WatchedForSilence(subject.bench, std::move(seat.judge));
  }
  seat.buses = seat.judge->OtherBuses();
  if (seat.judge->Bus() >= 0) seat.buses.push_back(seat.judge->Bus());
  for (const Identifier& other : seat.judge->Identifiers()) seat.buses.push_back(other.bus);
  if (seat.judge->Messages().empty()) seat.patience_ns = kNever;
  for (const profile::MessageRef& ref : seat.judge->Messages()) {
    seat.buses.push_back(ref.bus);
    const TimeNs period_ns = FromMs(MessageAt(subject.bench, ref).period_ms);
    seat.patience_ns = period_ns == 0 ? kNever : std::max(seat.patience_ns, 3 * period_ns);
  }
  return seat;
}

TimeNs ShortestPeriodNs(const profile::Bench& bench) {
  TimeNs shortest_ns = 0;
  for (const profile::Bus& bus : bench.buses) {
    for (const profile::Message& message : bus.messages) {
      const TimeNs period_ns = FromMs(message.period_ms);
      if (message.sender != profile::Sender::kController || period_ns == 0) continue;
      if (shortest_ns == 0 || period_ns < shortest_ns) shortest_ns = period_ns;
    }
  }
  return shortest_ns;
}

// The stretches that were left out, at the end of what a verdict says.
std::string StretchesInWords(const Verdict& verdict) {
  std::string text = "; not observable";
  for (std::size_t i = 0; i < verdict.stretches.size(); ++i) {
    text += (i == 0 ? " " : ", ") + StretchInWords(verdict.stretches[i]);
  }
  if (verdict.stretch_count > verdict.stretches.size()) {
    text += fmt::format(", and {} more times", verdict.stretch_count - verdict.stretches.size());
  }
  return text;
}

struct Listener {
  std::size_t seat = 0;
  profile::MessageRef message;
};

std::uint64_t KeyOf(int bus, std::uint32_t id, bool extended) {
  return (static_cast<std::uint64_t>(bus) << 33) | (static_cast<std::uint64_t>(extended) << 32) |
         id;
}

}  // namespace

std::string StretchInWords(const Stretch& stretch) {
  const std::string cause = fmt::format("(bus {}: {})", stretch.bus, stretch.why);
  if (stretch.begin_ns == stretch.end_ns) {
    return fmt::format("at {:.3f} s {}", ToSeconds(stretch.begin_ns), cause);
  }
  return fmt::format("from {:.3f} s to {:.3f} s {}", ToSeconds(stretch.begin_ns),
                     ToSeconds(stretch.end_ns), cause);
}

JudgePtr MakeJudge(const Subject& /*subject*/, const expect::Witnessed& /*kind*/) {
  return nullptr;
}

struct Checker::Impl {
  Impl(const profile::Bench& bench_in, const profile::Scenario& scenario_in,
       const scenario::Timeline& timeline, Silence silence)
      : bench(bench_in), scenario(scenario_in) {
    for (const profile::Expectation& expectation : scenario.expectations) {
      const profile::Condition* when = expectation.when ? &*expectation.when : nullptr;
      seats.push_back(SeatOf({bench, timeline, crank, when}, scenario, expectation, silence));
      if (seats.back().judge->WatchesTriggers()) edge_seats.push_back(seats.size() - 1);
      if (seats.back().judge->WatchesOutputs()) output_seats.push_back(seats.size() - 1);
      for (const profile::MessageRef& ref : seats.back().judge->Messages()) {
        const profile::Message& message = MessageAt(bench, ref);
        listeners[KeyOf(ref.bus, message.id, message.extended)].push_back({seats.size() - 1, ref});
      }
      for (const Identifier& other : seats.back().judge->Identifiers()) {
        listeners[KeyOf(other.bus, other.id, other.extended)].push_back(
            {seats.size() - 1, {other.bus, -1}});
      }
      if (seats.back().judge->Bus() >= 0) bus_seats.push_back(seats.size() - 1);
    }
    for (std::size_t b = 0; b < bench.buses.size(); ++b) {
      for (const profile::Message& message : bench.buses[b].messages) {
        const std::uint64_t key = KeyOf(static_cast<int>(b), message.id, message.extended);
        known.insert(key);
        if (message.sender == profile::Sender::kController) controllers.insert(key);
      }
    }
    for (const Identifier& talk : TalkOf(bench)) {
      known.insert(KeyOf(talk.bus, talk.id, talk.extended));
    }
  }

  const profile::Bench& bench;
  const profile::Scenario& scenario;
  std::vector<Seat> seats;  // one per expectation
  Crank crank;
  std::vector<std::size_t> bus_seats;  // those that are shown a whole bus
  std::vector<std::size_t> edge_seats, output_seats;
  std::unordered_map<std::uint64_t, std::vector<Listener>> listeners;
  std::unordered_set<std::uint64_t> known;  // keys of all messages, and the tester's
  std::unordered_set<std::uint64_t> controllers;
  Quiet quiet{ShortestPeriodNs(bench)};
  std::vector<Verdict> verdicts;
};

Checker::Checker(const profile::Bench& bench, const profile::Scenario& scenario,
                 const scenario::Timeline& timeline, Silence silence)
    : impl_(std::make_unique<Impl>(bench, scenario, timeline, silence)) {}

Checker::~Checker() = default;

void Checker::OnStep(std::size_t step, TimeNs t_ns) {
  for (Seat& seat : impl_->seats) seat.time.OnStep(step, t_ns, *seat.judge);
}

void Checker::ShowBus(const bus::TimedFrame& frame) {
  for (const std::size_t at : impl_->bus_seats) {
    Seat& seat = impl_->seats[at];
    if (seat.judge->Bus() != frame.bus || !seat.time.IsOpen(frame.t_ns, *seat.judge)) continue;
    const auto key = KeyOf(frame.bus, frame.frame.id, frame.frame.extended);
    seat.judge->OnBusFrame(frame, impl_->known.contains(key));
  }
}

void Checker::OnFrame(const bus::TimedFrame& frame) {
  if (!impl_->bus_seats.empty()) ShowBus(frame);
  if (frame.frame.error || frame.frame.remote) return;
  const std::uint64_t key = KeyOf(frame.bus, frame.frame.id, frame.frame.extended);
  if (impl_->controllers.contains(key)) impl_->quiet.OnFrame(frame.t_ns);
  const auto found = impl_->listeners.find(key);
  if (found == impl_->listeners.end()) return;
  for (const Listener& listener : found->second) {
    Seat& seat = impl_->seats[listener.seat];
    if (!seat.time.IsOpen(frame.t_ns, *seat.judge)) continue;
    const bool is_message = listener.message.message >= 0;
    if (is_message && !bus::Matches(MessageAt(impl_->bench, listener.message), frame.frame))
      continue;
    seat.judge->OnFrame(listener.message, frame);
  }
}

void Checker::OnMotion(const CrankMotion& motion) { impl_->crank.OnMotion(motion); }

void Checker::OnEdge(const Edge& edge) {
  for (const std::size_t at : impl_->edge_seats) {
    Seat& seat = impl_->seats[at];
    seat.judge->OnEdge(edge, seat.time.IsOpen(edge.t_ns, *seat.judge));
  }
}

void Checker::OnOutput(const OutputEvent& event) {
  for (const std::size_t at : impl_->output_seats) {
    Seat& seat = impl_->seats[at];
    seat.judge->OnOutput(event, seat.time.IsOpen(event.t_ns, *seat.judge));
  }
}

bool Checker::WatchesEvents() const {
  return !impl_->edge_seats.empty() || !impl_->output_seats.empty();
}

void Checker::OnUnobservable(int bus, TimeNs t_ns, const std::string& why) {
  const std::string& name = Nth(impl_->bench.buses, bus).name;
  for (Seat& seat : impl_->seats) {
    if (seat.DependsOn(bus)) seat.time.Lose(t_ns, name, why, *seat.judge);
  }
}

void Checker::OnObservable(int bus, TimeNs t_ns) {
  for (Seat& seat : impl_->seats) {
    if (seat.DependsOn(bus)) seat.time.Regain(t_ns);
  }
}

void Checker::Finish(TimeNs t_ns) {
  impl_->quiet.Finish(t_ns);
  impl_->verdicts.clear();
  for (std::size_t i = 0; i < impl_->seats.size(); ++i) {
    Seat& seat = impl_->seats[i];
    seat.time.End(t_ns, *seat.judge);
    Verdict verdict = seat.judge->Judgement();
    verdict.expectation = static_cast<int>(i);
    verdict.stretches = seat.time.stretches();
    verdict.stretch_count = seat.time.stretch_count();
    if (verdict.stretch_count > 0) {
      const bool too_short = seat.time.longest_open_ns() < seat.patience_ns;
      if (verdict.outcome == Outcome::kNotObserved && too_short) {
        verdict.outcome = Outcome::kNotObservable;
      }
      verdict.detail += StretchesInWords(verdict);
    } else if (verdict.outcome == Outcome::kNotObserved && seat.time.was_too_short()) {
      verdict.outcome = Outcome::kNotObservable;
      verdict.detail = fmt::format("never judged: its steps ended before it had settled, {:g} s",
                                   ToSeconds(seat.time.settle_ns()));
    }
    impl_->verdicts.push_back(std::move(verdict));
  }
}

const std::vector<Verdict>& Checker::verdicts() const { return impl_->verdicts; }

const std::vector<QuietStretch>& Checker::quiet() const { return impl_->quiet.stretches(); }

bool Checker::AllMet() const {
  return impl_->verdicts.size() == impl_->seats.size() &&
         std::ranges::all_of(impl_->verdicts,
                             [](const Verdict& v) { return v.outcome == Outcome::kMet; });
}

}  // namespace drycrank::check
