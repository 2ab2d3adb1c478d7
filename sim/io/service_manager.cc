// SPDX-License-Identifier: Apache-2.0
#include "io/service_manager.h"

#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <charconv>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <cstring>

namespace drycrank::io {
namespace {

std::string_view Environment(const char* name) {
  const char* const value = std::getenv(name);
  return value == nullptr ? std::string_view() : value;
}

// 0: not there, or no number.
std::int64_t Number(std::string_view text) {
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc() && end == text.data() + text.size() ? value : 0;
}

TimeNs WatchdogNs() {
  const std::string_view whose = Environment("WATCHDOG_PID");
  if (!whose.empty() && Number(whose) != ::getpid()) return kNever;
  const std::int64_t us = Number(Environment("WATCHDOG_USEC"));
  return us > 0 && us < kNever / kNsPerUs ? us * kNsPerUs : kNever;
}

// -1: there is none, or it cannot be reached.
int SocketTo(std::string_view name) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  const bool is_address = name.size() > 1 && (name[0] == '/' || name[0] == '@');
  if (!is_address || name.size() >= sizeof(address.sun_path)) return -1;
  std::memcpy(address.sun_path, name.data(), name.size());
  if (name[0] == '@') address.sun_path[0] = '\0';
  const auto size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + name.size());
  const int made = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  if (made < 0) return -1;
  if (::connect(made, reinterpret_cast<const sockaddr*>(&address), size) == 0) return made;
  ::close(made);
  return -1;
}

}  // namespace

ServiceManager::ServiceManager()
    : socket_(SocketTo(Environment("NOTIFY_SOCKET"))), watchdog_ns_(WatchdogNs()) {}

ServiceManager::~ServiceManager() {
  if (socket_ >= 0) ::close(socket_);
}

void ServiceManager::Tell(std::string_view lines) const {
  if (socket_ < 0) return;
  if (::send(socket_, lines.data(), lines.size(), MSG_NOSIGNAL | MSG_DONTWAIT) < 0) return;
}

}  // namespace drycrank::io
