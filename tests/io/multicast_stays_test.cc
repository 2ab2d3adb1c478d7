// SPDX-License-Identifier: Apache-2.0
//
// The multicast bus beside a second interface that the kernel's routes prefer, in a network
// namespace of the test's own: nothing of the bus leaves by it, and nothing comes in by it. What
// passes the cable is seen at its far end, below IP (packet(7)).
#include <arpa/inet.h>
#include <fcntl.h>
#include <gtest/gtest.h>
#include <net/ethernet.h>
#include <net/if.h>
#include <netinet/ip.h>
#include <netinet/udp.h>
#include <netpacket/packet.h>
#include <poll.h>
#include <sched.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstdlib>
#include <cstring>

#include "io/frame_datagram.h"
#include "io/multicast_bus.h"
#include "io/real_clock.h"
#include "tests/bus/build_signal.h"

namespace drycrank::io {
namespace {

using bus::FrameOf;

constexpr std::uint16_t kPort = kDefaultPort;  // the namespace is ours

// Two ends of a cable: "near" is this computer's, "far" what hangs on it.
class Stays : public testing::Test {
 protected:
  void SetUp() override {
    before_ = open("/proc/thread-self/ns/net", O_RDONLY | O_CLOEXEC);
    ASSERT_EQ(unshare(CLONE_NEWNET), 0) << "needs root and a kernel with network namespaces";
    for (const char* words : {"link set lo up", "link add near type veth peer name far",
                              "address add 192.0.2.1/24 dev near", "link set near up",
                              "link set far up", "route add default dev near"}) {
      ASSERT_EQ(std::system((std::string("PATH=$PATH:/usr/sbin:/sbin; ip ") + words).c_str()), 0);
    }
    cable_ = Socket(::socket(AF_PACKET, SOCK_RAW | SOCK_NONBLOCK | SOCK_CLOEXEC, htons(ETH_P_ALL)));
    far_.sll_family = AF_PACKET;
    far_.sll_protocol = htons(ETH_P_ALL);
    far_.sll_ifindex = static_cast<int>(if_nametoindex("far"));
    ASSERT_EQ(bind(cable_.get(), reinterpret_cast<const sockaddr*>(&far_), sizeof(far_)), 0);
  }
  void TearDown() override {
    setns(before_, CLONE_NEWNET);
    close(before_);
  }
  // UDP datagrams to the bus's port that came to the far end. Order is kept on a cable, so a last
  // one to another port ends the waiting.
  int OnTheCable() {
    SendCarelessly(kPort + 1);
    int count = 0;
    std::array<std::uint8_t, 2048> bytes;
    while (IsReadable(cable_)) {
      const ssize_t size = recv(cable_.get(), bytes.data(), bytes.size(), 0);
      iphdr ip{};
      udphdr udp{};
      const std::size_t at_udp = ETH_HLEN + sizeof(ip);
      if (size < static_cast<ssize_t>(at_udp + sizeof(udp))) continue;
      std::memcpy(&ip, bytes.data() + ETH_HLEN, sizeof(ip));
      std::memcpy(&udp, bytes.data() + at_udp, sizeof(udp));
      if (ip.version != 4 || ip.protocol != IPPROTO_UDP) continue;
      if (ntohs(udp.dest) == kPort + 1) return count;
      if (ntohs(udp.dest) == kPort) ++count;
    }
    ADD_FAILURE() << "nothing passes the cable";
    return -1;
  }
  static bool IsReadable(const Socket& socket) {
    pollfd polled{socket.get(), POLLIN, 0};
    return poll(&polled, 1, 5000) == 1;
  }
  // As a program does that leaves the way to the routes.
  static void SendCarelessly(int port) {
    const Socket socket(::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0));
    sockaddr_in to = Group();
    to.sin_port = htons(static_cast<std::uint16_t>(port));
    ASSERT_EQ(sendto(socket.get(), "x", 1, 0, reinterpret_cast<const sockaddr*>(&to), sizeof(to)),
              1);
  }
  static sockaddr_in Group() {
    sockaddr_in group{};
    group.sin_family = AF_INET;
    group.sin_port = htons(kPort);
    inet_pton(AF_INET, kDefaultGroup, &group.sin_addr);
    return group;
  }
  // Another program that joins the group where the routes say, as most do.
  static Socket Joined() {
    Socket socket(::socket(AF_INET, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
    SetOption(socket, SOL_SOCKET, SO_REUSEADDR, 1);
    const sockaddr_in group = Group();
    EXPECT_EQ(bind(socket.get(), reinterpret_cast<const sockaddr*>(&group), sizeof(group)), 0);
    ip_mreqn membership{};
    membership.imr_multiaddr = group.sin_addr;
    EXPECT_TRUE(SetOption(socket, IPPROTO_IP, IP_ADD_MEMBERSHIP, membership));
    return socket;
  }
  // A datagram of another computer on the cable, 192.0.2.9, laid out by hand (RFC 791, 768).
  void ComesFromFar(const EncodedFrame& frame) {
    iphdr ip{};
    ip.version = 4;
    ip.ihl = 5;
    ip.ttl = 1;
    ip.protocol = IPPROTO_UDP;
    ip.tot_len = htons(static_cast<std::uint16_t>(sizeof(ip) + sizeof(udphdr) + frame.size));
    inet_pton(AF_INET, "192.0.2.9", &ip.saddr);
    ip.daddr = Group().sin_addr.s_addr;
    std::array<std::uint16_t, sizeof(ip) / 2> words;
    std::memcpy(words.data(), &ip, sizeof(ip));
    std::uint32_t sum = 0;
    for (const std::uint16_t word : words) sum += word;
    ip.check = static_cast<std::uint16_t>(~((sum & 0xFFFF) + (sum >> 16)));
    udphdr udp{};  // checksum 0: none
    udp.source = htons(40000);
    udp.dest = htons(kPort);
    udp.len = htons(static_cast<std::uint16_t>(sizeof(udp) + frame.size));
    ether_header head{};
    const std::uint8_t to[] = {0x01, 0x00, 0x5E, 0x4A, 0xA3, 0x02};  // RFC 1112: of 239.74.163.2
    std::memcpy(head.ether_dhost, to, sizeof(to));
    head.ether_shost[0] = 0x02;
    head.ether_type = htons(ETHERTYPE_IP);
    std::vector<std::uint8_t> bytes;
    const auto append = [&](const void* data, std::size_t size) {
      const auto* from = static_cast<const std::uint8_t*>(data);
      bytes.insert(bytes.end(), from, from + size);
    };
    append(&head, sizeof(head));
    append(&ip, sizeof(ip));
    append(&udp, sizeof(udp));
    append(frame.buffer.data(), frame.size);
    ASSERT_EQ(send(cable_.get(), bytes.data(), bytes.size(), 0), std::ssize(bytes));
  }

  RealClock clock_;
  int before_ = -1;
  Socket cable_;
  sockaddr_ll far_{};
};

TEST_F(Stays, NothingOfTheBusLeavesByAnotherInterface) {
  MulticastBus a(clock_, 0, kDefaultGroup, kPort), b(clock_, 0, kDefaultGroup, kPort);
  for (std::uint32_t id = 0; id < 100; ++id) ASSERT_TRUE(a.Send(FrameOf(id, false, "")));
  for (std::uint32_t id = 0; id < 100; ++id) ASSERT_EQ(b.Receive()->frame.id, id);
  EXPECT_EQ(OnTheCable(), 0);
}

// The twin: the routes do lead there, and we would see it.
TEST_F(Stays, WhatACarelessProgramSendsDoesLeave) {
  SendCarelessly(kPort);
  EXPECT_EQ(OnTheCable(), 1);
}

// Also where another program has made this computer take the group's datagrams from the cable.
TEST_F(Stays, NothingComesInByAnotherInterface) {
  const Socket careless = Joined();
  MulticastBus bus(clock_, 0, kDefaultGroup, kPort);
  std::array<std::uint8_t, 1024> buffer;
  for (std::uint32_t id = 1; id <= 2; ++id) {  // when the second is there, the first is everywhere
    ComesFromFar(EncodeDatagram(FrameOf(id, false, "01")));
    ASSERT_TRUE(IsReadable(careless));
    ASSERT_GT(recv(careless.get(), buffer.data(), buffer.size(), 0), 0);
  }
  EXPECT_FALSE(bus.Receive().has_value());
  EXPECT_EQ(bus.counters().malformed, 0u);
}

}  // namespace
}  // namespace drycrank::io
