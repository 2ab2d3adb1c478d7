// SPDX-License-Identifier: Apache-2.0
#include "profile/fault_relay.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

namespace drycrank::profile {
namespace {

using testing::HasSubstr;

std::string WhyNot(const char* name) {
  std::string why;
  EXPECT_FALSE(ParseRelayFault(name, why)) << name;
  return why;
}

Fault FaultAt(FaultKind kind, const char* at, const char* with = "") {
  Fault fault;
  fault.kind = std::move(kind);
  fault.at = at;
  fault.with = with;
  return fault;
}

bool Puts(const char* relay, const Fault& fault, int index = -1) {
  OutputChannel channel;
  channel.index = index;
  channel.name = relay;
  return PutsIn(channel, fault);
}

TEST(FaultRelay, IsNamedByItsFault) {
  std::string why;
  const auto found = ParseRelayFault("short_together CKP.1 CKP.2 0.1 kohm", why);
  ASSERT_TRUE(found) << why;
  EXPECT_EQ(found->kind, "short_together");
  EXPECT_EQ(found->at + " " + found->with, "CKP.1 CKP.2");
  EXPECT_EQ(found->ohm, 100);
}

TEST(FaultRelay, ToARailOnlyByAResistorOrBehindAFuse) {
  EXPECT_THAT(WhyNot("short_to_supply CLT.1"), HasSubstr("neither fuse nor resistor"));
  EXPECT_THAT(WhyNot("short_to_ground CLT.1 0.2 ohm"), HasSubstr("neither fuse nor resistor"));
  std::string why;
  EXPECT_TRUE(ParseRelayFault("short_to_supply CLT.1 fuse 500 mA", why)) << why;
  EXPECT_TRUE(ParseRelayFault("short_to_ground CLT.1 100 ohm", why)) << why;
  EXPECT_TRUE(ParseRelayFault("short_to_ground CLT.1 10 ohm fuse 1 A", why)) << why;
}

TEST(FaultRelay, AFuseThatOutlastsTheWireIsRefused) {
  EXPECT_THAT(WhyNot("short_to_supply CLT.1 fuse 5 A"), HasSubstr("a fuse of more than 3 A"));
  EXPECT_THAT(WhyNot("short_to_ground CLT.1 10 ohm fuse 3001 mA"), HasSubstr("a fuse of more than 3 A"));
  std::string why;
  EXPECT_TRUE(ParseRelayFault("short_to_supply CLT.1 fuse 3 A", why)) << why;
}

TEST(FaultRelay, WhatIsNotWrittenSoIsSaid) {
  EXPECT_THAT(WhyNot("opn CLT.1"), HasSubstr("'opn' is no fault"));
  EXPECT_THAT(WhyNot("ground_offset ECU.2 0.2 V"), HasSubstr("no fault that a relay puts in"));
  EXPECT_THAT(WhyNot("open "), HasSubstr("lacks a terminal"));
  EXPECT_THAT(WhyNot("short_together CKP.1"), HasSubstr("lacks a terminal"));
  EXPECT_THAT(WhyNot("series_resistance CLT.1"), HasSubstr("has no resistance"));
  for (const char* wrong : {"open CLT.1 soon", "series_resistance CLT.1 1000", "series_resistance CLT.1 -5 ohm",
                            "series_resistance CLT.1 5 V", "short_to_ground CLT.1 fuse", "short_to_ground CLT.1 fuse 1"}) {
    EXPECT_NE(WhyNot(wrong), "") << wrong;
  }
}

TEST(FaultRelay, PutsInItsOwnFaultAndNoOther) {
  EXPECT_TRUE(Puts("open CLT.1", FaultAt(fault::Open{}, "CLT.1")));
  EXPECT_FALSE(Puts("open CLT.1", FaultAt(fault::Open{}, "CLT.2")));
  EXPECT_FALSE(Puts("open CLT.1", FaultAt(fault::NotPlugged{}, "CLT.1")));
  EXPECT_TRUE(Puts("short_together A.1 B.1 47 ohm", FaultAt(fault::ShortTogether{46}, "B.1", "A.1")));
  EXPECT_FALSE(Puts("short_together A.1 B.1 47 ohm", FaultAt(fault::ShortTogether{0}, "A.1", "B.1")));
  EXPECT_FALSE(Puts("short_together A.1 B.1 47 ohm", FaultAt(fault::ShortTogether{47}, "A.1", "C.1")));
  EXPECT_TRUE(Puts("series_resistance A.1 1 kohm", FaultAt(fault::SeriesResistance{1040}, "A.1")));
  EXPECT_FALSE(Puts("series_resistance A.1 1 kohm", FaultAt(fault::SeriesResistance{1100}, "A.1")));
  EXPECT_TRUE(Puts("short_to_supply A.1 fuse 1 A", FaultAt(fault::ShortToSupply{0}, "A.1")));
  // A sensor's channel is none.
  EXPECT_FALSE(Puts("open CLT.1", FaultAt(fault::Open{}, "CLT.1"), 0));
}

TEST(FaultRelay, AFaultIsNamedAsItsRelayWouldBe) {
  EXPECT_EQ(RelayNameOf(FaultAt(fault::SeriesResistance{1000}, "CLT.1")), "series_resistance CLT.1 1000 ohm");
  EXPECT_EQ(RelayNameOf(FaultAt(fault::ShortTogether{0}, "A.1", "B.1")), "short_together A.1 B.1");
}

}  // namespace
}  // namespace drycrank::profile
