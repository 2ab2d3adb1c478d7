// SPDX-License-Identifier: Apache-2.0
#include "io/recorder.h"

#include <chrono>

namespace drycrank::io {

Recorder::Recorder(std::unique_ptr<RecordingFiles> files, WhenFull when_full)
    : files_(std::move(files)), when_full_(when_full) {
  taken_.reserve(kBufferFrames);
  thread_ = std::thread([this] { Run(); });
}

Recorder::~Recorder() { Stop(); }

void Recorder::Take(const bus::RecordedFrame& frame) {
  bool half_full = false;
  {
    std::unique_lock lock(mutex_);
    if (taken_.size() == kBufferFrames) {
      if (when_full_ == WhenFull::kLeaveOut) {
        ++left_out_;
        return;
      }
      room_.wait(lock, [this] { return taken_.size() < kBufferFrames; });
    }
    taken_.push_back(frame);
    half_full = taken_.size() == kBufferFrames / 2;
  }
  if (half_full) wake_.notify_one();
}

void Recorder::Run() {
  std::vector<bus::RecordedFrame> writing;
  writing.reserve(kBufferFrames);
  bool stopping = false;
  while (!stopping) {
    {
      std::unique_lock lock(mutex_);
      wake_.wait_for(lock, std::chrono::milliseconds(500),
                     [this] { return stopping_ || taken_.size() >= kBufferFrames / 2; });
      stopping = stopping_;
      writing.swap(taken_);
    }
    room_.notify_one();
    for (const bus::RecordedFrame& frame : writing) files_->Write(frame);
    if (!writing.empty()) files_->Sync();
    writing.clear();
  }
}

std::string Recorder::Stop() {
  if (thread_.joinable()) {
    {
      const std::lock_guard lock(mutex_);
      stopping_ = true;
    }
    wake_.notify_one();
    thread_.join();
  }
  const std::string problem = files_->Close();
  if (!problem.empty() || left_out_ == 0) return problem;
  return fmt::format("{}: the disk is too slow; {} frames were not recorded", files_->path(),
                     left_out_);
}

}  // namespace drycrank::io
