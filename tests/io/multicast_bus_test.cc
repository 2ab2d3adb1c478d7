// SPDX-License-Identifier: Apache-2.0
#include "io/multicast_bus.h"

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include "io/real_clock.h"
#include "tests/io/datagram_examples.h"
#include "types/random.h"

namespace drycrank::io {
namespace {

// Tests may run side by side: two ports of its own for each process.
std::uint16_t PortOfThisTest() { return static_cast<std::uint16_t>(20000 + getpid() % 20000 * 2); }

class MulticastBusTest : public testing::Test {
 protected:
  // The next frame at `end`, waited for at most 5 s.
  std::optional<bus::TimedFrame> Next(MulticastBus& end) {
    const TimeNs give_up_ns = clock_.Now() + 5 * kNsPerS;
    const int descriptors[] = {end.FileDescriptor()};
    while (clock_.Now() < give_up_ns) {
      if (auto frame = end.Receive()) return frame;
      clock_.WaitUntil(give_up_ns, descriptors);
    }
    return std::nullopt;
  }
  // Straight to the group, as any program of this machine could.
  void SendRaw(const Raw& bytes) {
    const Socket socket(::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0));
    ip_mreqn loopback{};
    loopback.imr_address.s_addr = htonl(INADDR_LOOPBACK);
    ASSERT_TRUE(SetOption(socket, IPPROTO_IP, IP_MULTICAST_IF, loopback));
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(port_);
    inet_pton(AF_INET, kDefaultGroup, &to.sin_addr);
    ASSERT_EQ(sendto(socket.get(), bytes.data(), bytes.size(), 0,
                     reinterpret_cast<const sockaddr*>(&to), sizeof(to)),
              static_cast<ssize_t>(bytes.size()));
  }

  RealClock clock_;
  std::uint16_t port_ = PortOfThisTest();
  MulticastBus a_{clock_, 0, kDefaultGroup, port_};
  MulticastBus b_{clock_, 3, kDefaultGroup, port_};
};

TEST_F(MulticastBusTest, OthersReceiveAndTheSenderDoesNot) {
  for (const Example& example : PythonCanExamples()) {
    const TimeNs before_ns = clock_.Now();
    ASSERT_TRUE(a_.Send(example.frame));
    const std::optional<bus::TimedFrame> got = Next(b_);
    ASSERT_TRUE(got.has_value()) << example.name;
    EXPECT_EQ(got->frame, example.frame);
    EXPECT_EQ(got->bus, 3);
    EXPECT_FALSE(got->sent);
    EXPECT_LE(got->t_ns, clock_.Now());
    EXPECT_GE(got->t_ns, before_ns - kNsPerMs);  // two clocks were read one after the other
  }
  EXPECT_FALSE(a_.Receive().has_value());
  EXPECT_EQ(a_.counters().malformed, 0u);
  EXPECT_EQ(a_.counters().received, 0u);
  EXPECT_EQ(b_.counters().received, 4u);
}

// Reception is when the kernel got the frame, not when we came round to read it.
TEST_F(MulticastBusTest, StampIsTheKernelsAndNeverGoesBack) {
  a_.Send(bus::FrameOf(1, false, ""));
  a_.Send(bus::FrameOf(2, false, ""));
  const TimeNs sent_ns = clock_.Now();
  clock_.WaitUntil(sent_ns + 50 * kNsPerMs, {});
  const auto first = Next(b_);
  const auto second = Next(b_);
  ASSERT_TRUE(first && second);
  EXPECT_LT(first->t_ns, sent_ns + 25 * kNsPerMs);
  EXPECT_LE(first->t_ns, second->t_ns);
}

TEST_F(MulticastBusTest, OtherPortIsOtherBus) {
  MulticastBus other(clock_, 1, kDefaultGroup, static_cast<std::uint16_t>(port_ + 1));
  a_.Send(bus::FrameOf(1, false, ""));
  ASSERT_TRUE(Next(b_).has_value());
  EXPECT_FALSE(other.Receive().has_value());
}

TEST_F(MulticastBusTest, ThousandFramesArriveInOrder) {
  for (std::uint32_t i = 0; i < 1000; ++i) ASSERT_TRUE(a_.Send(bus::FrameOf(i, false, "")));
  for (std::uint32_t i = 0; i < 1000; ++i) {
    const auto got = Next(b_);
    ASSERT_TRUE(got.has_value()) << i;
    ASSERT_EQ(got->frame.id, i);
  }
  EXPECT_EQ(b_.counters().receive_lost, 0u);
}

TEST_F(MulticastBusTest, LossIsCountedAndAnEvent) {
  const int tiny_bytes = 4096;
  ASSERT_EQ(setsockopt(b_.FileDescriptor(), SOL_SOCKET, SO_RCVBUF, &tiny_bytes, sizeof(tiny_bytes)),
            0);
  for (std::uint32_t i = 0; i < 500; ++i) a_.Send(bus::FrameOf(i, false, ""));
  std::uint64_t received = 0;
  while (b_.Receive()) ++received;
  ASSERT_LT(received, 500u);
  a_.Send(bus::FrameOf(0x7FF, false, ""));  // the kernel tells of a loss with the next frame
  ASSERT_TRUE(Next(b_).has_value());
  EXPECT_EQ(b_.counters().receive_lost, 500 - received);
  EXPECT_EQ(b_.NextEvent(), bus::BusEvent::kOverrun);
}

TEST_F(MulticastBusTest, InvalidFrameIsRefusedBecauseItWouldKillOthers) {
  EXPECT_FALSE(a_.Send(bus::FrameOf(0x800, false, "")));
  EXPECT_EQ(a_.counters().send_refused, 1u);
  a_.Send(bus::FrameOf(1, false, ""));
  EXPECT_EQ(Next(b_)->frame.id, 1u);
}

TEST_F(MulticastBusTest, HostileDatagramsAreCountedAndFramesStillArrive) {
  Random random(7, 0);
  for (int i = 0; i < 300; ++i) {
    Raw bytes(random.Next() % 2000);
    for (std::uint8_t& byte : bytes) byte = static_cast<std::uint8_t>(random.Next());
    SendRaw(bytes);
  }
  a_.Send(bus::FrameOf(0x55, false, "01"));
  const auto got = Next(b_);
  ASSERT_TRUE(got.has_value());
  EXPECT_EQ(got->frame.id, 0x55u);
  EXPECT_EQ(b_.counters().malformed, 300u);
}

}  // namespace
}  // namespace drycrank::io
