// SPDX-License-Identifier: Apache-2.0
//
// Eight channels at 192 kHz into memory: Hall sensors and coils of 60-2 wheels at 8,500 r/min, each edge
// at its own time between the samples, beside a floor of the same run: points taken from the same waves.
// Exits with 1 when it takes more than kMostTimesFloor of it. Then the same as the blocks of 2 ms of a card,
// levels set and its clock followed. Wanted is 20 times real time; it is printed.
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "output/sampled_wave.h"
#include "output/sound_stream.h"

namespace drycrank {
namespace {

constexpr int kRate = 192'000, kChannels = 8, kPasses = 5;
constexpr double kRunS = 2, kMostTimesFloor = 4, kMostTimesFloorStreamed = 6;

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

double Streamed(const std::vector<std::pair<int, Wave>>& waves, double& sum) {
  constexpr std::int64_t kBlock = kRate / 500, kBuffer = kRate / 20;
  const output::CardChannel coil{.full_scale_v = 10, .corner_hz = 2};
  output::SoundStream stream({.rate_hz = kRate, .channels = {kChannels, coil}});
  std::vector<float> block(kBlock * kChannels);
  const double begin_s = CpuS();
  auto next = waves.begin();
  for (std::int64_t frame = 0; frame < std::llround(kRunS * kRate); frame += kBlock) {
    const TimeNs now_ns = frame * kNsPerS / kRate;
    for (; next != waves.end() && next->second.begin_ns < now_ns; ++next) {
      stream.Add(next->first, next->second);
    }
    stream.Know(now_ns);
    stream.Fill({now_ns, frame, static_cast<double>(frame - std::min(frame, kBuffer))}, block);
    sum += static_cast<double>(block.back());
  }
  if (stream.report().late != 0) sum = 0;
  return CpuS() - begin_s;
}

std::vector<std::pair<int, Wave>> InOrder(const std::vector<Wave>& hall,
                                          const std::vector<Wave>& coil) {
  std::vector<std::pair<int, Wave>> waves;
  for (int channel = 0; channel < kChannels; ++channel) {
    for (const Wave& wave : channel % 2 == 0 ? hall : coil) waves.emplace_back(channel, wave);
  }
  std::ranges::stable_sort(waves, {}, [](const auto& wave) { return wave.second.begin_ns; });
  return waves;
}

int Main() {
  double floor_s = 1e9, sampled_s = 1e9, streamed_s = 1e9, sum = 0;
  const std::vector<Wave> hall = Waves(false), coil = Waves(true);
  const std::vector<std::pair<int, Wave>> all = InOrder(hall, coil);
  for (int pass = 0; pass < kPasses; ++pass) {
    double points_s = 0, all_s = 0;
    for (int channel = 0; channel < kChannels; ++channel) {
      const std::vector<Wave>& waves = channel % 2 == 0 ? hall : coil;
      points_s += Points(waves, sum);
      all_s += Sampled(waves, sum);
    }
    floor_s = std::min(floor_s, points_s);
    sampled_s = std::min(sampled_s, all_s);
    streamed_s = std::min(streamed_s, Streamed(all, sum));
  }
  const auto say = [&](const char* what, double took_s, double most) {
    fmt::print("{}: {:.0f} x real time; {:.2f} x the floor (points alone), at most {:g}\n", what,
               kRunS / took_s, took_s / floor_s, most);
    return took_s / floor_s <= most;
  };
  const bool is_fast = say("8 channels at 192 kHz", sampled_s, kMostTimesFloor);
  const bool streams = say("streamed to a card", streamed_s, kMostTimesFloorStreamed);
  return is_fast && streams && sum != 0 ? 0 : 1;
}

}  // namespace
}  // namespace drycrank

int main() { return drycrank::Main(); }
