// SPDX-License-Identifier: Apache-2.0
#include "io/interface.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <unistd.h>

#include "io/link_reader.h"
#include "io/socket.h"

namespace drycrank::io {
namespace {

using testing::HasSubstr;

MulticastAddress Multicast(std::string_view text, int bus = 0) {
  return std::get<MulticastAddress>(ParseBusAddress(text, bus));
}

std::string Wrong(std::string_view text) {
  const BusAddress address = ParseBusAddress(text, 0);
  const auto* wrong = std::get_if<std::string>(&address);
  return wrong == nullptr ? "" : *wrong;
}

TEST(Interface, MulticastHasDefaultsAndOnePortPerBus) {
  EXPECT_EQ(Multicast("multicast").group, "239.74.163.2");
  EXPECT_EQ(Multicast("multicast").port, 43113);
  EXPECT_EQ(Multicast("multicast", 2).port, 43115);
  EXPECT_EQ(Multicast("multicast:239.1.2.3").group, "239.1.2.3");
  EXPECT_EQ(Multicast("multicast:239.1.2.3:5000").port, 5000);
  EXPECT_EQ(Multicast("multicast:5000").port, 5000);
  EXPECT_EQ(Multicast("multicast:5000").group, "239.74.163.2");
}

TEST(Interface, OtherKindsByName) {
  EXPECT_TRUE(std::holds_alternative<InprocAddress>(ParseBusAddress("inproc", 0)));
  EXPECT_EQ(std::get<SocketCanAddress>(ParseBusAddress("socketcan:can0", 0)).interface, "can0");
}

TEST(Interface, WrongTextIsToldWithWhatWouldBeRight) {
  EXPECT_THAT(Wrong("can0"), HasSubstr("socketcan:NAME"));
  EXPECT_THAT(Wrong(""), HasSubstr("not a bus interface"));
  EXPECT_THAT(Wrong("inproc:x"), HasSubstr("not a bus interface"));
  EXPECT_THAT(Wrong("socketcan:"), HasSubstr("socketcan:can0"));
  EXPECT_THAT(Wrong("multicast:10.0.0.1"), HasSubstr("not a multicast group"));
  EXPECT_THAT(Wrong("multicast:239.1.2.3:0"), HasSubstr("not a UDP port"));
  EXPECT_THAT(Wrong("multicast:239.1.2.3:65536"), HasSubstr("not a UDP port"));
  EXPECT_THAT(Wrong("multicast:239.1.2.3:"), HasSubstr("not a UDP port"));
  EXPECT_THAT(Wrong("multicast:x"), HasSubstr("not a UDP port"));
}

TEST(Interface, OpensWhatItsNameSays) {
  ManualClock clock;
  const std::string port = std::to_string(60000 + getpid() % 5000);
  const OpenedBus multicast = OpenBus("multicast:" + port, clock, 0);
  ASSERT_NE(multicast.bus, nullptr) << multicast.error;
  EXPECT_EQ(multicast.bus->Description(), "multicast:239.74.163.2:" + port);
  EXPECT_TRUE(multicast.bus->IsVirtual());
  EXPECT_GE(multicast.bus->FileDescriptor(), 0);

  const OpenedBus inproc = OpenBus("inproc", clock, 0, std::make_shared<bus::InprocHub>(clock));
  ASSERT_NE(inproc.bus, nullptr);
  EXPECT_EQ(inproc.bus->FileDescriptor(), -1);
  EXPECT_THAT(OpenBus("inproc", clock, 0).error, HasSubstr("inproc"));
}

// The two causes are told apart: a kernel without CAN, and one without this interface. Which of
// them it must be here is asked of the kernel itself; both are seen in tests/kernel.
TEST(Interface, MissingCanIsToldWithItsCause) {
  ManualClock clock;
  const Socket probe(::socket(AF_CAN, SOCK_RAW | SOCK_CLOEXEC, 1));
  const OpenedBus opened = OpenBus("socketcan:nocan7", clock, 0);
  EXPECT_EQ(opened.bus, nullptr);
  EXPECT_THAT(opened.error, HasSubstr("socketcan:nocan7"));
  EXPECT_THAT(opened.error,
              HasSubstr(probe.is_open() ? "no interface named nocan7" : "this kernel has no CAN"));
}

TEST(LinkReader, LoopbackIsNoCanAndHasNoKind) {
  const auto facts = ReadLink("lo");
  ASSERT_TRUE(facts.has_value());
  EXPECT_FALSE(facts->is_can);
  EXPECT_EQ(facts->kind, "");
  EXPECT_EQ(facts->qdisc, "noqueue");
  EXPECT_FALSE(facts->controller.has_value());
}

TEST(LinkReader, WhatIsNotThereHasNoFacts) {
  EXPECT_EQ(ReadLink("no_such_can"), std::nullopt);
}

}  // namespace
}  // namespace drycrank::io
