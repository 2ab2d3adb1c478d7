// SPDX-License-Identifier: Apache-2.0
#include "bus/response_time.h"

#include <algorithm>
#include <cassert>

namespace drycrank::bus {
namespace {

constexpr TimeNs kLongestBusyNs = 10 * kNsPerS;

TimeNs CeilDivide(TimeNs a, TimeNs b) { return (a + b - 1) / b; }

// What `streams` put on the bus in a window that long, when all of them start at its beginning.
TimeNs Demand(std::span<const Stream> streams, TimeNs window_ns) {
  TimeNs sum_ns = 0;
  for (const Stream& s : streams) {
    sum_ns += CeilDivide(window_ns + s.jitter_ns, s.period_ns) * s.transmission_ns;
  }
  return sum_ns;
}

// The smallest t = constant + Demand(streams, t + extra); nothing beyond `limit_ns`.
std::optional<TimeNs> Settle(TimeNs start_ns, TimeNs constant_ns, std::span<const Stream> streams,
                             TimeNs extra_ns, TimeNs limit_ns) {
  TimeNs t_ns = start_ns;
  while (t_ns <= limit_ns) {
    const TimeNs next_ns = constant_ns + Demand(streams, t_ns + extra_ns);
    if (next_ns == t_ns) return t_ns;
    t_ns = next_ns;
  }
  return std::nullopt;
}

double Load(std::span<const Stream> streams) {
  double load = 0;
  for (const Stream& s : streams) {
    load += static_cast<double>(s.transmission_ns) / static_cast<double>(s.period_ns);
  }
  return load;
}

std::optional<Response> ResponseOf(std::span<const Stream> streams, std::size_t m, TimeNs bit_ns) {
  const Stream& self = streams[m];
  const auto before = streams.first(m);
  const auto with_self = streams.first(m + 1);
  if (Load(with_self) >= 1) return std::nullopt;
  TimeNs blocking_ns = 0;
  for (const Stream& s : streams.subspan(m + 1)) {
    blocking_ns = std::max(blocking_ns, s.transmission_ns);
  }
  Response response;
  const auto busy_ns =
      Settle(blocking_ns + self.transmission_ns, blocking_ns, with_self, 0, kLongestBusyNs);
  if (!busy_ns) return std::nullopt;
  response.busy_period_ns = *busy_ns;
  const TimeNs instances = CeilDivide(*busy_ns + self.jitter_ns, self.period_ns);
  TimeNs wait_ns = blocking_ns;
  for (TimeNs q = 0; q < instances; ++q) {
    const TimeNs constant_ns = blocking_ns + q * self.transmission_ns;
    const auto settled_ns =
        Settle(std::max(wait_ns, constant_ns), constant_ns, before, bit_ns, kLongestBusyNs);
    if (!settled_ns) return std::nullopt;
    wait_ns = *settled_ns;
    response.instance_ns.push_back(self.jitter_ns + wait_ns - q * self.period_ns +
                                   self.transmission_ns);
    response.worst_ns = std::max(response.worst_ns, response.instance_ns.back());
  }
  return response;
}

}  // namespace

std::vector<std::optional<Response>> ResponseTimes(std::span<const Stream> streams, TimeNs bit_ns) {
  std::vector<std::optional<Response>> all;
  for (std::size_t m = 0; m < streams.size(); ++m) {
    assert(streams[m].period_ns > 0 && streams[m].transmission_ns > 0);
    all.push_back(ResponseOf(streams, m, bit_ns));
  }
  return all;
}

}  // namespace drycrank::bus
