// SPDX-License-Identifier: Apache-2.0
//
// Runs in the guest kernel (socketcan_guest.sh): our SocketCAN bus against the kernel's vcan and
// two emulated SJA1000 controllers. The outside authority is can-utils: candump and cansend share
// no code with us.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/socket.h>

#include <cstdlib>

#include "io/interface.h"
#include "io/real_clock.h"
#include "io/socketcan_bus.h"
#include "tests/bus/build_signal.h"
#include "tests/io/child_process.h"
#include "tests/kernel/guest_can.h"

namespace drycrank::io {
namespace {

using bus::BusEvent;
using bus::Frame;
using bus::FrameOf;
using testing::HasSubstr;

Frame Remote(std::uint32_t id, std::uint8_t length) {
  Frame frame = FrameOf(id, false, "");
  frame.remote = true;
  frame.length = length;
  return frame;
}

Frame Fd(std::uint32_t id, bool extended, const std::string& hex, bool bit_rate_switch) {
  Frame frame = FrameOf(id, extended, hex);
  frame.fd = true;
  frame.bit_rate_switch = bit_rate_switch;
  return frame;
}

std::string ErrorOf(std::string_view interface) {
  ManualClock clock;
  return OpenBus(interface, clock, 0).error;
}

class AnyCan : public SocketCan {};

TEST_P(AnyCan, CandumpSeesOurFrames) {
  ArmedCanBus bus(clock_, 0, GetParam().ours);
  const auto candump = Candump(GetParam().theirs, 4);
  EXPECT_TRUE(bus.Send(FrameOf(0x123, false, "0102030405060708")));
  EXPECT_TRUE(bus.Send(FrameOf(0x18FEEE00, true, "82")));
  EXPECT_TRUE(bus.Send(FrameOf(0x7FF, false, "")));
  EXPECT_TRUE(bus.Send(Remote(0x7, 0)));
  EXPECT_EQ(FrameIn(candump->ReadLine()), "123#0102030405060708");
  EXPECT_EQ(FrameIn(candump->ReadLine()), "18FEEE00#82");
  EXPECT_EQ(FrameIn(candump->ReadLine()), "7FF#");
  EXPECT_EQ(FrameIn(candump->ReadLine()), "007#R");
  EXPECT_EQ(bus.counters().sent, 4u);
}

TEST_P(AnyCan, WeSeeCansendsFrames) {
  ArmedCanBus bus(clock_, 2, GetParam().ours);
  const TimeNs before_ns = clock_.Now();
  for (const char* frame : {"123#0102030405060708", "18FEEE00#82", "7FF#", "007#R"}) {
    Cansend(GetParam().theirs, frame);
  }
  const auto first = Next(bus);
  ASSERT_TRUE(first.has_value());
  EXPECT_EQ(first->frame, FrameOf(0x123, false, "0102030405060708"));
  EXPECT_EQ(first->bus, 2);
  EXPECT_FALSE(first->sent);
  EXPECT_GE(first->t_ns, before_ns);
  EXPECT_LE(first->t_ns, clock_.Now());
  EXPECT_EQ(Next(bus)->frame, FrameOf(0x18FEEE00, true, "82"));
  EXPECT_EQ(Next(bus)->frame, FrameOf(0x7FF, false, ""));
  EXPECT_EQ(Next(bus)->frame, Remote(0x7, 0));
  EXPECT_EQ(bus.counters().received, 4u);
}

TEST_P(AnyCan, OurOwnFramesDoNotComeBack) {
  ArmedCanBus a(clock_, 0, GetParam().ours);
  ArmedCanBus b(clock_, 0, GetParam().theirs);
  for (std::uint32_t id = 0; id < 5; ++id) ASSERT_TRUE(a.Send(FrameOf(id, false, "")));
  for (std::uint32_t id = 0; id < 5; ++id) EXPECT_EQ(Next(b)->frame.id, id);
  ASSERT_TRUE(b.Send(FrameOf(0x100, false, "")));
  EXPECT_EQ(Next(a)->frame.id, 0x100u);
  EXPECT_FALSE(a.Receive().has_value());
  EXPECT_FALSE(b.Receive().has_value());
}

// candump and cansend survive neither; we do.
TEST_P(AnyCan, DownAndUpIsSurvived) {
  ArmedCanBus bus(clock_, 0, GetParam().ours);
  const std::string ours = GetParam().ours;
  Ip("link set " + ours + " down");
  EXPECT_EQ(NextEvent(bus), BusEvent::kDown);
  EXPECT_FALSE(bus.Send(FrameOf(1, false, "")));
  EXPECT_EQ(bus.counters().send_refused, 1u);
  EXPECT_EQ(bus.NextEvent(), std::nullopt);  // said once
  Ip("link set " + ours + " up");
  EXPECT_EQ(NextEvent(bus), BusEvent::kUp);
  Cansend(GetParam().theirs, "123#AA");
  EXPECT_EQ(Next(bus)->frame, FrameOf(0x123, false, "AA"));
  const auto candump = Candump(GetParam().theirs, 1);
  EXPECT_TRUE(bus.Send(FrameOf(0x124, false, "BB")));
  EXPECT_EQ(FrameIn(candump->ReadLine()), "124#BB");
}

INSTANTIATE_TEST_SUITE_P(Vcan, AnyCan, testing::Values(Place{"vcan0", "vcan0"}));
INSTANTIATE_TEST_SUITE_P(Controllers, AnyCan, testing::Values(Place{"can0", "can1"}));

using Vcan = SocketCan;

// On vcan only: after such a frame the emulated controller misreads those that follow.
TEST_F(Vcan, RemoteFramesKeepTheLengthTheyAskFor) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  const auto candump = Candump("vcan0", 1);
  EXPECT_TRUE(bus.Send(Remote(0x7, 4)));
  EXPECT_EQ(FrameIn(candump->ReadLine()), "007#R4");
  Cansend("vcan0", "007#R8");
  EXPECT_EQ(Next(bus)->frame, Remote(0x7, 8));
}

TEST_F(Vcan, FdFramesBothWays) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  ASSERT_TRUE(bus.CarriesFd());
  const auto candump = Candump("vcan0", 2);
  EXPECT_TRUE(bus.Send(Fd(0x321, false, "000102030405060708090A0B", true)));
  EXPECT_TRUE(bus.Send(Fd(0x1ABCDEF, true, "00", false)));
  // Flags 4 "FD" (set by the kernel since 6.1) and 1 "bit rate switch".
  EXPECT_EQ(FrameIn(candump->ReadLine()), "321##5000102030405060708090A0B");
  EXPECT_EQ(FrameIn(candump->ReadLine()), "01ABCDEF##400");
  Cansend("vcan0", "321##1000102030405060708090A0B");
  EXPECT_EQ(Next(bus)->frame, Fd(0x321, false, "000102030405060708090A0B", true));
  Cansend("vcan0", "01ABCDEF##0112233");
  EXPECT_EQ(Next(bus)->frame, Fd(0x1ABCDEF, true, "112233", false));
}

