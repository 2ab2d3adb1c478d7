// SPDX-License-Identifier: Apache-2.0
#include "run/node.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "bus/layout.h"

namespace drycrank::run {

Node::Node(const profile::Bench& bench, std::string_view sender, const IndexOfValue& index_of,
           ValueAt value_at)
    : bench_(bench), value_at_(std::move(value_at)), cyclic_(bench, sender) {
  for (std::size_t b = 0; b < bench.buses.size(); ++b) {
    const auto& messages = bench.buses[b].messages;
    for (std::size_t m = 0; m < messages.size(); ++m) {
      if (messages[m].sender != sender) continue;
      Outgoing outgoing;
      outgoing.bus = static_cast<int>(b);
      outgoing.message = static_cast<int>(m);
      for (const profile::Signal& signal : messages[m].signals) {
        outgoing.values.push_back(signal.carries.empty() ? -1 : index_of(signal.carries));
      }
      outgoing.physical.resize(messages[m].signals.size());
      outgoing.last.assign(messages[m].signals.size(), std::nan(""));
      outgoing_.push_back(std::move(outgoing));
    }
  }
}

Node::Outgoing& Node::Find(int bus, int message) {
  return *std::find_if(outgoing_.begin(), outgoing_.end(), [&](const Outgoing& o) {
    return o.bus == bus && o.message == message;
  });
}

void Node::Fill(Outgoing& outgoing) {
  for (std::size_t i = 0; i < outgoing.values.size(); ++i) {
    outgoing.physical[i] = outgoing.values[i] < 0 ? 0.0 : value_at_(outgoing.values[i]);
  }
}

bus::TimedFrame Node::Make(Outgoing& outgoing, TimeNs t_ns) {
  const profile::Message& message = bench_.buses[static_cast<std::size_t>(outgoing.bus)]
                                        .messages[static_cast<std::size_t>(outgoing.message)];
  const std::uint64_t count = outgoing.count;
  if (!outgoing.counter_stuck) ++outgoing.count;
  bus::TimedFrame out{t_ns, outgoing.bus, true,
                      bus::Encode(message, outgoing.physical, count)};
  if (outgoing.checksum_wrong && message.checksum_signal >= 0) {
    const auto& signal = message.signals[static_cast<std::size_t>(message.checksum_signal)];
    bus::InsertBits(signal, ~bus::ExtractBits(signal, out.frame.bytes()),
                    std::span(out.frame.data.data(), out.frame.length));
  }
  return out;
}

bool Node::TakeDue(TimeNs t_ns, bus::TimedFrame& out) {
  while (const bus::Slot* slot = cyclic_.TakeDue(t_ns)) {
    Outgoing& outgoing = Find(slot->bus, slot->message);
    if (outgoing.missing) continue;
    Fill(outgoing);
    out = Make(outgoing, t_ns);
    return true;
  }
  return false;
}

bool Node::TakeChanged(TimeNs t_ns, bus::TimedFrame& out) {
  for (Outgoing& outgoing : outgoing_) {
    const profile::Message& message = bench_.buses[static_cast<std::size_t>(outgoing.bus)]
                                          .messages[static_cast<std::size_t>(outgoing.message)];
    if (message.period_ms > 0 || outgoing.missing) continue;
    Fill(outgoing);
    if (outgoing.physical == outgoing.last) continue;
    outgoing.last = outgoing.physical;
    out = Make(outgoing, t_ns);
    return true;
  }
  return false;
}

void Node::SetFaults(std::span<const profile::Fault* const> faults) {
  using profile::FaultKind;
  for (Outgoing& outgoing : outgoing_) {
    const std::string& name = bench_.buses[static_cast<std::size_t>(outgoing.bus)]
                                  .messages[static_cast<std::size_t>(outgoing.message)]
                                  .name;
    outgoing.missing = outgoing.counter_stuck = outgoing.checksum_wrong = false;
    double factor = 1;
    for (const profile::Fault* fault : faults) {
      if (fault->at != name) continue;
      outgoing.missing |= fault->kind == FaultKind::kMessageMissing;
      outgoing.counter_stuck |= fault->kind == FaultKind::kCounterStuck;
      outgoing.checksum_wrong |= fault->kind == FaultKind::kChecksumWrong;
      if (fault->kind == FaultKind::kMessageLate) factor *= fault->factor;
    }
    cyclic_.SetPeriodFactor(outgoing.bus, outgoing.message, factor);
  }
}

std::uint64_t Node::skipped() const {
  std::uint64_t sum = 0;
  for (const bus::Slot& slot : cyclic_.slots()) sum += slot.skipped;
  return sum;
}

}  // namespace drycrank::run
