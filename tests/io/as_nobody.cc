// SPDX-License-Identifier: Apache-2.0
#include "tests/io/as_nobody.h"

#include <fcntl.h>
#include <grp.h>
#include <linux/capability.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace drycrank::io {
namespace {

constexpr unsigned kNobody = 65534;

bool Limit(__rlimit_resource_t which, rlim_t most) {
  const rlimit limit{most, most};
  return setrlimit(which, &limit) == 0;
}

bool KeepOnly(const std::vector<int>& kept) {
  __user_cap_header_struct head{_LINUX_CAPABILITY_VERSION_3, 0};
  std::array<__user_cap_data_struct, 2> sets{};
  for (const int capability : kept) {
    auto& set = sets[static_cast<std::size_t>(capability) / 32];
    set.effective |= 1u << (capability % 32);
    set.permitted = set.effective;
  }
  return syscall(SYS_capset, &head, sets.data()) == 0;
}

// Empty, or the step that failed.
std::string Become(const std::vector<int>& kept) {
  const auto failed = [](const char* step) {
    return std::string("cannot ") + step + ": " + std::strerror(errno);
  };
  if (!Limit(RLIMIT_RTPRIO, 0) || !Limit(RLIMIT_MEMLOCK, 64 << 10)) return failed("lower limits");
  if (prctl(PR_SET_KEEPCAPS, 1, 0, 0, 0) != 0) return failed("keep capabilities");
  if (setgroups(0, nullptr) != 0) return failed("leave all groups");
  if (setresgid(kNobody, kNobody, kNobody) != 0) return failed("change the group");
  if (setresuid(kNobody, kNobody, kNobody) != 0) return failed("change the user");
  return KeepOnly(kept) ? "" : failed("set capabilities");
}

}  // namespace

std::string AsNobody(const std::vector<int>& kept, const std::function<std::string()>& what) {
  std::array<int, 2> ends{};
  if (pipe2(ends.data(), O_CLOEXEC) != 0) return "cannot make a pipe";
  const pid_t child = fork();
  if (child == 0) {
    std::string said = Become(kept);
    if (said.empty()) said = what();
    const bool written =
        write(ends[1], said.data(), said.size()) == static_cast<ssize_t>(said.size());
    _exit(written ? 0 : 1);
  }
  close(ends[1]);
  std::string said;
  std::array<char, 512> buffer;
  for (ssize_t size = 0; (size = read(ends[0], buffer.data(), buffer.size())) > 0;) {
    said.append(buffer.data(), static_cast<std::size_t>(size));
  }
  close(ends[0]);
  int status = -1;
  waitpid(child, &status, 0);
  return status == 0 ? said : "cannot: the process ended badly; " + said;
}

}  // namespace drycrank::io
