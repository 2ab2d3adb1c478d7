// SPDX-License-Identifier: Apache-2.0
#include "io/watchdog.h"

#include <sched.h>
#include <unistd.h>

#include <utility>

namespace drycrank::io {
namespace {

constexpr int kPriority = 46;  // above that of a run (real_time.h), below the kernel's own threads

}  // namespace

bool Heartbeat::Step() {
  const bool resting = resting_.load(std::memory_order_acquire);
  const std::uint64_t beats = beats_.load(std::memory_order_acquire);
  if (resting || beats != std::exchange(seen_, beats)) {
    steps_ = 0;
    return false;
  }
  return ++steps_ >= kSteps;
}

Watchdog::Watchdog(std::chrono::milliseconds limit, std::function<void()> last_words)
    : limit_(limit), last_words_(std::move(last_words)), thread_([this] { Run(); }) {}

Watchdog::~Watchdog() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  stop_.notify_one();
  thread_.join();
}

void Watchdog::Run() {
  sched_param priority{};
  priority.sched_priority = kPriority;
  sched_setscheduler(0, SCHED_FIFO, &priority);  // refused: an ordinary thread has to do
  std::unique_lock lock(mutex_);
  while (!stop_.wait_for(lock, limit_ / Heartbeat::kSteps, [this] { return stopping_; })) {
    if (!heart_.Step()) continue;
    alarm(1);  // the process ends then, whatever the last words wait for
    if (last_words_) last_words_();
    _exit(kExitCode);
  }
}

}  // namespace drycrank::io
