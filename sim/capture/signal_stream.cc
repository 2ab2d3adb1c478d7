// SPDX-License-Identifier: Apache-2.0
#include "capture/signal_stream.h"

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::capture {
namespace {

// A level's edge is known once the value has passed both thresholds: it may lie so far back.
constexpr TimeNs kSlowestEdgeNs = 20 * kNsPerMs;

}  // namespace

SignalStream::SignalStream(const SignalPlan& plan, TimeNs begin_ns)
    : plan_(plan), begin_ns_(begin_ns), read_ns_(begin_ns) {
  OpenedTrace opened = OpenTrace(plan.file, plan.hints);
  trace_ = std::move(opened.trace);
  problem_ = opened.problem;
  ended_ = !trace_;
  for (const PlayedSignal& signal : plan.signals) runs_.emplace_back(signal.levels.rule);
}

TimeNs SignalStream::InRun(double file_ns) const {
  return begin_ns_ + static_cast<TimeNs>(std::llround(file_ns - plan_.begin_ns));
}

bool SignalStream::Next(std::vector<SignalPiece>& out) {
  out.clear();
  while (out.empty() && !ended_) {
    ReadBlock();
    HandOver(ended_ ? kNever : read_ns_ - kSlowestEdgeNs, out);
  }
  return !out.empty();
}

void SignalStream::ReadBlock() {
  if (!trace_->Next(block_)) {
    problem_ = trace_->problem();
    return Rest();
  }
  for (std::size_t row = 0; row < block_.t_ns.size() && !ended_; ++row) {
    const double t_ns = block_.t_ns[row];
    if (t_ns > plan_.end_ns) return Rest();
    if (t_ns >= plan_.begin_ns) TakeRow(t_ns, row);
  }
  for (std::size_t s = 0; s < runs_.size() && !ended_; ++s) CloseOpen(s);
}

void SignalStream::TakeRow(double t_ns, std::size_t row) {
  const std::size_t width = trace_->info().channels.size();
  read_ns_ = InRun(t_ns);
  for (std::size_t s = 0; s < runs_.size(); ++s) {
    const PlayedSignal& signal = plan_.signals[s];
    const MappedChannel& about = signal.levels.about;
    const double value = InUnits(about, block_.values[row * width + about.index]);
    if (signal.as_volts) {
      TakeVolts(s, read_ns_, value - (signal.is_coil ? signal.levels.rest : 0));
    } else {
      TakeEdges(s, t_ns, value);
    }
  }
}

// A sample that is not known: the one before stays.
void SignalStream::TakeVolts(std::size_t signal, TimeNs t_ns, double value) {
  if (!std::isfinite(value)) return;
  Run& run = runs_[signal];
  Wave& open = run.open;
  if (!run.begun) {
    run.begun = true;
    const double before = plan_.signals[signal].is_coil ? 0 : value;
    made_.push_back({static_cast<int>(signal), {0, kNever, before, before, 0}});
    open = {t_ns, t_ns, value, value, 0};
    return;
  }
  if (t_ns <= open.end_ns) return;
  const bool flat = run.has_open && open.begin_v == open.end_v && value == open.end_v;
  if (!flat) {
    const Wave last = open;
    CloseOpen(signal);
    open = {last.end_ns, t_ns, last.end_v, value, 0};
  }
  open.end_ns = t_ns;
  run.has_open = true;
}

void SignalStream::CloseOpen(std::size_t signal) {
  Run& run = runs_[signal];
  if (run.has_open) made_.push_back({static_cast<int>(signal), run.open});
  run.has_open = false;
}

void SignalStream::TakeLevel(std::size_t signal, TimeNs t_ns, bool high) {
  const PlayedSignal& about = plan_.signals[signal];
  const double v = high ? about.high_v : about.low_v;
  made_.push_back({static_cast<int>(signal), {t_ns, kNever, v, v, 0}});
}

// What it is before its first edge. Behind a capacitor only that edge tells.
void SignalStream::BeginLevel(std::size_t signal, double value) {
  Run& run = runs_[signal];
  const EdgeRule& rule = run.finder.rule();
  double middle = 0.5;
  if (const auto* level = std::get_if<LevelRule>(&rule))
    middle = (level->low_v + level->high_v) / 2;
  if (const auto* wave = std::get_if<WaveRule>(&rule)) middle = wave->rest_v;
  if (!std::isfinite(value) || std::holds_alternative<StepRule>(rule)) return;
  TakeLevel(signal, 0, value > middle);
  run.begun = true;
}

void SignalStream::TakeEdges(std::size_t signal, double t_ns, double value) {
  Run& run = runs_[signal];
  if (!run.begun) BeginLevel(signal, value);
  run.finder.Add(t_ns, value);
  for (const SeenChange& change : run.finder.changes()) {
    if (!run.begun) TakeLevel(signal, 0, !change.high);
    run.begun = true;
    TakeLevel(signal, InRun(change.t_ns), change.high);
  }
  run.finder.changes().clear();
}

void SignalStream::Rest() {
  ended_ = true;
  for (std::size_t s = 0; s < runs_.size(); ++s) {
    CloseOpen(s);
    const TimeNs t_ns = std::max(read_ns_, begin_ns_);
    if (plan_.signals[s].is_coil) made_.push_back({static_cast<int>(s), {t_ns, kNever, 0, 0, 0}});
  }
}

void SignalStream::HandOver(TimeNs before_ns, std::vector<SignalPiece>& out) {
  const auto begin = [](const SignalPiece& piece) { return piece.wave.begin_ns; };
  std::ranges::stable_sort(made_, {}, begin);
  const auto end = std::ranges::lower_bound(made_, before_ns, {}, begin);
  out.assign(made_.begin(), end);
  made_.erase(made_.begin(), end);
  for (SignalPiece& piece : out) {
    given_ns_ = piece.wave.begin_ns = std::max(piece.wave.begin_ns, given_ns_);
  }
}

}  // namespace drycrank::capture
