// SPDX-License-Identifier: Apache-2.0
#include "check/judged_time.h"

#include <algorithm>

namespace drycrank::check {

JudgedTime::JudgedTime(const profile::Scenario& scenario, const profile::Expectation& expectation)
    : settle_ns_(FromSeconds(expectation.settle_s)) {
  for (const profile::Step& step : scenario.steps) {
    named_.push_back(expectation.during.empty() ||
                     std::ranges::count(expectation.during, step.name) > 0);
  }
  stretches_.reserve(kMaxStretches);
}

void JudgedTime::OnStep(std::size_t step, TimeNs t_ns, Judge& judge) {
  judge.OnStep();
  const bool goes_on = on_ && named_[step] && settle_ns_ == 0;
  if (goes_on) return;
  End(t_ns, judge);
  on_ = named_[step];
  begun_ns_ = t_ns;
  settled_ns_ = t_ns + settle_ns_;
  if (!on_) return;
  came_ = true;
  judge.Begin(t_ns);
  cut_ = lost_buses_ > 0;
  if (cut_) judge.Pause(t_ns, false);
}

bool JudgedTime::IsOpen(TimeNs t_ns, Judge& judge) {
  if (on_ && lost_buses_ == 0 && !open_ && t_ns > settled_ns_) {
    open_ = was_open_ = true;
    piece_ns_ = settled_ns_;
    if (opened_) {
      judge.Resume(settled_ns_);
    } else {
      judge.Open(settled_ns_);
    }
    opened_ = true;
  }
  return open_;
}

void JudgedTime::End(TimeNs t_ns, Judge& judge) {
  if (IsOpen(t_ns, judge)) {
    EndPiece(t_ns);
    judge.Close(t_ns);
  } else if (on_ && cut_) {
    if (lost_buses_ > 0) Note(t_ns);
    judge.Abandon(t_ns);
  }
  on_ = open_ = opened_ = cut_ = false;
}

void JudgedTime::Lose(TimeNs t_ns, const std::string& bus, const std::string& why, Judge& judge) {
  const bool open = IsOpen(t_ns, judge);
  if (++lost_buses_ > 1) return;
  lost_ = {t_ns, t_ns, bus, why};
  if (!on_) return;
  cut_ = true;
  if (open) EndPiece(t_ns);
  open_ = false;
  judge.Pause(t_ns, open);
}

void JudgedTime::Regain(TimeNs t_ns) {
  if (--lost_buses_ > 0 || !on_) return;
  Note(t_ns);
  settled_ns_ = std::max(settled_ns_, t_ns + settle_ns_);
}

void JudgedTime::EndPiece(TimeNs t_ns) {
  longest_open_ns_ = std::max(longest_open_ns_, t_ns - piece_ns_);
}

void JudgedTime::Note(TimeNs end_ns) {
  ++stretch_count_;
  if (stretches_.size() == kMaxStretches) return;
  stretches_.push_back(lost_);
  stretches_.back().begin_ns = std::max(lost_.begin_ns, begun_ns_);
  stretches_.back().end_ns = end_ns;
}

}  // namespace drycrank::check
