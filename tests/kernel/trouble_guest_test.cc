// SPDX-License-Identifier: Apache-2.0
//
// Runs in the guest kernel: each trouble that a bench has with its interface is provoked, by
// iproute2 and by error reports put on a vcan, and must be named, survived and counted. The
// emulated controllers know no error states of their own (QEMU), so bus-off and error-passive come
// as reports on vcan, in the format of linux/can/error.h.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <poll.h>

#include "tests/bus/build_signal.h"
#include "tests/kernel/guest_can.h"

namespace drycrank::io {
namespace {

using bus::BusEvent;
using bus::Frame;
using bus::FrameOf;
using testing::HasSubstr;

class Trouble : public SocketCan {
 protected:
  // Reads until everything sent has been confirmed or `ms` have passed.
  void AwaitConfirmations(SocketCanBus& bus, int ms) {
    for (int i = 0; i < ms && bus.counters().confirmed < bus.counters().sent; ++i) {
      while (bus.Receive()) {
      }
      clock_.WaitUntil(clock_.Now() + kNsPerMs, {});
    }
  }
  bool Comes(SocketCanBus& bus, BusEvent wanted) {
    for (int i = 0; i < 2000; ++i) {
      while (bus.Receive()) {
      }
      while (const auto event = bus.NextEvent()) {
        if (*event == wanted) return true;
      }
      clock_.WaitUntil(clock_.Now() + 5 * kNsPerMs, {});
    }
    return false;
  }
  static void ExpectAllAccountedFor(const SocketCanBus& bus, std::uint64_t attempts) {
    const bus::BusCounters& n = bus.counters();
    EXPECT_EQ(n.sent + n.send_refused, attempts);
    EXPECT_EQ(n.confirmed + n.unconfirmed, n.sent);
  }
};

class Confirmed : public Trouble {};

TEST_P(Confirmed, EveryFrameThatGotOutIsConfirmed) {
  ArmedCanBus bus(clock_, 0, GetParam().ours);
  for (std::uint32_t id = 1; id <= 20; ++id) {
    ASSERT_TRUE(bus.Send(FrameOf(id, false, "0102")));
    AwaitConfirmations(bus, 2000);
  }
  EXPECT_EQ(bus.counters().confirmed, 20u);
  ExpectAllAccountedFor(bus, 20);
  EXPECT_EQ(bus.NextEvent(), std::nullopt);
}
INSTANTIATE_TEST_SUITE_P(Vcan, Confirmed, testing::Values(Place{"vcan0", "vcan0"}));
INSTANTIATE_TEST_SUITE_P(Controllers, Confirmed, testing::Values(Place{"can0", "can1"}));

// write() says yes, poll() says yes, and nothing leaves.
TEST_F(Trouble, AQueueingDisciplineThatDropsInSilenceIsNoticed) {
  ArmedCanBus bus(clock_, 0, "can0");
  Shell("tc qdisc replace dev can0 root netem loss 100%");
  for (std::uint32_t id = 1; id <= 5; ++id) EXPECT_TRUE(bus.Send(FrameOf(id, false, "")));
  EXPECT_TRUE(Comes(bus, BusEvent::kUnconfirmed));
  // On a slow machine they were sent one after another, and become late so.
  for (int i = 0; i < 2000 && bus.counters().unconfirmed < 5; ++i) {
    bus.Receive();
    clock_.WaitUntil(clock_.Now() + 5 * kNsPerMs, {});
  }
  EXPECT_EQ(bus.counters().unconfirmed, 5u);
  EXPECT_THAT(bus.Describe(BusEvent::kUnconfirmed), HasSubstr("queueing discipline"));
  Shell("tc qdisc del dev can0 root");
  clock_.WaitUntil(clock_.Now() + 150 * kNsPerMs, {});
  EXPECT_TRUE(bus.Send(FrameOf(6, false, "")));
  EXPECT_TRUE(Comes(bus, BusEvent::kSending));
  ExpectAllAccountedFor(bus, 6);
}

TEST_F(Trouble, ListenOnlyRefusesInsteadOfSwallowing) {
  ArmedCanBus bus(clock_, 0, "can0");
  Ip("link set can0 down");
  Ip("link set can0 type can listen-only on");
  Ip("link set can0 up");
  EXPECT_TRUE(Comes(bus, BusEvent::kUp));
  EXPECT_FALSE(bus.Send(FrameOf(1, false, "")));
  EXPECT_EQ(bus.NextEvent(), BusEvent::kListenOnly);
  EXPECT_THAT(bus.Describe(BusEvent::kListenOnly), HasSubstr("listen-only off"));
  Cansend("can1", "123#AA");
  EXPECT_EQ(Next(bus)->frame, FrameOf(0x123, false, "AA"));  // and it does listen
  Ip("link set can0 down");
  Ip("link set can0 type can listen-only off");
  Ip("link set can0 up");
  EXPECT_TRUE(Comes(bus, BusEvent::kUp));
  EXPECT_TRUE(bus.Send(FrameOf(2, false, "")));
  AwaitConfirmations(bus, 2000);
  ExpectAllAccountedFor(bus, 2);
}

TEST_F(Trouble, FdOnAClassicalInterfaceIsNamed) {
  ArmedCanBus bus(clock_, 0, "can0");
  Frame frame = FrameOf(1, false, "00");
  frame.fd = true;
  EXPECT_FALSE(bus.Send(frame));
  EXPECT_EQ(bus.NextEvent(), BusEvent::kFdRefused);
  EXPECT_THAT(bus.Properties(), HasSubstr("classical; 500000 bit/s"));
}

TEST_F(Trouble, StampsAreSaidForWhatTheyAre) {
  EXPECT_THAT(SocketCanBus(clock_, 0, "can0").Properties(), HasSubstr("the hardware gives none"));
}

// A full queue must make poll() wait: with a spinning one, this returns at once.
TEST_F(Trouble, PollReallyWaitsWhileTheSendQueueIsFull) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  Shell("tc qdisc add dev vcan0 root tbf rate 16kbit burst 160 limit 100000");
  std::uint64_t attempts = 1;
  while (attempts < 10'000 && bus.Send(FrameOf(1, false, "0102030405060708"))) ++attempts;
  ASSERT_LT(attempts, 10'000u);
  const TimeNs before_ns = clock_.Now();
  pollfd polled{bus.FileDescriptor(), POLLOUT, 0};
  while (poll(&polled, 1, 5000) == 1 && (polled.revents & POLLOUT) == 0) {
  }
  EXPECT_GT(clock_.Now() - before_ns, kNsPerMs);
  EXPECT_TRUE(bus.Send(FrameOf(2, false, "")));
  ++attempts;
  Shell("tc qdisc del dev vcan0 root");
  EXPECT_EQ(bus.counters().sent + bus.counters().send_refused, attempts);
}

TEST_F(Trouble, ErrorReportsAreNamedEvents) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  const std::pair<const char*, BusEvent> reports[] = {
      {"20000004#0008000000000000", BusEvent::kErrorWarning},
      {"20000004#0020000000000000", BusEvent::kErrorPassive},
      {"20000020#0000000000000000", BusEvent::kNoAcknowledge},
      {"20000088#0000000000000000", BusEvent::kBusError},
      {"20000001#0000000000000000", BusEvent::kTransmitTimeout},
      {"20000010#0000000000000000", BusEvent::kTransceiver},
      {"20000004#0040000000000000", BusEvent::kErrorActive},
  };
  for (const auto& [report, event] : reports) {
    Cansend("vcan0", report);
    ASSERT_TRUE(Next(bus).has_value()) << report;
    EXPECT_EQ(bus.NextEvent(), event) << report;
  }
  EXPECT_EQ(bus.counters().error_reports, 7u);
}

TEST_F(Trouble, BusOffRefusesUntilTheRestart) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  Cansend("vcan0", "20000040#0000000000000000");
  EXPECT_TRUE(Comes(bus, BusEvent::kBusOff));
  EXPECT_FALSE(bus.Send(FrameOf(1, false, "")));
  Cansend("vcan0", "20000100#0000000000000000");
  EXPECT_TRUE(Comes(bus, BusEvent::kUp));
  EXPECT_TRUE(bus.Send(FrameOf(2, false, "")));
  AwaitConfirmations(bus, 2000);
  ExpectAllAccountedFor(bus, 2);
}

TEST_F(Trouble, BusOffWithoutRestartEndsWithDownAndUp) {
  ArmedCanBus bus(clock_, 0, "vcan0");
  Cansend("vcan0", "20000040#0000000000000000");
  EXPECT_TRUE(Comes(bus, BusEvent::kBusOff));
  Ip("link set vcan0 down");
  EXPECT_TRUE(Comes(bus, BusEvent::kDown));
  Ip("link set vcan0 up");
  EXPECT_TRUE(Comes(bus, BusEvent::kUp));
  EXPECT_TRUE(bus.Send(FrameOf(1, false, "")));
}

TEST_F(Trouble, WhetherItRestartsByItselfIsKnown) {
  Ip("link set can0 down");
  Ip("link set can0 type can restart-ms 100");
  Ip("link set can0 up");
  const ArmedCanBus bus(clock_, 0, "can0");
  EXPECT_THAT(bus.Describe(BusEvent::kBusOff), HasSubstr("by itself after 100 ms"));
  Ip("link set can0 down");
  Ip("link set can0 type can restart-ms 0");
  Ip("link set can0 up");
  const ArmedCanBus other(clock_, 0, "can0");
  EXPECT_THAT(other.Describe(BusEvent::kBusOff), HasSubstr("ip link set can0 type can restart"));
}

}  // namespace
}  // namespace drycrank::io
