// SPDX-License-Identifier: Apache-2.0
#include "run/node.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "bus/layout.h"
#include "run/bus_fault.h"
#include "types/nth.h"

namespace drycrank::run {

namespace fault = profile::fault;

Node::Node(const profile::Bench& bench, profile::Sender sender, const IndexOfValue& index_of,
           ValueAt value_at)
    : bench_(bench), sender_(sender), value_at_(std::move(value_at)), cyclic_(bench, sender) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const auto& messages = bench.buses[b].messages;
    places_.emplace_back(messages.size(), 0);
    for (std::size_t m = 0; m < messages.size(); ++m) {
      if (messages[m].sender != sender) continue;
      Outgoing outgoing;
      outgoing.bus = static_cast<int>(b);
      outgoing.message = static_cast<int>(m);
      for (const profile::Signal& signal : messages[m].signals) {
        outgoing.values.push_back(signal.carries.empty() ? -1 : index_of(signal.carries));
      }
      outgoing.physical.assign(messages[m].signals.size(), std::nan(""));
      outgoing.frozen.assign(messages[m].signals.size(), 0);
      places_[b][m] = outgoing_.size();
      outgoing_.push_back(std::move(outgoing));
    }
  }
}

Node::Outgoing& Node::Find(int bus, int message) {
  return outgoing_[Nth(Nth(places_, bus), message)];
}

const profile::Message& Node::MessageOf(const Outgoing& outgoing) const {
  return profile::MessageAt(bench_, {outgoing.bus, outgoing.message});
}

void Node::Fill(Outgoing& outgoing, TimeNs t_ns) {
  for (std::size_t i = 0; i < outgoing.values.size(); ++i) {
    // Frozen before there was a value: the first one stays.
    if (outgoing.frozen[i] != 0 && !std::isnan(outgoing.physical[i])) continue;
    outgoing.physical[i] = outgoing.values[i] < 0 ? 0.0 : value_at_(outgoing.values[i], t_ns);
  }
}

bus::TimedFrame Node::Make(Outgoing& outgoing, TimeNs t_ns) {
  const profile::Message& message = outgoing.edited ? *outgoing.edited : MessageOf(outgoing);
  ++outgoing.sent;
  outgoing.made = true;
  outgoing.last_count = outgoing.count;
  if (outgoing.sent % outgoing.jump_every == 0) outgoing.count += outgoing.jump_by;
  const std::uint64_t count = outgoing.count;
  if (!outgoing.counter_stuck) ++outgoing.count;
  bus::TimedFrame out{t_ns, outgoing.bus, true, bus::Encode(message, outgoing.physical, count)};
  if (outgoing.checksum_wrong && message.checksum_signal >= 0) {
    const auto& signal = Nth(message.signals, message.checksum_signal);
    bus::InsertBits(signal, ~bus::ExtractBits(signal, out.frame.bytes()),
                    std::span(out.frame.data.data(), out.frame.length));
  }
  if (outgoing.doubled) {
    again_ = out;
    again_message_ = outgoing.message;
  }
  return out;
}

int Node::TakeDue(TimeNs t_ns, std::span<const TimeNs> late_ns, bus::TimedFrame& out) {
  if (again_) {
    out = *again_;
    again_.reset();
    return again_message_;
  }
  while (const bus::Slot* slot = cyclic_.TakeDue(t_ns)) {
    Outgoing& outgoing = Find(slot->bus, slot->message);
    if (outgoing.missing || outgoing.left_out) continue;
    if (Nth(late_ns, slot->bus) >= slot->period_ns) {
      ++outgoing.skipped;
      continue;
    }
    Fill(outgoing, t_ns);
    out = Make(outgoing, t_ns);
    return slot->message;
  }
  return -1;
}

void Node::TakeBack(int bus, int message) {
  Outgoing& outgoing = Find(bus, message);
  if (!std::exchange(outgoing.made, false)) return;  // the second of a doubled one
  outgoing.count = outgoing.last_count;
  --outgoing.sent;
  ++outgoing.skipped;
}

bool Node::TakeChanged(TimeNs t_ns, bus::TimedFrame& out) {
  if (again_) {
    out = *again_;
    again_.reset();
    return true;
  }
  for (Outgoing& outgoing : outgoing_) {
    if (MessageOf(outgoing).period_ms > 0 || outgoing.missing || outgoing.left_out) continue;
    Fill(outgoing, t_ns);
    const bus::Frame now = bus::Encode(MessageOf(outgoing), outgoing.physical, 0);
    if (outgoing.last == now) continue;
    outgoing.last = now;
    out = Make(outgoing, t_ns);
    return true;
  }
  return false;
}

void Node::LeaveOut(int bus, int message) {
  for (Outgoing& outgoing : outgoing_) {
    if (outgoing.bus == bus && outgoing.message == message) outgoing.left_out = true;
  }
}