TEST_F(Vcan, RemovedAndMadeAgainIsSurvived) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  Ip("link del vcan0");
  EXPECT_EQ(NextEvent(bus), BusEvent::kDown);
  EXPECT_EQ(bus.FileDescriptor(), -1);
  EXPECT_FALSE(bus.Send(FrameOf(1, false, "")));
  EXPECT_EQ(bus.NextEvent(), std::nullopt);
  Ip("link add vcan0 type vcan");
  Ip("link set vcan0 up");
  EXPECT_EQ(NextEvent(bus), BusEvent::kUp);
  Cansend("vcan0", "123#AA");  // binding the old socket anew would send, but receive nothing
  EXPECT_EQ(Next(bus)->frame, FrameOf(0x123, false, "AA"));
  EXPECT_TRUE(bus.Send(FrameOf(1, false, "")));
}

// Classes and states: linux/can/error.h. vcan lets a program put them on the bus.
TEST_F(Vcan, InjectedErrorReportsBecomeEvents) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  const std::pair<const char*, BusEvent> reports[] = {
      {"20000040#0000000000000000", BusEvent::kBusOff},
      {"20000004#0020000000000000", BusEvent::kErrorPassive},
      {"20000004#0001000000000000", BusEvent::kOverrun},
      {"20000100#0000000000000000", BusEvent::kUp},
  };
  for (const auto& [report, event] : reports) {
    Cansend("vcan0", report);
    const auto got = Next(bus);
    ASSERT_TRUE(got.has_value()) << report;
    EXPECT_TRUE(got->frame.error);
    EXPECT_EQ(bus.NextEvent(), event) << report;
  }
  Cansend("vcan0", "20000002#0000000000000000");  // lost arbitration: ordinary life
  ASSERT_TRUE(Next(bus).has_value());
  EXPECT_EQ(bus.NextEvent(), std::nullopt);
  EXPECT_EQ(bus.counters().received, 0u);  // reports are not frames
}

