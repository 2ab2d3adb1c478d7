// SPDX-License-Identifier: Apache-2.0
//
// message_present: every gap from one reception to the next is period_ms +- jitter_ms; from the
//   begin of the judged time to the first, and from the last to its end, at most the sum of both.
//   margin = the sum or jitter less what was found, ms. With no period (a message sent on change)
//   one reception will do, and the margin counts frames. A frame of another length is no reception.
// counter: each frame counts on by one from the frame before, over the counter's length.
// checksum: right in each frame.
// Margin of these two in frames: less the number of wrong ones, or all those judged when none was.
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <optional>

#include "bus/layout.h"
#include "check/evidence.h"
#include "check/judge.h"
#include "check/value_words.h"
#include "types/nth.h"

namespace drycrank::check {
namespace {

class MessagePresent : public Judge {
 public:
  MessagePresent(const profile::Message& message, const expect::MessagePresent& kind)
      : kind_(kind),
        name_(message.name),
        length_bytes_(message.length_bytes),
        // Without a period of its own, the expectation has the message's.
        period_ms_(kind.period_ms > 0 ? kind.period_ms : message.period_ms),
        period_ns_(FromMs(period_ms_)),
        jitter_ns_(FromMs(kind.jitter_ms)) {}

  std::vector<profile::MessageRef> Messages() const override { return {kind_.message}; }
  void Open(TimeNs settled_ns) override {
    last_ns_ = settled_ns;
    at_border_ = true;
  }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& frame) override {
    if (frame.frame.length != length_bytes_) {
      ++odd_;
      odd_bytes_ = frame.frame.length;
      return;
    }
    ++received_;
    OnGap(frame.t_ns, at_border_);
    at_border_ = false;
  }
  void Close(TimeNs end_ns) override { OnGap(end_ns, true); }
  void Pause(TimeNs t_ns, bool open) override {
    if (open) OnGap(t_ns, true);
  }
  void Resume(TimeNs settled_ns) override { Open(settled_ns); }

  Verdict Judgement() const override {
    Verdict verdict = VerdictFrom(trace_, name_, "ms");
    verdict.judged = received_;
    verdict.margin = worst_margin_ns_ ? ToMs(*worst_margin_ns_) : 0;
    verdict.allowed = ToMs(worst_at_border_ ? period_ns_ + jitter_ns_ : jitter_ns_);
    verdict.worst_ns = worst_ns_;
    verdict.outcome = verdict.margin < 0 ? Outcome::kFailed : Outcome::kMet;
    if (received_ == 0) verdict.outcome = Outcome::kNotObserved;
    if (period_ns_ == 0) {
      verdict.margin = static_cast<double>(received_);
      verdict.margin_unit = "frames";
      verdict.allowed = 0;
    }
    verdict.detail = Detail();
    return verdict;
  }

 private:
  void OnGap(TimeNs t_ns, bool border) {
    const TimeNs gap_ns = t_ns - last_ns_;
    last_ns_ = t_ns;
    if (period_ns_ == 0) return;
    const TimeNs longest_ns = period_ns_ + jitter_ns_;
    const TimeNs margin_ns =
        border ? longest_ns - gap_ns : jitter_ns_ - std::abs(gap_ns - period_ns_);
    if (margin_ns < 0) ++outside_;
    // A short gap at a border says nothing about the period, and would look wrong in a plot.
    if (!border || margin_ns < 0) {
      trace_.Add({t_ns, ToMs(gap_ns), period_ms_, kind_.jitter_ms}, ToMs(margin_ns));
    }
    if (worst_margin_ns_ && margin_ns >= *worst_margin_ns_) return;
    worst_margin_ns_ = margin_ns;
    worst_ns_ = t_ns;
    worst_gap_ns_ = gap_ns;
    worst_at_border_ = border;
  }
  std::string Detail() const {
    if (odd_ == 0) return GapDetail();
    return fmt::format("{}; {} frames had {} bytes, should be {}", GapDetail(), odd_, odd_bytes_,
                       length_bytes_);
  }
  std::string GapDetail() const {
    if (received_ == 0 && !worst_margin_ns_) {
      return NotReceived(name_);
    }
    if (received_ == 0) {
      return fmt::format("{} was not received in {:.1f} ms", name_, ToMs(worst_gap_ns_));
    }
    if (period_ns_ == 0) return fmt::format("{} was received {} times", name_, received_);
    const std::string due =
        fmt::format("{:.1f} ms, should {} {:.1f} ms ± {:.1f} ms", ToMs(worst_gap_ns_),
                    worst_at_border_ ? "come every" : "be", period_ms_, kind_.jitter_ms);
    if (outside_ == 0) return fmt::format("{} at worst after {}", name_, due);
    return fmt::format("{} {} {}; {} gap{} outside, {} messages received", name_,
                       worst_at_border_ ? "missing for" : "after", due, outside_,
                       outside_ == 1 ? "" : "s", received_);
  }

