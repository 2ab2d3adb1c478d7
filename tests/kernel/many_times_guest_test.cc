// SPDX-License-Identifier: Apache-2.0
//
// Runs in the guest kernel: interfaces that go and come a thousand times, and floods of frames that
// no bus carries. Every frame is accounted for.
#include <gtest/gtest.h>
#include <linux/can.h>
#include <linux/can/raw.h>
#include <linux/if_link.h>
#include <linux/rtnetlink.h>
#include <net/if.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstring>

#include "tests/bus/build_signal.h"
#include "tests/kernel/guest_can.h"

namespace drycrank::io {
namespace {

using bus::BusEvent;
using bus::FrameOf;

void SetLinkUp(const char* interface, bool up) {
  const Socket any(::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0));
  ifreq request{};
  std::strncpy(request.ifr_name, interface, IFNAMSIZ - 1);
  ASSERT_EQ(ioctl(any.get(), SIOCGIFFLAGS, &request), 0);
  request.ifr_flags =
      static_cast<short>(up ? request.ifr_flags | IFF_UP : request.ifr_flags & ~IFF_UP);
  ASSERT_EQ(ioctl(any.get(), SIOCSIFFLAGS, &request), 0);
}

// "ip link add NAME group 7 type vcan" and "ip link del group 7" without a process for each. A
// group goes in one transaction: the kernel takes some 0.1 s for one, whatever it removes.
class LinkMaker {
 public:
  LinkMaker() : socket_(::socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, NETLINK_ROUTE)) {}
  void Make(const std::string& name) {
    char kind[16];
    const std::size_t size = Add(kind, 0, IFLA_INFO_KIND, "vcan", 4);
    Request request = New(RTM_NEWLINK, NLM_F_CREATE | NLM_F_EXCL);
    std::size_t used = Add(request.attributes, 0, IFLA_IFNAME, name.c_str(), name.size() + 1);
    used = Add(request.attributes, used, IFLA_GROUP, &kGroup, sizeof(kGroup));
    Do(request, Add(request.attributes, used, IFLA_LINKINFO, kind, size));
  }
  void RemoveAll() {
    Request request = New(RTM_DELLINK, 0);
    Do(request, Add(request.attributes, 0, IFLA_GROUP, &kGroup, sizeof(kGroup)));
  }

 private:
  static constexpr std::uint32_t kGroup = 7;
  struct Request {
    nlmsghdr head{};
    ifinfomsg link{};
    char attributes[96] = {};
  };
  static Request New(std::uint16_t type, int flags) {
    Request request;
    request.head.nlmsg_type = type;
    request.head.nlmsg_flags = static_cast<std::uint16_t>(NLM_F_REQUEST | NLM_F_ACK | flags);
    return request;
  }
  void Do(Request& request, std::size_t used) {
    request.head.nlmsg_len =
        static_cast<std::uint32_t>(sizeof(request) - sizeof(request.attributes) + used);
    ASSERT_GT(send(socket_.get(), &request, request.head.nlmsg_len, 0), 0);
    struct {
      nlmsghdr head;
      nlmsgerr error;
      char rest[256];
    } answer{};
    ASSERT_GT(recv(socket_.get(), &answer, sizeof(answer), 0), 0);
    ASSERT_EQ(answer.error.error, 0);
  }
  static std::size_t Add(char* at, std::size_t used, std::uint16_t type, const void* data,
                         std::size_t size) {
    const rtattr head{static_cast<std::uint16_t>(sizeof(rtattr) + size), type};
    std::memcpy(at + used, &head, sizeof(head));
    std::memcpy(at + used + sizeof(head), data, size);
    return used + ((sizeof(head) + size + 3) & ~std::size_t{3});
  }
  Socket socket_;
};

// Two ends on one vcan. A manual clock, so that looking anew every 100 ms takes no time.
class Pair {
 public:
  explicit Pair(const std::string& interface) : a(clock_, 0, interface), b(clock_, 0, interface) {}

  // Both ends have noticed, and say so.
  void ExpectBoth(BusEvent event) {
    clock_.WaitUntil(clock_.Now() + 200 * kNsPerMs, {});
    for (SocketCanBus* end : {&a, &b}) {
      while (end->Receive()) {
      }
      EXPECT_EQ(end->NextEvent(), event);
    }
  }
  // One frame each way; while it is down, one that is refused.
  void Exchange() {
    for (const auto& [from, to] : {std::pair{&a, &b}, std::pair{&b, &a}}) {
      ++attempts;
      const std::uint64_t before = to->counters().received;
      if (!from->Send(FrameOf(attempts & 0x7FF, false, ""))) continue;
      ReadUntil(*to, [&](const bus::BusCounters& n) { return n.received > before; });
      ReadUntil(*from, [](const bus::BusCounters& n) { return n.confirmed == n.sent; });
      arrived += to->counters().received - before;
    }
  }
  // Half of what was tried was tried while it was down.
  void ExpectHalfArrivedAndHalfRefused(std::uint32_t tries) const {
    EXPECT_EQ(attempts, tries);
    EXPECT_EQ(arrived, tries / 2);
    EXPECT_EQ(a.counters().sent + b.counters().sent, tries / 2);
    EXPECT_EQ(a.counters().confirmed + b.counters().confirmed, tries / 2);
    EXPECT_EQ(a.counters().send_refused + b.counters().send_refused, tries / 2);
  }