// A token bucket gives vcan the queue and the slowness of a real bus: 16 kbit/s.
TEST_F(Vcan, FullSendQueueIsAnEventAndDrains) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  ASSERT_EQ(
      std::system("/usr/bin/tc qdisc add dev vcan0 root tbf rate 16kbit burst 160 limit 100000"),
      0);
  int sent = 0;
  while (sent < 10'000 && bus.Send(FrameOf(1, false, "0102030405060708"))) ++sent;
  EXPECT_LT(sent, 10'000);
  EXPECT_EQ(bus.counters().send_refused, 1u);
  EXPECT_EQ(bus.NextEvent(), BusEvent::kSendQueueFull);
  bool again = false;
  for (int i = 0; i < 500 && !again; ++i) {
    clock_.WaitUntil(clock_.Now() + 10 * kNsPerMs, {});
    again = bus.Send(FrameOf(2, false, ""));
  }
  EXPECT_TRUE(again);
  EXPECT_EQ(std::system("/usr/bin/tc qdisc del dev vcan0 root"), 0);
}

TEST_F(Vcan, LossOnReceptionIsCounted) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  ArmedCanBus sender(clock_, 0, "vcan0");
  const int tiny_bytes = 4096;
  ASSERT_EQ(
      setsockopt(bus.FileDescriptor(), SOL_SOCKET, SO_RCVBUF, &tiny_bytes, sizeof(tiny_bytes)), 0);
  for (std::uint32_t i = 0; i < 200; ++i) ASSERT_TRUE(sender.Send(FrameOf(i, false, "")));
  std::uint64_t received = 0;
  while (bus.Receive()) ++received;
  ASSERT_LT(received, 200u);
  sender.Send(FrameOf(0x7FF, false, ""));  // the kernel tells of a loss with the next frame
  ASSERT_TRUE(Next(bus).has_value());
  EXPECT_EQ(bus.counters().receive_lost, 200 - received);
  EXPECT_EQ(bus.NextEvent(), BusEvent::kOverrun);
}

TEST_F(Vcan, OnlyVcanIsVirtual) {
  EXPECT_TRUE(SocketCanBus(clock_, 0, "vcan0").IsVirtual());
  EXPECT_FALSE(SocketCanBus(clock_, 0, "can0").IsVirtual());
}

TEST_F(Vcan, ClassicalControllerRefusesFd) {
  ArmedCanBus bus(clock_, 0, "can0");
  EXPECT_FALSE(bus.CarriesFd());
  EXPECT_FALSE(bus.Send(Fd(1, false, "00", false)));
  EXPECT_EQ(bus.counters().send_refused, 1u);
}

TEST_F(Vcan, WhatIsMissingAtTheStartIsSaid) {
  EXPECT_THAT(ErrorOf("socketcan:can7"), HasSubstr("no interface named can7"));
  EXPECT_THAT(ErrorOf("socketcan:lo"), HasSubstr("lo is not a CAN interface"));
  EXPECT_THAT(ErrorOf("socketcan:an_interface_name_that_is_too_long"), HasSubstr("no interface"));
  Ip("link set vcan0 down");
  EXPECT_THAT(ErrorOf("socketcan:vcan0"), HasSubstr("vcan0 is down"));
  Ip("link set vcan0 up");
  EXPECT_EQ(ErrorOf("socketcan:vcan0"), "");
}

// Run before the guest loads its modules.
TEST(NoCan, IsToldWithItsCause) {
  EXPECT_THAT(ErrorOf("socketcan:can0"), HasSubstr("this kernel has no CAN"));
}

}  // namespace
}  // namespace drycrank::io
