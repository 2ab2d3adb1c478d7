// SPDX-License-Identifier: Apache-2.0
//
// Runs in the guest kernel: a controller on the PCI bus is taken away while we hold its interface,
// and comes back, as an adapter that is unplugged does. Kernel documentation: ABI
// sysfs-bus-pci (unbind, bind, remove, rescan).
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <linux/can.h>
#include <linux/can/raw.h>
#include <net/if.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <filesystem>

#include "tests/bus/build_signal.h"
#include "tests/kernel/guest_can.h"

namespace drycrank::io {
namespace {

using bus::BusEvent;
using bus::FrameOf;
using testing::HasSubstr;

// How it goes and comes: the driver lets go of it, or the device leaves the PCI bus.
enum class Way { kDriver, kDevice };

class Removed : public CanTest, public testing::WithParamInterface<Way> {
 protected:
  static void WriteTo(const std::string& path, const std::string& text) {
    std::ofstream file(path);
    file << text << std::flush;
    ASSERT_TRUE(file.good()) << path;
  }
  void TakeAway() {
    device_ = std::filesystem::canonical("/sys/class/net/can0/device").filename();
    if (GetParam() == Way::kDriver) {
      WriteTo(kDriver + "/unbind", device_);
    } else {
      WriteTo("/sys/bus/pci/devices/" + device_ + "/remove", "1");
    }
    ASSERT_EQ(if_nametoindex("can0"), 0u);
  }
  void BringBack() {
    if (GetParam() == Way::kDriver) {
      WriteTo(kDriver + "/bind", device_);
    } else {
      WriteTo("/sys/bus/pci/rescan", "1");
    }
    Ip("link set can0 up type can bitrate 500000");
  }
  // A socket as a program has it that does not mind its interface.
  static Socket Careless() {
    Socket socket(::socket(PF_CAN, SOCK_RAW | SOCK_CLOEXEC, CAN_RAW));
    sockaddr_can address{};
    address.can_family = AF_CAN;
    address.can_ifindex = static_cast<int>(if_nametoindex("can0"));
    EXPECT_EQ(bind(socket.get(), reinterpret_cast<const sockaddr*>(&address), sizeof(address)), 0);
    return socket;
  }
  static bool HasFrame(const Socket& socket) {
    pollfd polled{socket.get(), POLLIN, 0};
    can_frame frame{};
    return poll(&polled, 1, 0) == 1 && (polled.revents & POLLIN) != 0 &&
           read(socket.get(), &frame, sizeof(frame)) == static_cast<ssize_t>(sizeof(frame));
  }

  const std::string kDriver = "/sys/bus/pci/drivers/kvaser_pci";
  std::string device_;
};

TEST_P(Removed, AControllerIsNamedSurvivedAndOpenedAnew) {
  ArmedCanBus bus(clock_, 0, "can0");
  const Socket careless = Careless();
  Cansend("can1", "111#01");
  ASSERT_EQ(Next(bus)->frame, FrameOf(0x111, false, "01"));
  ASSERT_TRUE(HasFrame(careless));
  const unsigned index = if_nametoindex("can0");

  TakeAway();
  EXPECT_EQ(NextEvent(bus), BusEvent::kDown);
  EXPECT_EQ(bus.FileDescriptor(), -1);
  EXPECT_FALSE(bus.Send(FrameOf(1, false, "")));
  EXPECT_EQ(bus.counters().send_refused, 1u);
  EXPECT_EQ(bus.NextEvent(), std::nullopt);  // said once

  BringBack();
  EXPECT_EQ(NextEvent(bus), BusEvent::kUp);
  EXPECT_GE(bus.FileDescriptor(), 0);
  EXPECT_NE(if_nametoindex("can0"), index);        // it is another interface of the same name
  EXPECT_EQ(NextEvent(bus), BusEvent::kNotArmed);  // and whether another device, nobody knows
  EXPECT_THAT(bus.Properties(), HasSubstr("500000 bit/s"));

  Cansend("can1", "222#02");
  EXPECT_EQ(Next(bus)->frame, FrameOf(0x222, false, "02"));
  EXPECT_FALSE(HasFrame(careless));  // who kept the old socket hears no more
  const auto candump = Candump("can1", 1);
  EXPECT_FALSE(bus.Send(FrameOf(0x332, false, "03")));
  bus.Arm();
  EXPECT_TRUE(bus.Send(FrameOf(0x333, false, "03")));
  EXPECT_EQ(FrameIn(candump->ReadLine()), "333#03");
  for (int i = 0; i < 2000 && bus.counters().confirmed < 1; ++i) {
    bus.Receive();
    clock_.WaitUntil(clock_.Now() + kNsPerMs, {});
  }
  EXPECT_EQ(bus.counters().confirmed, 1u);
}

INSTANTIATE_TEST_SUITE_P(Ways, Removed, testing::Values(Way::kDriver, Way::kDevice),
                         [](const auto& way) {
                           return way.param == Way::kDriver ? "Driver" : "Device";
                         });

}  // namespace
}  // namespace drycrank::io
