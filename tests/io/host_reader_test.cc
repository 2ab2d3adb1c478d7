// SPDX-License-Identifier: Apache-2.0
//
// The facts of this computer, read where they have been made so: a network namespace whose routes
// and ports are ours, and a user without rights. Each fact beside its opposite, and the finding
// that follows.
#include "io/host_reader.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <linux/capability.h>
#include <sched.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstdlib>

#include "io/multicast_bus.h"
#include "tests/io/as_nobody.h"
#include "tests/io/child_process.h"

namespace drycrank::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::vector<std::string> Causes(const bus::HostFacts& host, const bus::MulticastFacts& multicast) {
  bus::BusFacts bus;
  bus.bus = "vehicle";
  bus.multicast = multicast;
  std::vector<std::string> causes;
  for (const bus::Finding& finding : bus::FindTrouble(host, {bus})) {
    causes.emplace_back(finding.cause);
  }
  return causes;
}
// Only what follows of the multicast facts.
std::vector<std::string> Causes(const bus::MulticastFacts& multicast) {
  bus::HostFacts good;
  good.may_raise_buffers = true;
  good.realtime_priority_max = 99;
  good.locked_memory_max_bytes = -1;
  return Causes(good, multicast);
}

// An empty network of the test's own; the one from before is back afterwards.
class HostReader : public testing::Test {
 protected:
  void SetUp() override {
    before_ = open("/proc/thread-self/ns/net", O_RDONLY | O_CLOEXEC);
    ASSERT_EQ(unshare(CLONE_NEWNET), 0) << "needs root and a kernel with network namespaces";
    Ip("link set lo up");
  }
  void TearDown() override {
    setns(before_, CLONE_NEWNET);
    close(before_);
  }
  static void Ip(const std::string& words) {
    ASSERT_EQ(std::system(("PATH=$PATH:/usr/sbin:/sbin; ip " + words).c_str()), 0) << words;
  }
  static bus::MulticastFacts Facts(std::uint16_t port = kDefaultPort) {
    return ReadMulticast(kDefaultGroup, port);
  }
  int before_ = -1;
};

TEST_F(HostReader, NoRouteForTheGroupAndOneToLoopback) {
  EXPECT_EQ(Facts().route_interface, "");
  EXPECT_THAT(Causes(Facts()), ElementsAre("multicast-route"));
  Ip("route add 239.74.163.2/32 dev lo");
  EXPECT_EQ(Facts().route_interface, "lo");
  EXPECT_THAT(Causes(Facts()), IsEmpty());
}

TEST_F(HostReader, ARouteThatLeavesThisComputerIsNamed) {
  Ip("link add outside type veth peer name far");
  Ip("address add 192.0.2.1/24 dev outside");
  Ip("link set outside up");
  Ip("route add default dev outside");
  EXPECT_EQ(Facts().route_interface, "outside");
  EXPECT_THAT(Causes(Facts()), ElementsAre("multicast-route"));
}

// Holds a port in a process of its own until it is interrupted; prints its number first.
const char kHolds[] =
    "import signal, socket, sys\n"
    "signal.signal(signal.SIGINT, signal.SIG_DFL)\n"
    "s = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)\n"
    "if sys.argv[1] == 'shared': s.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)\n"
    "s.bind(('', 0))\n"
    "print(s.getsockname()[1], flush=True)\n"
    "signal.pause()\n";

TEST_F(HostReader, APortHeldByAnotherProgramUntilItEnds) {
  Ip("route add 239.74.163.2/32 dev lo");
  ChildProcess holder({"/usr/bin/python3", "-c", kHolds, "alone"});
  const auto port = static_cast<std::uint16_t>(std::atoi(holder.ReadLine().c_str()));
  ASSERT_NE(port, 0);
  EXPECT_TRUE(Facts(port).port_taken);
  EXPECT_THAT(Causes(Facts(port)), ElementsAre("multicast-port"));
  holder.Interrupt();
  holder.WaitForEnd();
  EXPECT_FALSE(Facts(port).port_taken);
  EXPECT_THAT(Causes(Facts(port)), IsEmpty());
}

TEST_F(HostReader, APortSharedByAnotherProgramIsFree) {
  ChildProcess sharer({"/usr/bin/python3", "-c", kHolds, "shared"});
  const auto port = static_cast<std::uint16_t>(std::atoi(sharer.ReadLine().c_str()));
  ASSERT_NE(port, 0);
  EXPECT_FALSE(Facts(port).port_taken);
}

std::string RightsWith(const std::vector<int>& capabilities) {
  return AsNobody(capabilities, [] {
    const bus::HostFacts host = ReadHost();
    std::string text =
        fmt::format("priority {}, locked {}, buffers {}", host.realtime_priority_max,
                    host.locked_memory_max_bytes, host.may_raise_buffers ? "any" : "limited");
    for (const bus::Finding& finding : bus::FindTrouble(host, {})) {
      if (finding.cause == "no-realtime-rights") text += "; " + finding.what;
    }
    return text;
  });
}

TEST(HostRights, OfAUserWhoHasNone) {
  EXPECT_EQ(RightsWith({}),
            "priority 0, locked 65536, buffers limited; This user may neither have real-time "
            "priority nor lock its memory: under load frames leave late.");
}

TEST(HostRights, EachIsSeenByItself) {
  EXPECT_THAT(RightsWith({CAP_SYS_NICE}), HasSubstr("priority 99, locked 65536, buffers limited; "
                                                    "This user may not lock its memory"));
  EXPECT_THAT(RightsWith({CAP_IPC_LOCK}), HasSubstr("priority 0, locked -1, buffers limited; This "
                                                    "user may not have real-time priority"));
  EXPECT_EQ(RightsWith({CAP_SYS_NICE, CAP_IPC_LOCK, CAP_NET_ADMIN}),
            "priority 99, locked -1, buffers any");
}

}  // namespace
}  // namespace drycrank::io
