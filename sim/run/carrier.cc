// SPDX-License-Identifier: Apache-2.0
#include "run/carrier.h"

#include <algorithm>
#include <utility>

#include "types/nth.h"

namespace drycrank::run {

Carrier::Carrier(const profile::Bench& bench, std::span<bus::CanBus* const> interfaces,
                 Clock* clock)
    : late_ns_(bench.buses.size(), 0), clock_(clock) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    Line line;
    line.outside = b < interfaces.size() ? interfaces[b] : nullptr;
    if (line.outside == nullptr) {
      line.wire.emplace_back(bench.buses[b]);
    } else if (clock != nullptr) {
      line.lateness.resize(bench.buses[b].messages.size());
    }
    lines_.push_back(std::move(line));
  }
}

bool Carrier::Send(const bus::TimedFrame& frame, int sender, int message) {
  Line& line = Nth(lines_, frame.bus);
  if (line.outside == nullptr) {
    line.wire[0].Queue(frame.frame, sender, message, frame.t_ns);
    return false;
  }
  if (message >= 0 && !line.lateness.empty()) {
    Nth(line.lateness, message).Add(clock_->Now() - frame.t_ns);
  }
  line.outside->Send(frame.frame);
  return true;
}

void Carrier::Begin(TimeNs t_ns) {
  for (Line& line : lines_) {
    if (!line.wire.empty()) line.wire[0].Begin(t_ns);
  }
}

TimeNs Carrier::NextDueNs() const {
  TimeNs due_ns = kNever;
  for (const Line& line : lines_) {
    if (!line.wire.empty()) due_ns = std::min(due_ns, line.wire[0].NextDueNs());
  }
  return due_ns;
}

bool Carrier::TakeArrival(TimeNs t_ns, Arrival& out) {
  for (std::size_t b = 0; b < lines_.size(); ++b) {
    if (lines_[b].wire.empty()) continue;
    const bus::Wire::Sent* sent = lines_[b].wire[0].TakeSent(t_ns);
    if (sent == nullptr) continue;
    out.frame = {sent->received_ns, static_cast<int>(b), true, sent->frame};
    out.sender = sent->sender;
    return true;
  }
  return false;
}

std::span<const TimeNs> Carrier::LateNs(TimeNs t_ns) {
  const TimeNs late_ns = clock_ == nullptr ? 0 : std::max<TimeNs>(0, clock_->Now() - t_ns);
  for (std::size_t b = 0; b < lines_.size(); ++b) {
    if (lines_[b].outside != nullptr) late_ns_[b] = late_ns;
  }
  return late_ns_;
}

const bus::Wire* Carrier::wire(int bus) const {
  const Line& line = Nth(lines_, bus);
  return line.wire.empty() ? nullptr : line.wire.data();
}

const bus::Lateness* Carrier::lateness(int bus, int message) const {
  const Line& line = Nth(lines_, bus);
  return std::cmp_less(message, line.lateness.size()) ? &Nth(line.lateness, message) : nullptr;
}

}  // namespace drycrank::run
