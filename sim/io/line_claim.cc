// SPDX-License-Identifier: Apache-2.0
#include "io/line_claim.h"

#include <fmt/format.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <cerrno>
#include <cstddef>
#include <cstring>

#include "io/folder_lock.h"

namespace drycrank::io {
namespace {

struct Name {
  sockaddr_un address{};
  socklen_t size = 0;
  const sockaddr* get() const { return reinterpret_cast<const sockaddr*>(&address); }
};

// An abstract name begins with a zero byte; its length counts, not an end.
Name NameOf(const struct stat& facts) {
  const std::string text = S_ISCHR(facts.st_mode)
                               ? fmt::format("drycrank-line-{:x}", facts.st_rdev)
                               : fmt::format("drycrank-line-{:x}-{:x}", facts.st_dev, facts.st_ino);
  Name name;
  name.address.sun_family = AF_UNIX;
  text.copy(name.address.sun_path + 1, sizeof(name.address.sun_path) - 1);
  name.size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + 1 + text.size());
  return name;
}

Socket Unnamed() { return Socket(socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0)); }

// Who listens there is known to the kernel.
pid_t ProcessAt(const Name& name) {
  const Socket asker = Unnamed();
  if (connect(asker.get(), name.get(), name.size) != 0) return 0;
  ucred owner{};
  socklen_t size = sizeof(owner);
  return getsockopt(asker.get(), SOL_SOCKET, SO_PEERCRED, &owner, &size) == 0 ? owner.pid : 0;
}

}  // namespace

std::string LineClaim::Take(const std::string& path) {
  Release();
  struct stat facts {};
  if (stat(path.c_str(), &facts) != 0) return fmt::format("look at {}: {}", path, std::strerror(errno));
  const Name name = NameOf(facts);
  Socket claim = Unnamed();
  if (bind(claim.get(), name.get(), name.size) == 0 && listen(claim.get(), SOMAXCONN) == 0) {
    name_ = std::move(claim);
    return "";
  }
  if (errno != EADDRINUSE) return fmt::format("claim {}: {}", path, std::strerror(errno));
  const pid_t owner = ProcessAt(name);
  if (owner == getpid()) return path + " is that of two outputs; give each a line of its own";
  return fmt::format("{} is in use by {}; wait until that has ended, or end it", path,
                     ProcessInWords(owner));
}

}  // namespace drycrank::io
