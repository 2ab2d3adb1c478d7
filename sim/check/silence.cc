// SPDX-License-Identifier: Apache-2.0
#include "check/silence.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "check/value_words.h"

namespace drycrank::check {
namespace {

constexpr double kPeriods = 3, kPeriodsOfAStretch = 1.5;
constexpr TimeNs kLeastNs = 250 * kNsPerMs;

class Watched : public Judge {
 public:
  Watched(const profile::Bench& bench, JudgePtr judge) : judge_(std::move(judge)) {
    for (const profile::MessageRef& ref : judge_->Messages()) {
      const double period_ms = MessageAt(bench, ref).period_ms;
      if (period_ms <= 0) continue;
      heard_.push_back({ref, std::max(kLeastNs, FromMs(kPeriods * period_ms)),
                        FromMs(kPeriodsOfAStretch * period_ms)});
    }
  }

  std::vector<profile::MessageRef> Messages() const override { return judge_->Messages(); }
  int Bus() const override { return judge_->Bus(); }
  void OnBusFrame(const bus::TimedFrame& frame, bool known) override {
    judge_->OnBusFrame(frame, known);
  }
  std::vector<Identifier> Identifiers() const override { return judge_->Identifiers(); }
  std::vector<int> OtherBuses() const override { return judge_->OtherBuses(); }
  void OnStep() override { judge_->OnStep(); }
  void Begin(TimeNs t_ns) override { judge_->Begin(t_ns); }
  void Open(TimeNs settled_ns) override {
    Listen(settled_ns);
    judge_->Open(settled_ns);
  }
  void OnFrame(const profile::MessageRef& message, const bus::TimedFrame& frame) override {
    for (Heard& heard : heard_) {
      if (heard.message.bus != message.bus || heard.message.message != message.message) continue;
      Miss(heard, heard.patience_ns, frame.t_ns);
      heard.last_ns = frame.t_ns;
      heard.since_open = true;
    }
    judge_->OnFrame(message, frame);
  }
  void Close(TimeNs end_ns) override {
    MissAll(end_ns);
    judge_->Close(end_ns);
  }
  void Pause(TimeNs t_ns, bool open) override {
    if (open) MissAll(t_ns);
    judge_->Pause(t_ns, open);
  }
  void Resume(TimeNs settled_ns) override {
    Listen(settled_ns);
    judge_->Resume(settled_ns);
  }
  void Abandon(TimeNs end_ns) override { judge_->Abandon(end_ns); }
  bool NeedsReports() const override { return true; }

  Verdict Judgement() const override {
    Verdict verdict = judge_->Judgement();
    if (verdict.outcome != Outcome::kMet || silent_ns_ == 0) return verdict;
    verdict.outcome = Outcome::kNotObserved;
    verdict.worst_ns = begin_ns_;
    verdict.detail =
        fmt::format("nothing was received from {:.3f} s to {:.3f} s, while this was judged",
                    ToSeconds(begin_ns_), ToSeconds(begin_ns_ + silent_ns_));
    return verdict;
  }

 private:
  struct Heard {
    profile::MessageRef message;
    TimeNs patience_ns = 0, stretch_ns = 0;
    TimeNs last_ns = 0;
    bool since_open = false;
  };

  void Listen(TimeNs t_ns) {
    for (Heard& heard : heard_) {
      heard.last_ns = t_ns;
      heard.since_open = false;
    }
  }
  void MissAll(TimeNs t_ns) {
    for (const Heard& heard : heard_) {
      Miss(heard, heard.since_open ? heard.patience_ns : heard.stretch_ns, t_ns);
    }
  }
  // The longest silence is told.
  void Miss(const Heard& heard, TimeNs most_ns, TimeNs t_ns) {
    const TimeNs gap_ns = t_ns - heard.last_ns;
    if (gap_ns <= most_ns || gap_ns <= silent_ns_) return;
    silent_ns_ = gap_ns;
    begin_ns_ = heard.last_ns;
  }

  JudgePtr judge_;
  std::vector<Heard> heard_;
  TimeNs begin_ns_ = 0, silent_ns_ = 0;
};

}  // namespace

JudgePtr WatchedForSilence(const profile::Bench& bench, JudgePtr judge) {
  return std::make_unique<Watched>(bench, std::move(judge));
}

}  // namespace drycrank::check
