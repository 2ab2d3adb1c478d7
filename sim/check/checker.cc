// SPDX-License-Identifier: Apache-2.0
#include "check/checker.h"

#include <algorithm>
#include <unordered_map>
#include <unordered_set>

#include "bus/layout.h"
#include "check/judge.h"
#include "check/overhear.h"
#include "check/text.h"

namespace drycrank::check {
namespace {

using profile::ExpectationKind;

// When an expectation is judged; see judge.h.
class JudgedTime {
 public:
  JudgedTime(const profile::Scenario& scenario, const profile::Expectation& expectation)
      : settle_ns_(FromSeconds(expectation.settle_s)) {
    for (const profile::Step& step : scenario.steps) {
      named_.push_back(expectation.during.empty() ||
                       std::ranges::count(expectation.during, step.name) > 0);
    }
  }

  void OnStep(std::size_t step, TimeNs t_ns, Judge& judge) {
    judge.OnStep();
    const bool goes_on = on_ && named_[step] && settle_ns_ == 0;
    if (goes_on) return;
    End(t_ns, judge);
    on_ = named_[step];
    settled_ns_ = t_ns + settle_ns_;
    if (on_) judge.Begin(t_ns);
  }
  bool IsOpen(TimeNs t_ns, Judge& judge) {
    if (on_ && !open_ && t_ns > settled_ns_) {
      open_ = true;
      judge.Open(settled_ns_);
    }
    return open_;
  }
  void End(TimeNs t_ns, Judge& judge) {
    if (IsOpen(t_ns, judge)) judge.Close(t_ns);
    on_ = open_ = false;
  }

 private:
  std::vector<bool> named_;  // by step
  TimeNs settle_ns_;
  bool on_ = false, open_ = false;
  TimeNs settled_ns_ = 0;
};

struct Seat {
  JudgedTime time;
  std::unique_ptr<Judge> judge;
};

struct Listener {
  std::size_t seat = 0;
  profile::MessageRef message;
};

std::uint64_t KeyOf(int bus, std::uint32_t id, bool extended) {
  return (static_cast<std::uint64_t>(bus) << 33) | (static_cast<std::uint64_t>(extended) << 32) |
         id;
}

}  // namespace

const char* Name(Outcome outcome) {
  switch (outcome) {
    case Outcome::kMet:
      return "met";
    case Outcome::kFailed:
      return "failed";
    case Outcome::kNotObserved:
      return "not observed";
  }
  return "";
}

std::unique_ptr<Judge> MakeJudge(const Subject& subject) {
  switch (subject.expectation.kind) {
    case ExpectationKind::kFollows:
      return MakeFollows(subject);
    case ExpectationKind::kAlways:
    case ExpectationKind::kNever:
      return MakeAlwaysOrNever(subject);
    case ExpectationKind::kForAtLeast:
      return MakeForAtLeast(subject);
    case ExpectationKind::kWithin:
    case ExpectationKind::kSynchronised:
      return MakeComesTrue(subject);
    case ExpectationKind::kMessagePresent:
      return MakeMessagePresent(subject);
    case ExpectationKind::kCounter:
    case ExpectationKind::kChecksum:
      return MakeIntegrity(subject);
    case ExpectationKind::kDisplayShows:
      return MakeDisplayShows(subject);
    case ExpectationKind::kOnlyKnownMessages:
    case ExpectationKind::kNoErrorFrames:
      return MakeCleanBus(subject);
    case ExpectationKind::kControllerReads:
      return MakeControllerReads(subject);
    case ExpectationKind::kTroubleCode:
    case ExpectationKind::kNoTroubleCodes:
      return MakeTroubles(subject);
  }
  return nullptr;
}

struct Checker::Impl {
  Impl(const profile::Bench& bench_in, const profile::Scenario& scenario_in,
       const scenario::Timeline& timeline)
      : bench(bench_in), scenario(scenario_in) {
    for (const profile::Expectation& expectation : scenario.expectations) {
      seats.push_back(
          {JudgedTime(scenario, expectation), MakeJudge({bench, expectation, timeline})});
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
        known.insert(KeyOf(static_cast<int>(b), message.id, message.extended));
      }
    }
    for (const Identifier& talk : TalkOf(bench)) {
      known.insert(KeyOf(talk.bus, talk.id, talk.extended));
    }
  }

  const profile::Bench& bench;
  const profile::Scenario& scenario;
  std::vector<Seat> seats;             // one per expectation
  std::vector<std::size_t> bus_seats;  // those that are shown a whole bus
  std::unordered_map<std::uint64_t, std::vector<Listener>> listeners;
  std::unordered_set<std::uint64_t> known;  // keys of all messages, and the tester's
  std::vector<Verdict> verdicts;
};

Checker::Checker(const profile::Bench& bench, const profile::Scenario& scenario,
                 const scenario::Timeline& timeline)
    : impl_(std::make_unique<Impl>(bench, scenario, timeline)) {}

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
  const auto found = impl_->listeners.find(KeyOf(frame.bus, frame.frame.id, frame.frame.extended));
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

void Checker::Finish(TimeNs t_ns) {
  impl_->verdicts.clear();
  for (std::size_t i = 0; i < impl_->seats.size(); ++i) {
    Seat& seat = impl_->seats[i];
    seat.time.End(t_ns, *seat.judge);
    Verdict verdict = seat.judge->Judgement();
    verdict.expectation = static_cast<int>(i);
    impl_->verdicts.push_back(std::move(verdict));
  }
}

const std::vector<Verdict>& Checker::verdicts() const { return impl_->verdicts; }

std::vector<CircuitCoverage> Checker::coverage() const {
  return CoverageOf(impl_->bench, impl_->scenario, impl_->verdicts);
}

bool Checker::AllMet() const {
  return impl_->verdicts.size() == impl_->seats.size() &&
         std::ranges::all_of(impl_->verdicts,
                             [](const Verdict& v) { return v.outcome == Outcome::kMet; });
}

}  // namespace drycrank::check
