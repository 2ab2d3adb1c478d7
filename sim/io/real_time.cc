// SPDX-License-Identifier: Apache-2.0
#include "io/real_time.h"

#include <fmt/format.h>
#include <linux/capability.h>
#include <sched.h>
#include <sys/mman.h>
#include <sys/resource.h>

#include <cerrno>
#include <cstring>

#include "io/go_first.h"
#include "io/host_reader.h"

namespace drycrank::io {
namespace {

// More than a run's deepest calls need; touched once, so that it is there when it counts.
constexpr std::size_t kStackBytes = 256 * 1024;

void TouchStack() {
  char stack[kStackBytes];
  volatile char* const touched = stack;
  for (std::size_t i = 0; i < kStackBytes; i += 1024) touched[i] = 0;
}

// With a limit, memory taken later would be refused once it is reached, and the run with it. Root
// of a container may lack the capability, and a program may have it without root.
bool MayLockAll() {
  rlimit limit{};
  return HasCapability(CAP_IPC_LOCK) ||
         (getrlimit(RLIMIT_MEMLOCK, &limit) == 0 && limit.rlim_cur == RLIM_INFINITY);
}

}  // namespace

RealTime::RealTime(int priority) {
  scheduled_ = GoFirst(priority, /*alone=*/true);
  if (!scheduled_) {
    problems_.push_back(
        fmt::format("real-time scheduling: {}; on a busy machine frames leave late. As root, or: "
                    "setcap cap_sys_nice,cap_ipc_lock=ep PROGRAM",
                    std::strerror(errno)));
  }
  if (!MayLockAll()) {
    problems_.push_back(
        "memory is not locked: the limit is too low; under memory pressure frames leave late. "
        "ulimit -l unlimited");
    return;
  }
  locked_ = mlockall(MCL_CURRENT | MCL_FUTURE) == 0;
  if (!locked_) {
    problems_.push_back(fmt::format(
        "memory is not locked: {}; under memory pressure frames leave late. ulimit -l unlimited",
        std::strerror(errno)));
  }
  TouchStack();
}

RealTime::~RealTime() {
  if (locked_) munlockall();
  if (!scheduled_) return;
  const sched_param param{};
  sched_setscheduler(0, SCHED_OTHER | SCHED_RESET_ON_FORK, &param);
}

}  // namespace drycrank::io
