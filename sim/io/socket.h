// SPDX-License-Identifier: Apache-2.0
//
// What the two kinds of bus sockets share: an owned descriptor, and reading with the kernel's
// receive stamp and loss count.
#ifndef DRYCRANK_IO_SOCKET_H_
#define DRYCRANK_IO_SOCKET_H_

#include <netinet/in.h>

#include <cstdint>
#include <limits>
#include <span>
#include <utility>

#include "types/clock.h"

namespace drycrank::io {

// A descriptor that is closed with its owner; -1 when there is none.
class Socket {
 public:
  Socket() = default;
  explicit Socket(int descriptor) : descriptor_(descriptor) {}
  ~Socket() { Close(); }
  Socket(Socket&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}
  Socket& operator=(Socket&& other) noexcept;

  int get() const { return descriptor_; }
  bool is_open() const { return descriptor_ >= 0; }
  void Close();

 private:
  int descriptor_ = -1;
};

template <class T>
bool SetOption(const Socket& socket, int level, int name, const T& value) {
  return setsockopt(socket.get(), level, name, &value, sizeof(value)) == 0;
}

// A large receive buffer, receive stamps and the count of frames lost for want of buffer.
bool PrepareToReceive(const Socket& socket);

// The kernel switches receive stamps on in the background once the first socket has asked for them;
// until then it gives the time of reading for the time of reception. Waits for the switch, at most
// some tens of milliseconds, so for start-up only. REQUIRES: a socket has been prepared and is
// open.
void WaitForStamps();

struct Datagram {
  int error = 0;           // errno; EAGAIN when there is nothing to read
  std::size_t size = 0;    // bytes read
  bool truncated = false;  // it was longer than the buffer
  TimeNs age_ns = 0;       // since the kernel received it, >= 0
  bool own = false;        // a CAN frame of this socket that has been sent
  TimeNs kernel_ns = 0;    // the kernel's stamp, and the controller's own if it has one; else 0
  TimeNs hardware_ns = 0;
  std::uint32_t lost = 0;  // lost on this socket so far, wraps; 0 as long as nothing was lost
  sockaddr_in from{};      // IPv4 sockets only
};
// Does not block.
Datagram Read(const Socket& socket, std::span<std::uint8_t> buffer);

// Turns ages into times of reception on the run's clock that never go back; negative: received
// before the run began. An age is of the wall clock: set forward while a frame waited, it makes that
// frame hours old. So what came after a look that found nothing is not older than that look, but for
// what a controller and its driver may hold back.
class ReceptionTime {
 public:
  static constexpr TimeNs kLongestUnderWayNs = 10 * kNsPerMs;

  explicit ReceptionTime(Clock& clock) : clock_(clock) {}
  TimeNs Of(TimeNs age_ns);
  void FoundNothing() { found_nothing_ns_ = clock_.Now(); }

 private:
  Clock& clock_;
  TimeNs last_ns_ = std::numeric_limits<TimeNs>::min();
  TimeNs found_nothing_ns_ = std::numeric_limits<TimeNs>::min() / 2;
};

}  // namespace drycrank::io

#endif  // DRYCRANK_IO_SOCKET_H_
