// SPDX-License-Identifier: Apache-2.0
#include "bus/cyclic.h"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace drycrank::bus {
namespace {

// Far enough to mean "not in this run", near enough that adding it to any run time cannot overflow.
constexpr TimeNs kLongestPeriodNs = kNever / 4;

TimeNs Stretched(TimeNs period_ns, double factor) {
  const double stretched_ns = static_cast<double>(period_ns) * factor;
  if (!(stretched_ns < static_cast<double>(kLongestPeriodNs))) return kLongestPeriodNs;
  return std::max<TimeNs>(1, std::llround(stretched_ns));
}

}  // namespace

CyclicSender::CyclicSender(const profile::Bench& bench, profile::Sender sender) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const std::vector<profile::Message>& messages = bench.buses[b].messages;
    for (std::size_t m = 0; m < messages.size(); ++m) {
      const profile::Message& message = messages[m];
      if (message.sender != sender || !(message.period_ms > 0)) continue;
      Slot slot;
      slot.bus = static_cast<int>(b);
      slot.message = static_cast<int>(m);
      slot.period_ns = Stretched(FromMs(message.period_ms), 1);
      slot.next_ns = FromMs(message.phase_ms);
      slots_.push_back(slot);
      nominal_ns_.push_back(slot.period_ns);
      heap_.push_back(heap_.size());
    }
  }
  Order();
}

bool CyclicSender::IsLater(std::size_t a, std::size_t b) const {
  const TimeNs a_ns = slots_[a].DueNs(), b_ns = slots_[b].DueNs();
  return a_ns != b_ns ? a_ns > b_ns : a > b;
}

void CyclicSender::Order() {
  std::ranges::make_heap(heap_, [this](std::size_t a, std::size_t b) { return IsLater(a, b); });
}

TimeNs CyclicSender::NextDue() const {
  return heap_.empty() ? kNever : slots_[heap_.front()].DueNs();
}

const Slot* CyclicSender::TakeDue(TimeNs now_ns) {
  if (NextDue() > now_ns || heap_.empty()) return nullptr;
  const auto later = [this](std::size_t a, std::size_t b) { return IsLater(a, b); };
  std::ranges::pop_heap(heap_, later);
  Slot& slot = slots_[heap_.back()];
  taken_ = slot;
  const TimeNs missed = std::max<TimeNs>(0, now_ns - slot.next_ns) / slot.period_ns;
  slot.next_ns += (missed + 1) * slot.period_ns;
  slot.skipped += static_cast<std::uint64_t>(missed);
  ++slot.sent;
  std::ranges::push_heap(heap_, later);
  return &taken_;
}

void CyclicSender::SetPeriodFactor(int bus, int message, double factor) {
  assert(factor > 0);
  for (std::size_t i = 0; i < slots_.size(); ++i) {
    Slot& slot = slots_[i];
    if (slot.bus == bus && slot.message == message) {
      slot.period_ns = Stretched(nominal_ns_[i], factor);
    }
  }
}

void CyclicSender::SetEarly(int bus, int message, TimeNs early_ns, std::uint64_t every) {
  assert(early_ns >= 0 && every > 0);
  for (Slot& slot : slots_) {
    if (slot.bus != bus || slot.message != message) continue;
    slot.early_ns = early_ns;
    slot.early_every = every;
  }
  Order();
}

}  // namespace drycrank::bus
