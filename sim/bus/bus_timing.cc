// SPDX-License-Identifier: Apache-2.0
#include "bus/bus_timing.h"

#include <algorithm>

#include "bus/frame_bits.h"
#include "bus/response_time.h"
#include "types/nth.h"

namespace drycrank::bus {
namespace {

// Event messages are looked at as often as the controller samples.
TimeNs PeriodOf(const profile::Bench& bench, const profile::Message& message) {
  if (message.period_ms > 0) return std::max<TimeNs>(1, FromMs(message.period_ms));
  return bench.controller ? FromMs(bench.controller->sample_ms) : 10 * kNsPerMs;
}

std::uint32_t Urgency(const profile::Message& message) {
  Frame frame;
  frame.id = message.id;
  frame.extended = message.extended;
  return ArbitrationField(frame);
}

// A display knows a message by its identifier, and may call it by a name of its own.
bool Shows(const profile::Display& display, const profile::Gauge& gauge,
           const profile::Message& message) {
  const int layout = profile::IndexOf(display.layouts, gauge.message);
  if (layout < 0) return false;
  const profile::Message& known = Nth(display.layouts, layout);
  return known.id == message.id && known.extended == message.extended;
}

void SetLimit(const profile::Bench& bench, const profile::Message& message, MessageTiming& timing) {
  timing.limit_ns = timing.period_ns;
  if (!bench.display || !(message.period_ms > 0)) return;
  const profile::Display& display = *bench.display;
  for (std::size_t g = 0; g < display.gauges.size(); ++g) {
    if (!Shows(display, display.gauges[g], message)) continue;
    const TimeNs limit_ns = FromMs(display.gauges[g].stale_ms) - timing.period_ns;
    if (timing.gauge >= 0 && limit_ns >= timing.limit_ns) continue;
    timing.limit_ns = limit_ns;
    timing.gauge = static_cast<int>(g);
  }
}

// Worst response times of those that are counted, which are sorted by urgency.
void SetResponses(const profile::Bus& bus, std::vector<MessageTiming>& messages) {
  std::vector<MessageTiming*> counted;
  std::vector<Stream> streams;
  for (MessageTiming& m : messages) {
    if (!m.is_counted) continue;
    counted.push_back(&m);
    streams.push_back({m.period_ns, m.longest_ns, 0});
  }
  const auto responses = ResponseTimes(streams, BitNs(bus));
  for (std::size_t i = 0; i < responses.size(); ++i) {
    if (responses[i]) counted[i]->response_ns = responses[i]->worst_ns;
  }
}

BusTiming TimingOf(const profile::Bench& bench, const profile::Bus& bus, bool with_events) {
  BusTiming out;
  for (std::size_t m = 0; m < bus.messages.size(); ++m) {
    const profile::Message& message = bus.messages[m];
    MessageTiming timing;
    timing.message = static_cast<int>(m);
    timing.period_ns = PeriodOf(bench, message);
    timing.shortest_ns = DurationNs(LeastBits(message), bus);
    timing.longest_ns = DurationNs(WorstCaseBits(message), bus);
    SetLimit(bench, message, timing);
    timing.is_counted = with_events || message.period_ms > 0;
    out.messages.push_back(timing);
    if (!timing.is_counted) continue;
    out.load += static_cast<double>(timing.longest_ns) / static_cast<double>(timing.period_ns);
    out.least_load +=
        static_cast<double>(timing.shortest_ns) / static_cast<double>(timing.period_ns);
  }
  std::stable_sort(out.messages.begin(), out.messages.end(), [&](const auto& a, const auto& b) {
    return Urgency(Nth(bus.messages, a.message)) < Urgency(Nth(bus.messages, b.message));
  });
  SetResponses(bus, out.messages);
  return out;
}

}  // namespace

std::vector<BusTiming> TimingOf(const profile::Bench& bench) {
  std::vector<BusTiming> all;
  for (const profile::Bus& bus : bench.buses) all.push_back(TimingOf(bench, bus, true));
  return all;
}

std::vector<BusTiming> PeriodicTimingOf(const profile::Bench& bench) {
  std::vector<BusTiming> all;
  for (const profile::Bus& bus : bench.buses) all.push_back(TimingOf(bench, bus, false));
  return all;
}

}  // namespace drycrank::bus
