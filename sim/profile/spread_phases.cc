// SPDX-License-Identifier: Apache-2.0
#include "profile/spread_phases.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numeric>

namespace drycrank::profile {
namespace {

constexpr std::int64_t kChoices = 64;

// In tenths of a millisecond.
std::int64_t Tenths(double ms) { return std::llround(ms * 10); }

struct Placed {
  std::int64_t phase = 0;
  std::int64_t common = 1;  // greatest common divisor with the period to be placed
};

std::int64_t Closest(std::int64_t phase, const std::vector<Placed>& placed) {
  std::int64_t closest = std::numeric_limits<std::int64_t>::max();
  for (const Placed& p : placed) {
    const std::int64_t d = std::abs(phase - p.phase) % p.common;
    closest = std::min({closest, d, p.common - d});
  }
  return closest;
}

std::int64_t BestPhase(std::int64_t period, const std::vector<Placed>& placed) {
  std::int64_t best = 0;
  std::int64_t best_distance = -1;
  for (std::int64_t i = 0; i < kChoices; ++i) {
    const std::int64_t phase = i * period / kChoices;
    const std::int64_t distance = Closest(phase, placed);
    if (distance > best_distance) {
      best = phase;
      best_distance = distance;
    }
  }
  return best;
}

}  // namespace

void SpreadPhases(std::vector<Message>& messages) {
  std::vector<Placed> placed;
  for (Message& message : messages) {
    if (message.phase_ms != kPhaseNotGiven) continue;
    message.phase_ms = 0;
    const std::int64_t period = Tenths(message.period_ms);
    if (period <= 0) continue;
    placed.clear();
    for (const Message& other : messages) {
      if (&other == &message || other.phase_ms == kPhaseNotGiven) continue;
      const std::int64_t other_period = Tenths(other.period_ms);
      if (other_period <= 0) continue;
      placed.push_back({Tenths(other.phase_ms), std::gcd(period, other_period)});
    }
    message.phase_ms = static_cast<double>(BestPhase(period, placed)) / 10;
  }
}

}  // namespace drycrank::profile
