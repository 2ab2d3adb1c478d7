// SPDX-License-Identifier: Apache-2.0
#include "io/go_first.h"

#include <sched.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdint>

namespace drycrank::io {
namespace {

constexpr std::uint64_t kSliceNs = 100'000;  // the kernel's least
constexpr int kNicest = -10;                 // enough; what the system itself needs goes before
constexpr int kNiceOfLimit0 = 20;             // getrlimit(2): RLIMIT_NICE n allows 20 - n

// As the kernel has it (sched_setattr(2)); the C library has none.
struct SchedAttributes {
  std::uint32_t size = sizeof(SchedAttributes);
  std::uint32_t policy = SCHED_OTHER;
  std::uint64_t flags = 0;
  std::int32_t nice = 0;
  std::uint32_t priority = 0;
  std::uint64_t runtime = 0, deadline = 0, period = 0;
};
static_assert(sizeof(SchedAttributes) == 48);

void BeNicer(int own) {
  rlimit limit{};
  if (getrlimit(RLIMIT_NICE, &limit) != 0) return;
  constexpr auto kEnough = static_cast<rlim_t>(kNiceOfLimit0 - kNicest);
  const int allowed = kNiceOfLimit0 - static_cast<int>(std::min(limit.rlim_cur, kEnough));
  // With rights the limit does not count.
  for (const int wanted : {std::min(0, allowed), allowed}) {
    if (wanted < own && setpriority(PRIO_PROCESS, 0, wanted) == 0) return;
  }
}

}  // namespace

void GoSooner() {
  BeNicer(getpriority(PRIO_PROCESS, 0));
  SchedAttributes attributes;
  attributes.nice = getpriority(PRIO_PROCESS, 0);
  attributes.runtime = kSliceNs;
  syscall(SYS_sched_setattr, 0, &attributes, 0);
}

bool GoFirst(int priority, bool alone) {
  sched_param wanted{};
  wanted.sched_priority = priority;
  if (sched_setscheduler(0, SCHED_FIFO | (alone ? SCHED_RESET_ON_FORK : 0), &wanted) == 0) return true;
  const int why = errno;
  GoSooner();
  errno = why;
  return false;
}

}  // namespace drycrank::io
