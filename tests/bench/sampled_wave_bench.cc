// SPDX-License-Identifier: Apache-2.0
//
// Eight channels at 192 kHz into memory: Hall sensors and coils of 60-2 wheels at 8,500 r/min, each edge
// at its own time between the samples, beside a floor of the same run: points taken from the same waves.
// Exits with 1 when it takes more than kMostTimesFloor of it. Wanted is 20 times real time; it is printed.
#include <fmt/format.h>
#include <time.h>

#include <vector>

#include "output/sampled_wave.h"

namespace drycrank {
namespace {

constexpr int kRate = 192'000, kChannels = 8, kPasses = 5;
constexpr double kRunS = 2, kMostTimesFloor = 4;

double CpuS() {
  timespec now{};
  ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

std::vector<Wave> Waves(bool coil) {
  std::vector<Wave> waves;
  const double pitch_s = 60.0 / 8500 / 60;
  const auto end_ns = FromSeconds(kRunS);
  for (int i = 0; FromSeconds(i * pitch_s) < end_ns; ++i) {
    if (i % 60 >= 58) continue;
    const TimeNs begin = FromSeconds(i * pitch_s), middle = FromSeconds((i + 0.5) * pitch_s);
    if (coil) {
      waves.push_back({begin, middle, 0, 0, 8});
      waves.push_back({middle, FromSeconds((i + 1) * pitch_s), 0, 0, -8});
    } else {
      waves.push_back({begin, kNever, 0.4, 0.4, 0});
      waves.push_back({middle, kNever, 5, 5, 0});
    }
  }
  return waves;
}

double Points(const std::vector<Wave>& waves, double& sum) {
  const double begin_s = CpuS();
  std::size_t at = 0;
  for (int n = 0; n < kRunS * kRate; ++n) {
    const TimeNs t_ns = static_cast<TimeNs>(n) * kNsPerS / kRate;
    while (at + 1 < waves.size() && waves[at + 1].begin_ns <= t_ns) ++at;
    sum += waves[at].At(t_ns);
  }
  return CpuS() - begin_s;
}

double Sampled(const std::vector<Wave>& waves, double& sum) {
  const double begin_s = CpuS();
  output::SampledWave sampled(kRate);
  for (const Wave& wave : waves) {
    sampled.Add(wave);
    for (const auto settled = sampled.Know(wave.begin_ns); sampled.taken() < settled;) {
      sum += sampled.Next();
    }
  }
  return CpuS() - begin_s;
}

int Main() {
  double floor_s = 1e9, sampled_s = 1e9, sum = 0;
  const std::vector<Wave> hall = Waves(false), coil = Waves(true);
  for (int pass = 0; pass < kPasses; ++pass) {
    double points_s = 0, all_s = 0;
    for (int channel = 0; channel < kChannels; ++channel) {
      const std::vector<Wave>& waves = channel % 2 == 0 ? hall : coil;
      points_s += Points(waves, sum);
      all_s += Sampled(waves, sum);
    }
    floor_s = std::min(floor_s, points_s);
    sampled_s = std::min(sampled_s, all_s);
  }
  const double times = sampled_s / floor_s;
  fmt::print(
      "8 channels at 192 kHz: {:.0f} x real time; {:.2f} x the floor (points alone), at most "
      "{:g}\n",
      kRunS / sampled_s, times, kMostTimesFloor);
  return times <= kMostTimesFloor && sum != 0 ? 0 : 1;
}

}  // namespace
}  // namespace drycrank

int main() { return drycrank::Main(); }
