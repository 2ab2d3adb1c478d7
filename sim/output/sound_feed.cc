// SPDX-License-Identifier: Apache-2.0
#include "output/sound_feed.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "types/nth.h"

namespace drycrank::output {
namespace {

constexpr int kBlocksPerSecond = 500;

std::string Times(std::uint64_t count, const char* one, const char* more) {
  return fmt::format("{} {}", count, count == 1 ? one : more);
}

}  // namespace

SoundFeed::SoundFeed(PcmPort& port, const SoundFormat& format)
    : port_(port),
      format_(format),
      stream_(format),
      block_frames_(format.rate_hz / kBlocksPerSecond),
      buffer_frames_(
          static_cast<int>(std::lround(ToSeconds(format.latency_ns) * format.rate_hz / 2))),
      block_(AsSize(block_frames_) * format.channels.size()) {}

std::string SoundFeed::Open() {
  return port_.Open(format_.rate_hz, static_cast<int>(format_.channels.size()), buffer_frames_);
}

std::string SoundFeed::Start() {
  is_started_ = true;
  return port_.Start();
}

void SoundFeed::Restart(TimeNs now_ns) {
  stream_.Underrun();
  failure_ = port_.Start();
  written_ = 0;
  started_ns_ = now_ns;
}

std::int64_t SoundFeed::Room(TimeNs now_ns, const PcmPort::State& state) const {
  const double most = ToSeconds(now_ns - started_ns_) * format_.rate_hz * (1 + kMostPpm * 1e-6);
  const auto paced = static_cast<std::int64_t>(most) + buffer_frames_ - written_;
  return std::min({state.room, buffer_frames_ - state.waiting, paced});
}

// What never waits keeps no time: it counts as playing at its nominal rate what it was given.
double SoundFeed::Played(TimeNs now_ns, const PcmPort::State& state) {
  keeps_time_ = keeps_time_ || state.waiting > 0;
  const auto given = static_cast<double>(written_);
  if (keeps_time_) return given - static_cast<double>(state.waiting);
  return std::min(given, ToSeconds(now_ns - started_ns_) * format_.rate_hz);
}

void SoundFeed::Beat(TimeNs now_ns) {
  if (!is_started_ || !failure_.empty()) return;
  stream_.Know(now_ns);
  if (written_ == 0) started_ns_ = now_ns;
  PcmPort::State state = port_.Look();
  if (state.has_run_dry) {
    Restart(now_ns);
    state = port_.Look();
  }
  const double played = Played(now_ns, state);
  for (auto room = Room(now_ns, state); room >= block_frames_ && failure_.empty();
       room -= block_frames_) {
    stream_.Fill({now_ns, written_, played}, block_);
    failure_ = port_.Write(block_);
    written_ += block_frames_;
  }
}

void SoundFeed::Stop() {
  stream_.Silence();
  if (is_started_) port_.Stop();
  is_started_ = false;
}

std::string SoundFeed::Report() const {
  const SoundReport report = stream_.report();
  std::string said = "card's clock not measured";
  if (report.error_ppm) {
    said = !keeps_time_ || std::abs(*report.error_ppm) > kMostPpm * 0.9
               ? fmt::format("the device keeps no time of its own, {:+.0f} ppm", *report.error_ppm)
               : fmt::format("card {:.1f} ppm {}", std::abs(*report.error_ppm),
                             *report.error_ppm < 0 ? "slow" : "fast");
  }
  return fmt::format(
      "{}; {}, the run late {}, {:.3f} s of silence after them, {} clipped, {} lost", said,
      Times(report.underruns, "underrun", "underruns"), Times(report.late, "time", "times"),
      static_cast<double>(report.silent_frames) / format_.rate_hz,
      Times(report.clipped, "sample", "samples"), Times(report.lost_waves, "wave", "waves"));
}

}  // namespace drycrank::output
