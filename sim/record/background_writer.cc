// SPDX-License-Identifier: Apache-2.0
#include "record/background_writer.h"

#include <chrono>

namespace drycrank::record {

BackgroundWriter::BackgroundWriter(std::vector<TextFile*> files) : files_(std::move(files)) {
  for (TextFile* file : files_) file->BeginBackground();
  thread_ = std::thread([this] { Run(); });
}

BackgroundWriter::~BackgroundWriter() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  stop_.notify_one();
  thread_.join();
  for (TextFile* file : files_) file->EndBackground();
}

void BackgroundWriter::Run() {
  std::unique_lock lock(mutex_);
  while (!stop_.wait_for(lock, std::chrono::milliseconds(20), [this] { return stopping_; })) {
    lock.unlock();
    for (TextFile* file : files_) file->WriteHandedOver();
    lock.lock();
  }
}

}  // namespace drycrank::record
