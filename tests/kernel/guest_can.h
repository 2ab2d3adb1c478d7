// SPDX-License-Identifier: Apache-2.0
//
// What tests in the guest kernel share: programs of iproute2 and can-utils, and waiting for a frame
// or an event as a run would, by reading.
#ifndef DRYCRANK_TESTS_KERNEL_GUEST_CAN_H_
#define DRYCRANK_TESTS_KERNEL_GUEST_CAN_H_

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "io/real_clock.h"
#include "io/socketcan_bus.h"
#include "tests/io/child_process.h"

namespace drycrank::io {

inline void Shell(const std::string& command) {
  ASSERT_EQ(std::system(("/usr/bin/" + command).c_str()), 0) << command;
}
inline void Ip(const std::string& arguments) { Shell("ip " + arguments); }

inline int ReceiversOn(const std::string& interface) {
  std::ifstream table("/proc/net/can/rcvlist_all");
  int receivers = 0;
  for (std::string word; table >> word;) {
    if (word == interface) ++receivers;
  }
  return receivers;
}

// Where we are, and where can-utils is: the same vcan, or the two controllers of one bus.
struct Place {
  const char* ours;
  const char* theirs;
};
inline void PrintTo(const Place& place, std::ostream* out) {
  *out << place.ours << "/" << place.theirs;
}

// On a controller of the emulated bus, where nothing can move.
class ArmedCanBus : public SocketCanBus {
 public:
  ArmedCanBus(Clock& clock, int bus, const std::string& interface)
      : SocketCanBus(clock, bus, interface) {
    if (IsArmed()) return;
    Arm();
    NextEvent();
  }
};

class CanTest : public testing::Test {
 protected:
  std::optional<bus::TimedFrame> Next(SocketCanBus& end) {
    const TimeNs give_up_ns = clock_.Now() + 20 * kNsPerS;
    const int descriptors[] = {end.FileDescriptor()};
    while (clock_.Now() < give_up_ns) {
      if (auto frame = end.Receive()) return frame;
      clock_.WaitUntil(give_up_ns, descriptors);
    }
    return std::nullopt;
  }
  // The next event, asked for as a run would: by reading.
  std::optional<bus::BusEvent> NextEvent(SocketCanBus& end) {
    for (int i = 0; i < 2000; ++i) {
      if (auto event = end.NextEvent()) return event;
      end.Receive();
      clock_.WaitUntil(clock_.Now() + 10 * kNsPerMs, {});
    }
    return std::nullopt;
  }
  std::unique_ptr<ChildProcess> Candump(const std::string& interface, int count) {
    const int before = ReceiversOn(interface);
    auto process = std::make_unique<ChildProcess>(
        std::vector<std::string>{"/usr/bin/candump", "-L", "-n", std::to_string(count), interface});
    for (int i = 0; i < 2000 && ReceiversOn(interface) == before; ++i) {
      clock_.WaitUntil(clock_.Now() + 10 * kNsPerMs, {});
    }
    return process;
  }
  static void Cansend(const std::string& interface, const std::string& frame) {
    ChildProcess process({"/usr/bin/cansend", interface, frame});
    ASSERT_EQ(process.WaitForEnd(), 0) << frame;
  }
  // The frame part of a line of candump's log: "(time) can0 123#01" -> "123#01".
  static std::string FrameIn(const std::string& line) { return line.substr(line.rfind(' ') + 1); }

  RealClock clock_;
};

class SocketCan : public CanTest, public testing::WithParamInterface<Place> {};

}  // namespace drycrank::io

#endif  // DRYCRANK_TESTS_KERNEL_GUEST_CAN_H_
