// SPDX-License-Identifier: Apache-2.0
//
// python-can (Debian: python3-can 4.1) as a separate process on the multicast bus: with its API,
// and with its own programs can_logger and can_player, which have no line of ours. What it prints
// and writes down is the outside authority on what we sent.
#include <gtest/gtest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>

#include "io/multicast_bus.h"
#include "io/real_clock.h"
#include "tests/io/child_process.h"
#include "tests/io/datagram_examples.h"
#include "tests/io/private_network.h"
#include "tests/support/scratch_folder.h"

namespace drycrank::io {
namespace {

using bus::Frame;
using bus::FrameOf;

constexpr const char* kPython = "/usr/bin/python3";
constexpr const char* kPeer = DRYCRANK_TESTS_DIR "/io/python_can_peer.py";
constexpr std::uint16_t kPort = kDefaultPort;  // the namespace is ours, so no one else is on it

Frame LongFd() {
  Frame frame = FrameOf(0x1ABCDEF, true, "");
  frame.fd = frame.bit_rate_switch = frame.error_state = true;
  frame.length = 64;
  for (std::uint8_t i = 0; i < 64; ++i) frame.data[i] = i;
  return frame;
}

Frame Remote() {
  Frame frame = FrameOf(0x7, false, "");
  frame.remote = true;
  frame.length = 8;
  return frame;
}

std::vector<Frame> FramesOfEveryKind() {
  return {FrameOf(0x123, false, "010203"), FrameOf(0x18FEEE00, true, "82"), Remote(),
          FrameOf(0x7FF, false, ""), LongFd()};
}

// The kinds above as python_can_peer.py prints them: written by hand.
std::vector<std::string> LinesOfEveryKind() {
  return {
      "123 SDC-- 3 010203",
      "18FEEE00 EDC-- 1 82",
      "7 SRC-- 8 ",
      "7FF SDC-- 0 ",
      "1ABCDEF EDFBI 64 000102030405060708090A0B0C0D0E0F101112131415161718191A1B1C1D1E1F"
      "202122232425262728292A2B2C2D2E2F303132333435363738393A3B3C3D3E3F",
  };
}

class PythonCan : public testing::Test {
 protected:
  // The namespace is entered once and for the whole program.
  static void SetUpTestSuite() { trouble_ = EnterPrivateNetwork(); }
  void SetUp() override {
    ASSERT_EQ(trouble_, "");
    ASSERT_TRUE(std::filesystem::exists("/usr/bin/can_logger"))
        << "this test needs the package python3-can";
    bus_ = std::make_unique<MulticastBus>(clock_, 0, kDefaultGroup, kPort);
  }

  std::optional<Frame> Next() {
    const TimeNs give_up_ns = clock_.Now() + 20 * kNsPerS;
    const int descriptors[] = {bus_->FileDescriptor()};
    while (clock_.Now() < give_up_ns) {
      if (const auto got = bus_->Receive()) return got->frame;
      clock_.WaitUntil(give_up_ns, descriptors);
    }
    return std::nullopt;
  }
  // Sockets of this namespace that are bound to the bus's port, ours among them.
  static int Members() {
    std::ifstream table("/proc/self/net/udp");
    char port[8];
    std::snprintf(port, sizeof(port), ":%04X", kPort);
    int members = 0;
    for (std::string line; std::getline(table, line);) {
      if (line.find(port) != std::string::npos) ++members;
    }
    return members;
  }
  // Whether datagrams wait to be read at any of them. Fourth field of a line: st tx_queue:rx_queue.
  static bool AnyUnread() {
    std::ifstream table("/proc/self/net/udp");
    std::string line;
    std::getline(table, line);  // the heading
    while (std::getline(table, line)) {
      unsigned received_bytes = 0;
      if (std::sscanf(line.c_str(), "%*s %*s %*s %*s %*8x:%8x", &received_bytes) == 1 &&
          received_bytes > 0) {
        return true;
      }
    }
    return false;
  }
  void WaitForMembers(int count) {
    for (int i = 0; i < 2000 && Members() != count; ++i) {
      clock_.WaitUntil(clock_.Now() + 10 * kNsPerMs, {});
    }
    ASSERT_EQ(Members(), count) << "the other program did not join";
  }

