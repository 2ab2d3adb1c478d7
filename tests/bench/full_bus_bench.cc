// SPDX-License-Identifier: Apache-2.0
//
// A bus of 1 Mbit/s that is full, in virtual time on one core: the hill-climb bench with 90
// messages more than its bus can carry, all less urgent than its own. Wanted: at least 20 times
// real time with the bus taken to 99.5 % or more, and the verdicts of the healthy bench unchanged.
#include <fmt/format.h>

#include <ctime>

#include "profile/load.h"
#include "study/play.h"
#include "tests/support/cyclic_bench.h"

namespace drycrank {
namespace {

int Main() {
  profile::LoadedScenario loaded = profile::LoadScenario(std::string(DRYCRANK_PROFILES_DIR) +
                                                         "/scenarios/hill_climb/healthy.yaml");
  if (!loaded.scenario) return 1;
  profile::Bus& bus = loaded.bench->buses[0];
  bus.bitrate_bps = 1e6;
  // 90 frames of 111 to 135 bits each 10 ms: 100 to 122 % of the bus, beside the bench's own.
  for (std::uint32_t i = 0; i < 90; ++i) {
    bus.messages.push_back(support::CyclicMessage(0x600 + i, 10, 0.1 * i));
  }
  double simulated_s = 0, load = 1;
  bool as_before = true;
  std::uint64_t frames = 0;
  const std::clock_t begin = std::clock();  // processor time: others may be at work too
  double taken_s = 0;
  while (taken_s < 3) {
    VirtualClock clock;
    study::PlayOptions options;
    options.clock = &clock;
    options.pictures = false;
    const study::PlayResult result = study::Play(*loaded.bench, *loaded.scenario, options);
    simulated_s += ToSeconds(result.report.duration_ns);
    frames += result.frames;
    load = result.report.buses[0].load_measured;
    as_before = as_before && report::AllMet(result.report);
    taken_s = static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
  }
  const double ratio = simulated_s / taken_s;
  fmt::print(
      "1 Mbit/s taken to {:.1f} %: {:.0f} frames per simulated second, {:.0f} x real time "
      "(at least 20 wanted); verdicts {}\n",
      load * 100, static_cast<double>(frames) / simulated_s, ratio,
      as_before ? "unchanged" : "CHANGED");
  return ratio >= 20 && load >= 0.995 && as_before ? 0 : 1;
}

}  // namespace
}  // namespace drycrank

int main() { return drycrank::Main(); }
