// SPDX-License-Identifier: Apache-2.0
#include "run/ahead.h"

#include <cassert>
#include <cstddef>

namespace drycrank::run {

Ahead::Ahead(const profile::Bench& bench) : on_time_(bench.buses.size(), 0) {
  std::size_t messages = 0;
  for (const profile::Bus& bus : bench.buses) messages += bus.messages.size();
  frames_.reserve(2 * messages + 64);  // each doubled, and answers
}

void Ahead::Begin(TimeNs due_ns) {
  assert(due_ns_ == kNever);
  due_ns_ = played_ns_ = due_ns;
  handed_over_ = false;
}

void Ahead::End() {
  due_ns_ = kNever;
  frames_.clear();
  notes_.clear();
}

std::span<const TimeNs> Ahead::LateNs(TimeNs /*t_ns*/) { return on_time_; }

void Ahead::Send(const bus::TimedFrame& frame, Origin origin, int message) {
  frames_.push_back({frame, origin, message, Way::kSent});
}

void Ahead::SendReplayed(const bus::TimedFrame& frame, int message) {
  frames_.push_back({frame, Origin::kSimulator, message, Way::kReplayed});
}

void Ahead::Tell(const bus::TimedFrame& frame, Origin origin) {
  frames_.push_back({frame, origin, -1, Way::kTold});
}

void Ahead::Note(const std::string& text, TimeNs /*t_ns*/) { notes_.push_back(text); }

}  // namespace drycrank::run
