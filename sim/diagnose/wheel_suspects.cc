// SPDX-License-Identifier: Apache-2.0
#include "diagnose/wheel_suspects.h"

#include <iterator>

#include "diagnose/told_suspects.h"
#include "profile/fault_priors.h"
#include "profile/triggers.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

constexpr double kNoiseHz[] = {30, 300, 3000};
constexpr double kSlowDegPerS = 1;  // the least: a band has all that is faster in it
constexpr double kRunoutDeg = 1;    // found from the edges

}  // namespace

std::vector<Hypothesis> WheelSuspects(const profile::Bench& bench,
                                      std::span<const Hypothesis> suspects) {
  std::vector<Hypothesis> all;
  const double one = PriorOfOne(bench, suspects);
  const auto add = [&](const char* kind, const char* key, const std::string& at,
                       const profile::FaultKind& what) {
    profile::Fault made;
    made.kind = what;
    made.at = at;
    made.name = at;
    const double prior = one * profile::PriorOf(bench.fault_priors, key);
    all.push_back({{made}, kind, prior, Quantity::kNone, 0, 0, 0});
  };
  for (const profile::Trigger& trigger : bench.triggers) {
    if (!trigger.fitted) continue;
    add(kRunout, "wheel_runout", trigger.name, fault::WheelRunout{.deg = kRunoutDeg});
    for (const double hz : kNoiseHz) {
      add(kNoise, "electrical_noise", trigger.name, fault::ElectricalNoise{.rate_hz = hz});
      all.back().prior /= static_cast<double>(std::size(kNoiseHz));
    }
    if (trigger.advance_stimulus < 0) continue;
    add(kSlowCam, "cam_slow", trigger.name, fault::CamSlow{kSlowDegPerS});
  }
  return all;
}

}  // namespace drycrank::diagnose
