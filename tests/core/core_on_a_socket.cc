// SPDX-License-Identifier: Apache-2.0
//
// The trigger core's node as a process of its own, its line a local socket, its pins lines of text:
//
//   core_on_a_socket SOCKET        "pin CHANNEL LEVEL NS", "safe LEVELS NS"; NS of CLOCK_MONOTONIC
//
// An edge is told when the board is told, up to 0.5 ms ahead; a `safe` takes back what is later.
#include <fcntl.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

#include <cstdio>
#include <cstring>

#include "core/board.h"
#include "core/core_node.h"

namespace {
int g_line = -1;
}

namespace drycrank::core {

int64_t BoardNow() {
  timespec now;
  clock_gettime(CLOCK_MONOTONIC, &now);
  return now.tv_sec * INT64_C(1'000'000'000) + now.tv_nsec;
}
void BoardSet(int32_t channel, bool level, int64_t at) {
  std::printf("pin %d %d %lld\n", channel, level, static_cast<long long>(at));
}
void BoardSafe(uint32_t levels) {
  std::printf("safe %u %lld\n", levels, static_cast<long long>(BoardNow()));
}
int BoardRead() {
  uint8_t byte;
  return g_line >= 0 && read(g_line, &byte, 1) == 1 ? byte : -1;
}
void BoardWrite(uint8_t byte) {
  if (g_line >= 0) (void)!send(g_line, &byte, 1, MSG_NOSIGNAL);
}

}  // namespace drycrank::core

int main(int count, char** words) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (count != 2 || std::strlen(words[1]) >= sizeof(address.sun_path)) return 2;
  std::strcpy(address.sun_path, words[1]);
  const int listener = socket(AF_UNIX, SOCK_STREAM, 0);
  if (bind(listener, reinterpret_cast<const sockaddr*>(&address), sizeof(address)) != 0) return 1;
  if (listen(listener, 1) != 0) return 1;
  fcntl(listener, F_SETFL, O_NONBLOCK);
  static drycrank::core::CoreNode node(5);
  for (;;) {
    // The line is one to whoever is there; the core itself sees no one come or go.
    if (const int next = accept(listener, nullptr, nullptr); next >= 0) {
      if (g_line >= 0) close(g_line);
      g_line = next;
      fcntl(g_line, F_SETFL, O_NONBLOCK);
    }
    node.Run();
    std::fflush(stdout);
    usleep(100);
  }
}
