// SPDX-License-Identifier: Apache-2.0
#include "io/real_clock.h"

#include <poll.h>
#include <sys/prctl.h>
#include <time.h>

#include <algorithm>
#include <array>
#include <cassert>

namespace drycrank::io {
namespace {

TimeNs Read(clockid_t clock) {
  timespec now{};
  clock_gettime(clock, &now);
  return now.tv_sec * kNsPerS + now.tv_nsec;
}

}  // namespace

RealClock::RealClock() {
  prctl(PR_SET_TIMERSLACK, 1UL);
  Start();
}

void RealClock::Start() {
  since_1970_ns_ = Read(CLOCK_REALTIME);
  origin_ns_ = Read(CLOCK_MONOTONIC);
}

TimeNs RealClock::Now() { return Read(CLOCK_MONOTONIC) - origin_ns_; }

void RealClock::WaitUntil(TimeNs due_ns, std::span<const int> descriptors) {
  assert(descriptors.size() <= kMaxDescriptors);
  std::array<pollfd, kMaxDescriptors> polled{};
  const std::size_t count = std::min(descriptors.size(), kMaxDescriptors);
  for (std::size_t i = 0; i < count; ++i) polled[i] = {descriptors[i], POLLIN, 0};

  const TimeNs left_ns = due_ns - Now();
  if (left_ns <= 0) return;
  const timespec timeout{left_ns / kNsPerS, left_ns % kNsPerS};
  ppoll(polled.data(), count, due_ns == kNever ? nullptr : &timeout, nullptr);
}

}  // namespace drycrank::io
