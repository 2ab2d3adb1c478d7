// SPDX-License-Identifier: Apache-2.0
#include "io/socket.h"

#include <linux/errqueue.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>

#include "types/nth.h"

namespace drycrank::io {
namespace {

constexpr long kProbeNs = 200'000;
constexpr int kMaxProbes = 100;
constexpr int kReceiveBufferBytes = 8 << 20;  // a reader that sleeps for a second loses nothing

template <class Timespec>
TimeNs NsOf(const Timespec& time) {
  return time.tv_sec * kNsPerS + time.tv_nsec;
}

TimeNs RealtimeNs() {
  timespec now{};
  clock_gettime(CLOCK_REALTIME, &now);
  return NsOf(now);
}

// A socket whose datagrams come back to itself over loopback; not open if that cannot be.
Socket OpenProbe() {
  Socket probe(::socket(AF_INET, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
  sockaddr_in self{};
  self.sin_family = AF_INET;
  self.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  auto* address = reinterpret_cast<sockaddr*>(&self);
  socklen_t size = sizeof(self);
  if (!probe.is_open() || bind(probe.get(), address, size) != 0 ||
      getsockname(probe.get(), address, &size) != 0 || connect(probe.get(), address, size) != 0 ||
      !SetOption(probe, SOL_SOCKET, SO_TIMESTAMPNS, 1)) {
    probe.Close();
  }
  return probe;
}

}  // namespace

void WaitForStamps() {
  const Socket probe = OpenProbe();
  std::array<std::uint8_t, 1> byte{};
  for (int i = 0; i < kMaxProbes && probe.is_open(); ++i) {
    if (send(probe.get(), byte.data(), byte.size(), MSG_NOSIGNAL) < 0) return;
    const timespec wait{0, kProbeNs};
    nanosleep(&wait, nullptr);
    const Datagram datagram = Read(probe, byte);
    if (datagram.error == 0 && datagram.age_ns >= kProbeNs / 2) return;
  }
}

Socket& Socket::operator=(Socket&& other) noexcept {
  if (this != &other) {
    Close();
    descriptor_ = std::exchange(other.descriptor_, -1);
  }
  return *this;
}

void Socket::Close() {
  if (descriptor_ >= 0) close(descriptor_);
  descriptor_ = -1;
}

bool PrepareToReceive(const Socket& socket) {
  // FORCE passes the system's limit but needs a privilege; without it the limit is what we get.
  if (!SetOption(socket, SOL_SOCKET, SO_RCVBUFFORCE, kReceiveBufferBytes)) {
    SetOption(socket, SOL_SOCKET, SO_RCVBUF, kReceiveBufferBytes);
  }
  return SetOption(socket, SOL_SOCKET, SO_TIMESTAMPNS, 1) &&
         SetOption(socket, SOL_SOCKET, SO_RXQ_OVFL, 1);
}

Datagram Read(const Socket& socket, std::span<std::uint8_t> buffer) {
  Datagram datagram;
  alignas(cmsghdr) char control[256];
  iovec part{buffer.data(), buffer.size()};
  msghdr message{};
  message.msg_name = &datagram.from;
  message.msg_namelen = sizeof(datagram.from);
  message.msg_iov = &part;
  message.msg_iovlen = 1;
  message.msg_control = control;
  message.msg_controllen = sizeof(control);
  const ssize_t size = recvmsg(socket.get(), &message, MSG_DONTWAIT);
  if (size < 0) {
    datagram.error = errno;
    return datagram;
  }
  datagram.size = AsSize(size);
  datagram.truncated = (message.msg_flags & MSG_TRUNC) != 0;
  datagram.own = (message.msg_flags & MSG_CONFIRM) != 0;
  for (cmsghdr* c = CMSG_FIRSTHDR(&message); c != nullptr; c = CMSG_NXTHDR(&message, c)) {
    if (c->cmsg_level != SOL_SOCKET) continue;
    if (c->cmsg_type == SCM_TIMESTAMPNS) {
      timespec stamp{};
      std::memcpy(&stamp, CMSG_DATA(c), sizeof(stamp));
      datagram.kernel_ns = NsOf(stamp);
      datagram.age_ns = std::max<TimeNs>(0, RealtimeNs() - datagram.kernel_ns);
    } else if (c->cmsg_type == SCM_TIMESTAMPING) {
      scm_timestamping stamps{};
      std::memcpy(&stamps, CMSG_DATA(c), sizeof(stamps));
      datagram.hardware_ns = NsOf(stamps.ts[2]);
    } else if (c->cmsg_type == SO_RXQ_OVFL) {
      std::memcpy(&datagram.lost, CMSG_DATA(c), sizeof(datagram.lost));
    }
  }
  return datagram;
}

TimeNs ReceptionTime::Of(TimeNs age_ns) {
  const TimeNs now_ns = clock_.Now();
  const TimeNs earliest_ns = std::min(found_nothing_ns_ - kLongestUnderWayNs, now_ns);
  last_ns_ = std::max({last_ns_, earliest_ns, now_ns - age_ns});
  return last_ns_;
}

}  // namespace drycrank::io