  const expect::MessagePresent& kind_;
  const std::string name_;
  const int length_bytes_;
  const double period_ms_;
  const TimeNs period_ns_, jitter_ns_;
  Trace trace_;
  TimeNs last_ns_ = 0;
  bool at_border_ = true;  // the next gap is measured from the begin of the judged time
  std::uint64_t received_ = 0, outside_ = 0;
  std::uint64_t odd_ = 0;  // frames of another length: they are not the message
  int odd_bytes_ = 0;      // the last of them
  std::optional<TimeNs> worst_margin_ns_;
  TimeNs worst_ns_ = 0, worst_gap_ns_ = 0;
  bool worst_at_border_ = false;
};

// counter and checksum: frames are right or wrong.
class Integrity : public Judge {
 public:
  Integrity(const Subject& subject, const profile::MessageRef& at, bool counter)
      : at_(at), message_(MessageAt(subject.bench, at)), counter_(counter) {
    if (!counter_ || message_.counter_signal < 0) return;
    const int bits = Nth(message_.signals, message_.counter_signal).length_bits;
    mask_ = bits >= 64 ? ~0ull : (1ull << bits) - 1;
  }

  std::vector<profile::MessageRef> Messages() const override { return {at_}; }
  void Open(TimeNs /*settled_ns*/) override { last_.reset(); }
  void Resume(TimeNs /*settled_ns*/) override { last_.reset(); }
  void OnFrame(const profile::MessageRef& /*message*/, const bus::TimedFrame& frame) override {
    if (!HasIt()) return;
    if (counter_) {
      JudgeCounter(frame);
    } else {
      JudgeChecksum(frame);
    }
  }
  Verdict Judgement() const override {
    Verdict verdict = VerdictFrom(trace_, Field(), "");
    verdict.margin_unit = "frames";
    const std::uint64_t judged = trace_.count();
    verdict.margin = wrong_ > 0 ? 0 - static_cast<double>(wrong_) : static_cast<double>(judged);
    verdict.detail = Detail();
    return verdict;
  }

 private:
  bool HasIt() const {
    return counter_ ? message_.counter_signal >= 0
                    : message_.checksum != profile::ChecksumKind::kNone;
  }
  std::string Field() const {
    return fmt::format("{} {}", message_.name, counter_ ? "rolling counter" : "checksum right");
  }
  void JudgeCounter(const bus::TimedFrame& frame) {
    const std::uint64_t count = bus::CounterOf(message_, frame.frame);
    const auto previous = last_;
    last_ = count;
    if (!previous) return;
    const std::uint64_t due = (*previous + 1) & mask_;
    Add(frame.t_ns, static_cast<double>(count), static_cast<double>(due));
  }
  void JudgeChecksum(const bus::TimedFrame& frame) {
    const bool whole = frame.frame.length >= message_.length_bytes;
    Add(frame.t_ns, whole && bus::ChecksumIsRight(message_, frame.frame) ? 1 : 0, 1);
  }
  void Add(TimeNs t_ns, double found, double due) {
    const bool right = found == due;
    if (!right) ++wrong_;
    trace_.Add({t_ns, found, due, 0}, right ? 0 : -1);
  }
  std::string Detail() const {
    const char* field = counter_ ? "rolling counter" : "checksum";
    if (!HasIt()) return fmt::format("{} has no {}", message_.name, field);
    const std::uint64_t judged = trace_.count();
    if (judged == 0) {
      return fmt::format("too few frames of {} were received to judge its {}", message_.name,
                         field);
    }
    if (wrong_ == 0)
      return fmt::format("{} of {} right in {} frames", field, message_.name, judged);
    std::string text =
        fmt::format("{} of {} wrong in {} of {} frames", field, message_.name, wrong_, judged);
    if (counter_) {
      text += fmt::format("; first {:.0f}, should be {:.0f}", trace_.worst().reported,
                          trace_.worst().wanted);
    }
    return text;
  }

  const profile::MessageRef at_;
  const profile::Message& message_;
  const bool counter_;
  std::uint64_t mask_ = 0;
  std::optional<std::uint64_t> last_;
  std::uint64_t wrong_ = 0;
  Trace trace_;
};

}  // namespace

JudgePtr MakeJudge(const Subject& subject, const expect::MessagePresent& kind) {
  return std::make_unique<MessagePresent>(MessageAt(subject.bench, kind.message), kind);
}
JudgePtr MakeJudge(const Subject& subject, const expect::Counter& kind) {
  return std::make_unique<Integrity>(subject, kind.message, true);
}
JudgePtr MakeJudge(const Subject& subject, const expect::Checksum& kind) {
  return std::make_unique<Integrity>(subject, kind.message, false);
}

}  // namespace drycrank::check
