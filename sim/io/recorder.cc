// SPDX-License-Identifier: Apache-2.0
#include "io/recorder.h"

namespace drycrank::io {

using std::chrono::steady_clock;

Recorder::Recorder(std::unique_ptr<RecordingFiles> files, WhenFull when_full)
    : files_(std::move(files)), when_full_(when_full), ring_(kRingFrames) {
  background_.emplace(std::vector<Backlog*>{this}, std::chrono::milliseconds(10));
}

Recorder::~Recorder() { static_cast<void>(Stop()); }

void Recorder::Take(const bus::RecordedFrame& frame) {
  const std::uint64_t taken = taken_.load(std::memory_order_relaxed);
  std::uint64_t passed_on = passed_on_.load(std::memory_order_acquire);
  while (taken - passed_on == kRingFrames) {
    if (when_full_ == WhenFull::kLeaveOut) {
      ++left_out_;
      return;
    }
    passed_on_.wait(passed_on, std::memory_order_acquire);
    passed_on = passed_on_.load(std::memory_order_acquire);
  }
  ring_[taken % kRingFrames] = frame;
  taken_.store(taken + 1, std::memory_order_release);
}

bool Recorder::WriteWaiting() {
  constexpr std::uint64_t kAtOnce = 1024;  // room is given back that often
  constexpr auto kSyncEvery = std::chrono::milliseconds(500);
  const std::uint64_t taken = taken_.load(std::memory_order_acquire);
  std::uint64_t passed_on = passed_on_.load(std::memory_order_relaxed);
  const bool any = passed_on != taken;
  while (passed_on != taken) {
    files_->Write(ring_[passed_on % kRingFrames]);
    if (++passed_on % kAtOnce != 0 && passed_on != taken) continue;
    passed_on_.store(passed_on, std::memory_order_release);
    passed_on_.notify_one();
  }
  unsynced_ = unsynced_ || any;
  if (unsynced_ && steady_clock::now() - synced_ >= kSyncEvery) {
    files_->Sync();
    synced_ = steady_clock::now();
    unsynced_ = false;
  }
  if (!failed_.load(std::memory_order_relaxed) && !files_->problem().empty()) {
    trouble_ = files_->problem();
    failed_.store(true, std::memory_order_release);
  }
  return any;
}

std::string Recorder::Stop() {
  background_.reset();
  if (unsynced_) files_->Sync();
  unsynced_ = false;
  const std::string problem = files_->Close();
  if (!problem.empty() || left_out_ == 0) return problem;
  return fmt::format("{}: the disk is too slow; {} frames were not recorded", files_->path(),
                     left_out_);
}

}  // namespace drycrank::io
