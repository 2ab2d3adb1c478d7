// SPDX-License-Identifier: Apache-2.0
#include "tools/level_player.h"

#include <algorithm>
#include <chrono>
#include <utility>

namespace drycrank::tools {
namespace {

constexpr TimeNs kAheadNs = 300 * kNsPerMs;
constexpr std::chrono::milliseconds kEach{20};

TimeNs Monotonic() {
  return std::chrono::nanoseconds(std::chrono::steady_clock::now().time_since_epoch()).count();
}

}  // namespace

LevelPlayer::LevelPlayer(output::Output& output) : thread_(output, handover_), origin_ns_(Monotonic()) {
  thread_.Alive();
  thread_.StartClock();
  feed_ = std::thread([this] { Run(); });
}

LevelPlayer::~LevelPlayer() { (void)Stop(); }

TimeNs LevelPlayer::Now() const { return Monotonic() - origin_ns_; }

void LevelPlayer::Tone(int channel, double hz, double peak_v) {
  const std::lock_guard lock(mutex_);
  sine_ = Sine{channel, FromSeconds(0.5 / hz), peak_v};
}

void LevelPlayer::Level(int channel, const Source& source) {
  const std::lock_guard lock(mutex_);
  sine_.reset();
  levels_.push_back({Now(), channel, source});
}

void LevelPlayer::Silence() {
  const std::lock_guard lock(mutex_);
  sine_.reset();
}

std::string LevelPlayer::Stop() {
  stopping_.store(true);
  if (feed_.joinable()) feed_.join();
  thread_.Stop();
  return thread_.failure();
}

void LevelPlayer::Run() {
  while (!stopping_.load()) {
    thread_.Alive();
    PutUntil(Now() + kAheadNs);
    std::this_thread::sleep_for(kEach);
  }
}

// A whole sine at a time: a tone never ends with half of one.
void LevelPlayer::PutUntil(TimeNs until_ns) {
  const std::lock_guard lock(mutex_);
  for (output::Given& level : std::exchange(levels_, {})) handover_.Put(level);
  if (!sine_) return;
  put_ns_ = std::max(put_ns_, Now());
  while (put_ns_ < until_ns || !is_up_) {
    const TimeNs end_ns = put_ns_ + sine_->half_ns;
    const double peak_v = is_up_ ? sine_->peak_v : -sine_->peak_v;
    handover_.Put({put_ns_, sine_->channel, Wave{put_ns_, end_ns, 0, 0, peak_v}});
    put_ns_ = end_ns;
    is_up_ = !is_up_;
  }
}

}  // namespace drycrank::tools