  static std::string trouble_;
  RealClock clock_;
  std::unique_ptr<MulticastBus> bus_;
};
std::string PythonCan::trouble_;

TEST_F(PythonCan, SeesOurFrames) {
  ChildProcess peer({kPython, kPeer, std::to_string(kPort), "receive", "5"});
  ASSERT_EQ(peer.ReadLine(), "ready");
  for (const Frame& frame : FramesOfEveryKind()) ASSERT_TRUE(bus_->Send(frame));
  for (const std::string& line : LinesOfEveryKind()) EXPECT_EQ(peer.ReadLine(), line);
  EXPECT_EQ(peer.WaitForEnd(), 0);
  EXPECT_FALSE(bus_->Receive().has_value());  // nothing of our own came back
}

TEST_F(PythonCan, SendsFramesWeSee) {
  ChildProcess peer({kPython, kPeer, std::to_string(kPort), "send"});
  for (const Frame& frame : FramesOfEveryKind()) EXPECT_EQ(Next(), frame);
  EXPECT_EQ(peer.WaitForEnd(), 0);
  EXPECT_EQ(bus_->counters().received, 5u);
  EXPECT_EQ(bus_->counters().malformed, 0u);
}

// A thousand frames faster than any real bus: its reader must not choke on one of them.
TEST_F(PythonCan, KeepsUpWithABurst) {
  ChildProcess peer({kPython, kPeer, std::to_string(kPort), "receive", "1000"});
  ASSERT_EQ(peer.ReadLine(), "ready");
  TimeNs due_ns = clock_.Now();
  for (std::uint32_t i = 0; i < 1000; ++i) {
    ASSERT_TRUE(bus_->Send(FrameOf(i, false, "55")));
    clock_.WaitUntil(due_ns += 500 * kNsPerUs, {});
  }
  int right = 0;
  for (std::uint32_t i = 0; i < 1000; ++i) {
    char wanted[32];
    std::snprintf(wanted, sizeof(wanted), "%X SDC-- 1 55", i);
    if (peer.ReadLine() == wanted) ++right;
  }
  EXPECT_EQ(right, 1000);
}

TEST_F(PythonCan, ItsLoggerWritesDownOurFrames) {
  const ScratchFolder folder;
  const std::string log = folder.Path("bus.log");
  ChildProcess logger({kPython, "/usr/bin/can_logger", "-i", "udp_multicast", "-c", kDefaultGroup,
                       "--port=" + std::to_string(kPort), "-f", log});
  WaitForMembers(2);
  bus_->Send(FrameOf(0x123, false, "0102030405060708"));
  bus_->Send(FrameOf(0x18FEEE00, true, "82"));
  // It writes when it ends, and says nothing before: it must have read both, and had time to note
  // them.
  while (bus_->Receive()) {
  }
  for (int i = 0; i < 2000 && AnyUnread(); ++i) {
    clock_.WaitUntil(clock_.Now() + 10 * kNsPerMs, {});
  }
  clock_.WaitUntil(clock_.Now() + 500 * kNsPerMs, {});
  logger.Interrupt();
  logger.WaitForEnd();
  std::ifstream in(log);
  const std::string text(std::istreambuf_iterator<char>(in), {});
  EXPECT_NE(text.find(" 123#0102030405060708"), std::string::npos) << text;
  EXPECT_NE(text.find(" 18FEEE00#82"), std::string::npos) << text;
}

TEST_F(PythonCan, ItsPlayerReachesUs) {
  const ScratchFolder folder;
  const std::string log = folder.Path("bus.log");
  std::ofstream(log) << "(0.000000) can0 0CF00400#3FFFCD883927F4FF\n(0.010000) can0 123#0102\n";
  ChildProcess player({kPython, "/usr/bin/can_player", "-i", "udp_multicast", "-c", kDefaultGroup,
                       "--port=" + std::to_string(kPort), log});
  EXPECT_EQ(Next(), FrameOf(0x0CF00400, true, "3FFFCD883927F4FF"));
  EXPECT_EQ(Next(), FrameOf(0x123, false, "0102"));
  player.WaitForEnd();
}

}  // namespace
}  // namespace drycrank::io
