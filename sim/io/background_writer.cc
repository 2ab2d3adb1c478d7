// SPDX-License-Identifier: Apache-2.0
#include "io/background_writer.h"

namespace drycrank::io {

BackgroundWriter::BackgroundWriter(std::vector<Backlog*> backlogs,
                                   std::chrono::milliseconds look_every)
    : backlogs_(std::move(backlogs)), look_every_(look_every) {
  for (Backlog* backlog : backlogs_) backlog->BeginBackground();
  thread_ = std::thread([this] { Run(); });
}

BackgroundWriter::~BackgroundWriter() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  stop_.notify_one();
  thread_.join();
  WriteAll();
  for (Backlog* backlog : backlogs_) backlog->EndBackground();
}

bool BackgroundWriter::WriteAll() {
  bool any = false;
  for (Backlog* backlog : backlogs_) any = backlog->WriteWaiting() || any;
  return any;
}

void BackgroundWriter::Run() {
  std::unique_lock lock(mutex_);
  while (!stopping_) {
    lock.unlock();
    const bool any = WriteAll();
    lock.lock();
    if (!any) stop_.wait_for(lock, look_every_, [this] { return stopping_; });
  }
}

}  // namespace drycrank::io
