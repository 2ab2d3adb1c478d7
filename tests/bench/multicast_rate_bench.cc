// SPDX-License-Identifier: Apache-2.0
//
// 16,000 frames per second through the multicast bus, 16 in each millisecond, for SECONDS (5):
// nothing may be lost, and nothing arrive out of order.
#include <fmt/format.h>
#include <poll.h>

#include <atomic>
#include <cstdlib>
#include <cstring>
#include <thread>

#include "io/multicast_bus.h"
#include "io/real_clock.h"
#include "io/real_time.h"

namespace drycrank {
namespace {

constexpr std::uint16_t kPort = 43912;
constexpr int kPerMs = 16;

struct Received {
  std::uint64_t frames = 0, out_of_order = 0, lost = 0;
};

void Receive(io::MulticastBus& bus, std::uint64_t wanted, Received& out) {
  std::uint64_t next = 0;
  pollfd descriptor{bus.FileDescriptor(), POLLIN, 0};
  while (out.frames < wanted && poll(&descriptor, 1, 2000) > 0) {
    while (const auto frame = bus.Receive()) {
      std::uint64_t number = 0;
      std::memcpy(&number, frame->frame.data.data(), sizeof(number));
      if (number != next) ++out.out_of_order;
      next = number + 1;
      ++out.frames;
    }
  }
  out.lost = bus.counters().receive_lost + bus.counters().malformed;
}

int Main(int seconds) {
  io::RealClock clock;
  io::MulticastBus sender(clock, 0, io::kDefaultGroup, kPort);
  io::MulticastBus receiver(clock, 0, io::kDefaultGroup, kPort);
  const std::uint64_t wanted = static_cast<std::uint64_t>(seconds) * 1000 * kPerMs;
  Received received;
  std::thread reading([&] { Receive(receiver, wanted, received); });
  std::uint64_t number = 0;
  TimeNs end_ns = 0;
  {
    io::RealTime real_time;
    bus::Frame frame;
    frame.id = 0x123;
    frame.length = 8;
    clock.Start();
    for (TimeNs due_ns = 0; number < wanted; due_ns += kNsPerMs) {
      clock.WaitUntil(due_ns, {});
      for (int i = 0; i < kPerMs; ++i, ++number) {
        std::memcpy(frame.data.data(), &number, sizeof(number));
        if (!sender.Send(frame)) fmt::print("refused at {}\n", number);
      }
    }
    end_ns = clock.Now();
  }
  reading.join();
  fmt::print("{} frames sent in {:.2f} s, {} received, {} out of order, {} lost by the socket\n",
             number, ToSeconds(end_ns), received.frames, received.out_of_order, received.lost);
  const bool in_time = end_ns < (seconds + 1) * kNsPerS;
  return received.frames == wanted && received.out_of_order == 0 && received.lost == 0 && in_time
             ? 0
             : 1;
}

}  // namespace
}  // namespace drycrank

int main(int argc, char** argv) { return drycrank::Main(argc > 1 ? std::atoi(argv[1]) : 5); }