// What faults do to one message, kind by kind. Those that say "elsewhere" change the frame itself
// (AsSent), the sender (IsAbsent) or the bus (BusFaults), see bus_fault.h.
struct Node::MessageFaults {
  Outgoing& outgoing;
  const profile::Message& message;
  double factor = 1;
  TimeNs early_ns = 0;
  std::uint64_t early_every = 1;

  void Add(const profile::Fault& f) {
    const bool whole = f.at == message.name;
    profile::VisitInto<profile::Into::kBus>(f, [&](const auto& kind) { Add(f, whole, kind); });
  }

  void Add(const profile::Fault& f, bool whole, const fault::ValueFrozen& /*kind*/) {
    for (std::size_t i = 0; i < message.signals.size(); ++i) {
      const bool this_one = f.at == message.name + "." + message.signals[i].name;
      outgoing.frozen[i] = outgoing.frozen[i] != 0 || whole || this_one;
    }
  }
  void Add(const profile::Fault& /*f*/, bool whole, const fault::MessageMissing& /*kind*/) {
    outgoing.missing |= whole;
  }
  void Add(const profile::Fault& /*f*/, bool whole, const fault::MessageDoubled& /*kind*/) {
    outgoing.doubled |= whole;
  }
  void Add(const profile::Fault& /*f*/, bool whole, const fault::CounterStuck& /*kind*/) {
    outgoing.counter_stuck |= whole;
  }
  void Add(const profile::Fault& /*f*/, bool whole, const fault::ChecksumWrong& /*kind*/) {
    outgoing.checksum_wrong |= whole;
  }
  void Add(const profile::Fault& /*f*/, bool whole, const fault::MessageLate& kind) {
    if (whole) factor *= kind.factor;
  }
  void Add(const profile::Fault& /*f*/, bool whole, const fault::MessageEarly& kind) {
    if (!whole) return;
    early_ns = FromMs(kind.early_ms);
    early_every = static_cast<std::uint64_t>(kind.every);
  }
  void Add(const profile::Fault& /*f*/, bool whole, const fault::CounterJumps& kind) {
    if (!whole) return;
    outgoing.jump_by = static_cast<std::uint64_t>(kind.by);
    outgoing.jump_every = static_cast<std::uint64_t>(kind.every);
  }
  // Elsewhere.
  void Add(const profile::Fault& /*f*/, bool /*whole*/, const fault::IdentifierWrong& /*kind*/) {}
  void Add(const profile::Fault& /*f*/, bool /*whole*/, const fault::LengthWrong& /*kind*/) {}
  void Add(const profile::Fault& /*f*/, bool /*whole*/, const fault::BytesSwapped& /*kind*/) {}
  void Add(const profile::Fault& /*f*/, bool /*whole*/, const fault::NodeGone& /*kind*/) {}
  void Add(const profile::Fault& /*f*/, bool /*whole*/, const fault::BabblingNode& /*kind*/) {}
  void Add(const profile::Fault& /*f*/, bool /*whole*/, const fault::ErrorFrames& /*kind*/) {}
  void Add(const profile::Fault& /*f*/, bool /*whole*/, const fault::BusOff& /*kind*/) {}
};

void Node::SetFaultsOf(Outgoing& outgoing, std::span<const profile::Fault* const> faults) {
  const profile::Message& message = MessageOf(outgoing);
  outgoing.missing = outgoing.counter_stuck = outgoing.checksum_wrong = outgoing.doubled = false;
  outgoing.jump_by = 0;
  outgoing.frozen.assign(message.signals.size(), 0);
  outgoing.edited = AsSent(message, faults);
  MessageFaults sum{outgoing, message};
  for (const profile::Fault* fault : faults) {
    outgoing.missing |= IsAbsent(*fault, sender_);
    sum.Add(*fault);
  }
  cyclic_.SetPeriodFactor(outgoing.bus, outgoing.message, sum.factor);
  cyclic_.SetEarly(outgoing.bus, outgoing.message, sum.early_ns, sum.early_every);
}

void Node::SetFaults(std::span<const profile::Fault* const> faults) {
  for (Outgoing& outgoing : outgoing_) SetFaultsOf(outgoing, faults);
}

std::uint64_t Node::skipped() const {
  std::uint64_t sum = 0;
  for (const bus::Slot& slot : cyclic_.slots()) sum += slot.skipped;
  for (const Outgoing& outgoing : outgoing_) sum += outgoing.skipped;
  return sum;
}

std::uint64_t Node::skipped(int bus, int message) const {
  for (const Outgoing& outgoing : outgoing_) {
    if (outgoing.bus == bus && outgoing.message == message) return outgoing.skipped;
  }
  return 0;
}

}  // namespace drycrank::run