 private:
  // A real wait: the clock here is a manual one.
  template <class Done>
  static void ReadUntil(SocketCanBus& end, Done done) {
    for (int i = 0; i < 1000 && !done(end.counters()); ++i) {
      if (end.Receive()) continue;
      pollfd polled{end.FileDescriptor(), POLLIN, 0};
      poll(&polled, 1, 10);
    }
  }
  ManualClock clock_;

 public:
  SocketCanBus a, b;
  std::uint32_t attempts = 0;
  std::uint64_t arrived = 0;
};

TEST(ManyTimes, AThousandTimesDownAndUp) {
  Pair pair("vcan0");
  for (int i = 0; i < 1000 && !testing::Test::HasFailure(); ++i) {
    SetLinkUp("vcan0", false);
    pair.ExpectBoth(BusEvent::kDown);
    pair.Exchange();
    SetLinkUp("vcan0", true);
    pair.ExpectBoth(BusEvent::kUp);
    pair.Exchange();
  }
  pair.ExpectHalfArrivedAndHalfRefused(4000);
}

// 40 interfaces, 25 times each.
TEST(ManyTimes, AThousandTimesRemovedAndMadeAgain) {
  LinkMaker links;
  std::vector<std::string> names;
  for (int i = 0; i < 40; ++i) names.push_back("many" + std::to_string(i));
  const auto make_all = [&] {
    for (const std::string& name : names) {
      links.Make(name);
      SetLinkUp(name.c_str(), true);
    }
  };
  make_all();
  std::vector<std::unique_ptr<Pair>> pairs;
  for (const std::string& name : names) pairs.push_back(std::make_unique<Pair>(name));
  for (int i = 0; i < 25 && !testing::Test::HasFailure(); ++i) {
    links.RemoveAll();
    for (const auto& pair : pairs) {
      pair->ExpectBoth(BusEvent::kDown);
      pair->Exchange();
    }
    make_all();
    for (const auto& pair : pairs) {
      pair->ExpectBoth(BusEvent::kUp);
      pair->Exchange();
    }
  }
  for (const auto& pair : pairs) pair->ExpectHalfArrivedAndHalfRefused(100);
  pairs.clear();
  links.RemoveAll();
}

long ResidentKiB() {
  std::ifstream status("/proc/self/statm");
  long all = 0, resident = 0;
  status >> all >> resident;
  return resident * (sysconf(_SC_PAGESIZE) / 1024);
}

// FD frames of lengths that no bus carries, error reports of every class, nobody asking for events.
TEST(ManyTimes, HostileFramesAreCountedAndTakeNoMemory) {
  ManualClock clock;
  SocketCanBus bus(clock, 0, "vcan0");
  Socket raw(::socket(PF_CAN, SOCK_RAW | SOCK_CLOEXEC, CAN_RAW));
  ASSERT_TRUE(SetOption(raw, SOL_CAN_RAW, CAN_RAW_FD_FRAMES, 1));
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = static_cast<int>(if_nametoindex("vcan0"));
  ASSERT_EQ(bind(raw.get(), reinterpret_cast<const sockaddr*>(&address), sizeof(address)), 0);
  std::uint64_t malformed = 0, reports = 0;
  long before_kib = 0;
  for (std::uint32_t i = 0; i < 20'000; ++i) {
    if (i == 2000) before_kib = ResidentKiB();
    canfd_frame frame{};
    if (i % 2 == 0) {
      frame.can_id = i & 0x1FFFFFFF;
      frame.len = 9;
      ++malformed;
      ASSERT_EQ(write(raw.get(), &frame, CANFD_MTU), static_cast<ssize_t>(CANFD_MTU));
    } else {
      frame.can_id = CAN_ERR_FLAG | (i & 0x1FF);
      frame.len = 8;
      std::memset(frame.data, static_cast<int>(i & 0xFF), 8);
      ++reports;
      ASSERT_EQ(write(raw.get(), &frame, CAN_MTU), static_cast<ssize_t>(CAN_MTU));
    }
    while (bus.Receive()) {
    }
  }
  EXPECT_EQ(bus.counters().malformed, malformed);
  EXPECT_EQ(bus.counters().error_reports, reports);
  EXPECT_EQ(bus.counters().received, 0u);
  EXPECT_LE(ResidentKiB() - before_kib, 256);
  int waiting = 0;
  while (bus.NextEvent()) ++waiting;
  EXPECT_LE(waiting, 64);
}

}  // namespace
}  // namespace drycrank::io
