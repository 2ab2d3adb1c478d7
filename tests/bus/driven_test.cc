// SPDX-License-Identifier: Apache-2.0
//
// Interfaces and gateway jobs made by hand; what they lead to follows from the drawing beside each.
#include "bus/driven.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>

namespace drycrank::bus {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class DrivenTest : public testing::Test {
 protected:
  void Add(int index, const std::string& name, const std::string& kind) {
    LinkFacts& link = links_[index];
    link.index = index;
    link.name = name;
    link.kind = kind;
    link.is_can = true;
  }
  void Pair(int a, int b) {
    links_[a].peer_index = b;
    links_[b].peer_index = a;
  }
  std::vector<Driven> From(int index) {
    return DrivenBy(index, jobs_, [this](int one) -> std::optional<LinkFacts> {
      const auto found = links_.find(one);
      if (found == links_.end()) return std::nullopt;
      return found->second;
    });
  }
  std::vector<std::string> Names(int index) {
    std::vector<std::string> names;
    for (const Driven& one : From(index)) names.push_back(one.name);
    return names;
  }

  std::map<int, LinkFacts> links_;
  std::vector<GatewayJob> jobs_;
};

TEST_F(DrivenTest, AVcanAloneDrivesNothingAndHardwareItself) {
  Add(3, "vcan0", "vcan");
  Add(4, "can0", "can");
  Add(5, "slcan0", "slcan");
  Add(6, "odd0", "");
  EXPECT_THAT(Names(3), IsEmpty());
  EXPECT_THAT(Names(4), ElementsAre("can0"));
  EXPECT_THAT(Names(5), ElementsAre("slcan0"));
  EXPECT_THAT(Names(6), ElementsAre("odd0"));
  EXPECT_EQ(From(4)[0].way, "");
}

// vcan0 ─job─► vcan1 ─job─► can0; the other direction leads nowhere.
TEST_F(DrivenTest, GatewayJobsAreFollowedInTheirDirection) {
  Add(3, "vcan0", "vcan");
  Add(4, "vcan1", "vcan");
  Add(5, "can0", "can");
  jobs_ = {{3, 4}, {4, 5}, {5, 3}};
  EXPECT_THAT(Names(3), ElementsAre("can0"));
  EXPECT_EQ(From(3)[0].way, "vcan0, by a gateway job to vcan1, by a gateway job to can0");
  jobs_ = {{4, 3}, {5, 3}};
  EXPECT_THAT(Names(3), IsEmpty());
}

// vxcan0 ─peer─ vxcan1 ─job─► can0 ─job─► can1
TEST_F(DrivenTest, PeersAndWhatHardwarePassesOnAreFollowed) {
  Add(3, "vxcan0", "vxcan");
  Add(4, "vxcan1", "vxcan");
  Add(5, "can0", "can");
  Add(6, "can1", "can");
  Pair(3, 4);
  EXPECT_THAT(Names(3), IsEmpty());
  jobs_ = {{4, 5}, {5, 6}};
  EXPECT_THAT(Names(3), ElementsAre("can0", "can1"));
  EXPECT_EQ(From(3)[0].way, "vxcan0, its peer vxcan1, by a gateway job to can0");
}

TEST_F(DrivenTest, AnEndThatCannotBeSeenCountsAsHardware) {
  Add(3, "vxcan0", "vxcan");
  links_[3].peer_index = 4;  // a number of the other namespace: here it is somebody else's
  links_[3].peer_elsewhere = true;
  Add(4, "vcan7", "vcan");
  ASSERT_THAT(Names(3), ElementsAre("vxcan0"));
  EXPECT_THAT(From(3)[0].way, HasSubstr("in another network namespace"));
}

TEST_F(DrivenTest, ARingOfJobsEnds) {
  Add(3, "vcan0", "vcan");
  Add(4, "vcan1", "vcan");
  jobs_ = {{3, 4}, {4, 3}, {3, 3}, {3, 99}};  // 99 is gone
  EXPECT_THAT(Names(3), IsEmpty());
}

TEST_F(DrivenTest, ArmedIsThisDeviceUnderThisName) {
  const Driven can0{5, "can0", "can", ""};
  EXPECT_TRUE(IsWithin({}, {}));
  EXPECT_TRUE(IsWithin({can0}, {can0, {6, "can1", "can", ""}}));
  EXPECT_FALSE(IsWithin({can0}, {}));
  EXPECT_FALSE(IsWithin({{7, "can0", "can", ""}}, {can0}));  // another of its name
  EXPECT_FALSE(IsWithin({{5, "can3", "can", ""}}, {can0}));  // renamed
  EXPECT_FALSE(IsWithin({can0, {6, "can1", "can", ""}}, {can0}));
}

}  // namespace
}  // namespace drycrank::bus
