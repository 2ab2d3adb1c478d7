// SPDX-License-Identifier: Apache-2.0
//
// sound_player DEVICE SECONDS [STALL_AT_S STALL_S]: plays a 60-2 wheel with a coil and a half-moon with a
// Hall sensor at 1,200 r/min on a sound card, as an output is driven: Give at its time, Beat each
// millisecond. It stands still for STALL_S, as a computer that is busy. Says what the output reports.
#include <fmt/format.h>
#include <time.h>

#include <algorithm>
#include <cstdlib>

#include "io/alsa_port.h"
#include "output/sound_output.h"

namespace drycrank {
namespace {

constexpr double kNsPerDeg = 1e9 / (6.0 * 1200);
constexpr double kCrankDeg = 300, kCamDeg = 330.3;

TimeNs Now() {
  timespec now{};
  ::clock_gettime(CLOCK_MONOTONIC, &now);
  return now.tv_sec * kNsPerS + now.tv_nsec;
}

void Sleep(TimeNs ns) {
  const timespec wait{ns / kNsPerS, ns % kNsPerS};
  ::nanosleep(&wait, nullptr);
}

TimeNs At(double deg) { return static_cast<TimeNs>(deg * kNsPerDeg); }

// The coil's lobes: up around a tooth's begin, down around its end, zero at its centre; 3 degrees wide.
class Wheels {
 public:
  explicit Wheels(output::Output& to) : to_(to) {}
  void GiveUpTo(TimeNs now_ns) {
    while (true) {
      const TimeNs lobe_ns = At(kCrankDeg + 3 * (lobe_ - 0.5)), cam_ns = At(kCamDeg + 360 * cam_);
      if (std::min(lobe_ns, cam_ns) > now_ns) return;
      lobe_ns < cam_ns ? Lobe() : Cam(cam_ns);
    }
  }

 private:
  void Cam(TimeNs t_ns) {
    to_.Give({t_ns, 1, Source{.kind = SourceKind::kSwitched, .value = cam_ % 2 == 0 ? 1.0 : 0.0}});
    ++cam_;
  }
  void Lobe() {
    const int tooth = lobe_ / 2 % 60;
    if (tooth >= 58) {
      ++lobe_;
      return;
    }
    const TimeNs begin_ns = At(kCrankDeg + 3 * (lobe_ - 0.5)), end_ns = At(kCrankDeg + 3 * (lobe_ + 0.5));
    const double peak_v = lobe_++ % 2 == 0 ? 4 : -4;
    to_.Give({begin_ns, 0, Wave{begin_ns, end_ns, 0, 0, peak_v}});
  }

  output::Output& to_;
  int lobe_ = 0, cam_ = 0;
};

profile::out::Sound Card(const char* device) {
  profile::out::Sound card;
  card.device = device;
  card.latency_ms = 600;
  card.channels.resize(2);
  for (int i = 0; i < 2; ++i) {
    card.channels[static_cast<std::size_t>(i)].output = i + 1;
    card.channels[static_cast<std::size_t>(i)].full_scale_v = 5;
    card.channels[static_cast<std::size_t>(i)].most_v = 4;
  }
  return card;
}

int Main(int count, char** words) {
  if (count < 3) return 2;
  output::SoundOutput output(Card(words[1]), std::make_unique<io::AlsaPort>(words[1]));
  std::string problem = output.Open();
  if (problem.empty()) problem = output.Arm();
  if (!problem.empty()) {
    fmt::print("{}\n", problem);
    return 3;
  }
  fmt::print("{}\n", output.Description());
  Wheels wheels(output);
  TimeNs stall_ns = count > 4 ? FromSeconds(std::atof(words[3])) : kNever;
  const TimeNs begin_ns = Now(), end_ns = FromSeconds(std::atof(words[2]));
  for (TimeNs now_ns = 0; now_ns < end_ns && output.failure().empty(); now_ns = Now() - begin_ns) {
    wheels.GiveUpTo(now_ns);
    output.Beat(now_ns);
    if (now_ns >= stall_ns) {
      stall_ns = kNever;
      Sleep(FromSeconds(std::atof(words[4])));
    }
    Sleep(kNsPerMs);
  }
  output.Disarm();
  fmt::print("{}{}\n", output.failure(), output.Report());
  return output.failure().empty() ? 0 : 3;
}

}  // namespace
}  // namespace drycrank

int main(int count, char** words) { return drycrank::Main(count, words); }
