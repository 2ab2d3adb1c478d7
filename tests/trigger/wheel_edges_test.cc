// SPDX-License-Identifier: Apache-2.0
#include "trigger/wheel_edges.h"

#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <string>

#include "profile/triggers.h"
#include "tests/trigger/wheels.h"

namespace drycrank::trigger {
namespace {

using profile::Shaft;
using testing::Coil;
using testing::HalfMoon;
using testing::Hall;
using testing::SixtyMinusTwo;
using testing::Toothed;
using testing::Turning;

// Tooth count, pitch, tooth width and gap of 60-2 and 36-1 as in tests/reference/crank_cam.yaml
// (service manuals' descriptions; sources there).
TEST(Wheel, EdgesMatchThePublishedGeometry) {
  const YAML::Node reference = YAML::LoadFile(DRYCRANK_TESTS_DIR "/reference/crank_cam.yaml");
  ASSERT_EQ(reference["wheels"].size(), 2u);
  for (const YAML::Node& published : reference["wheels"]) {
    const auto name = published["name"].as<std::string>();
    const profile::Wheel wheel = name == "60-2" ? SixtyMinusTwo() : Toothed(36, {36});
    const std::vector<WheelEdge> edges = WheelEdges(Turning(Hall(Shaft::kCrank, wheel)));
    const auto teeth = published["teeth"].as<std::size_t>();
    const auto pitch_deg = published["pitch_deg"].as<double>();
    ASSERT_EQ(edges.size(), 2 * teeth) << name;
    EXPECT_DOUBLE_EQ(edges[2].crank_deg - edges[0].crank_deg, pitch_deg) << name;
    EXPECT_DOUBLE_EQ(edges[1].crank_deg - edges[0].crank_deg, pitch_deg / 2) << name;
    const double last_to_first_deg = 360 - edges[2 * (teeth - 1)].crank_deg + edges[0].crank_deg;
    EXPECT_DOUBLE_EQ(last_to_first_deg, published["gap_deg"].as<double>()) << name;
  }
}

TEST(Wheel, LevelsAlternateFromTheToothsBegin) {
  const auto edges = WheelEdges(Turning(Hall(Shaft::kCrank, SixtyMinusTwo(), 61.5)));
  for (std::size_t i = 0; i < edges.size(); ++i) {
    EXPECT_NE(edges[i].metal, edges[(i + 1) % edges.size()].metal) << i;
  }
  // Slot 51 begins at 300 deg, 61.5 later that is 1.5: the first begin after zero.
  EXPECT_TRUE(edges[0].metal);
  EXPECT_DOUBLE_EQ(edges[0].crank_deg, 1.5);
  EXPECT_EQ(edges[0].tooth, 51);
}

TEST(Wheel, CamOfAFourStrokeTakesTwoCrankTurns) {
  const profile::Trigger cam = Hall(Shaft::kCam, HalfMoon(), 100);
  EXPECT_EQ(Turning(cam).turn_deg, 720);
  const auto edges = WheelEdges(Turning(cam));
  ASSERT_EQ(edges.size(), 2u);
  EXPECT_DOUBLE_EQ(edges[0].crank_deg, 100);
  EXPECT_DOUBLE_EQ(edges[1].crank_deg, 100 + 2 * 180);
  EXPECT_TRUE(edges[0].metal);
}

TEST(Wheel, CamOfATwoStrokeTurnsWithTheCrank) {
  const profile::Trigger cam = Hall(Shaft::kCam, HalfMoon(), 100);
  EXPECT_EQ(Turning(cam, 2).turn_deg, 360);
  const auto edges = WheelEdges(Turning(cam, 2));
  ASSERT_EQ(edges.size(), 2u);
  EXPECT_DOUBLE_EQ(edges[1].crank_deg - edges[0].crank_deg, 180);
}

TEST(Wheel, AToothMayReachOverTheWheelsZero) {
  const profile::Wheel wheel{.name = "", .teeth = {{100, 120}, {350, 370}}};
  const auto edges = WheelEdges(Turning(Hall(Shaft::kCrank, wheel)));
  EXPECT_DOUBLE_EQ(edges[0].crank_deg, 10);
  EXPECT_FALSE(edges[0].metal);
  EXPECT_EQ(edges[0].tooth, 2);
}

TEST(Wheel, LobesReachHalfWayToTheNearerNeighbour) {
  // Teeth 10..14 and 30..40 of a crank wheel: ways between edges 4, 16, 10, 330.
  const profile::Wheel wheel{.name = "", .teeth = {{10, 14}, {30, 40}}};
  const auto edges = WheelEdges(Turning(Coil(Shaft::kCrank, wheel)));
  EXPECT_DOUBLE_EQ(edges[0].lobe_deg, 4);
  EXPECT_DOUBLE_EQ(edges[1].lobe_deg, 4);
  EXPECT_DOUBLE_EQ(edges[2].lobe_deg, 10);
  EXPECT_DOUBLE_EQ(edges[3].lobe_deg, 10);
  EXPECT_DOUBLE_EQ(FullLobeDeg(edges), 10);  // both met twice: the wider
}

// 70 % teeth: 3 degrees of air, 7 of tooth. 1.5 into the air, 3.5 to the tooth's centre.
TEST(Wheel, LobesReachToTheCentreOfAWideTooth) {
  const profile::Wheel wheel{.name = "", .teeth = {{0, 7}, {10, 17}}};
  const auto edges = WheelEdges(Turning(Coil(Shaft::kCrank, wheel)));
  EXPECT_DOUBLE_EQ(edges[1].lobe_deg, 5);  // the first tooth's end
  EXPECT_DOUBLE_EQ(edges[1].lead_deg, 3.5);
  EXPECT_DOUBLE_EQ(edges[2].lobe_deg, 5);  // the second one's begin
  EXPECT_DOUBLE_EQ(edges[2].lead_deg, 1.5);
}

// A slot of 2 degrees in a disc of metal: 1 into the air, three times as far into the metal.
TEST(Wheel, LobesDoNotReachRoundTheWholeWheel) {
  const profile::Wheel wheel{.name = "", .teeth = {{2, 360}}};
  const auto edges = WheelEdges(Turning(Coil(Shaft::kCrank, wheel)));
  EXPECT_DOUBLE_EQ(edges[0].lobe_deg, 4);
  EXPECT_DOUBLE_EQ(edges[1].lobe_deg, 4);
}

TEST(Wheel, FullLobeIsTheRegularPitchs) {
  EXPECT_NEAR(FullLobeDeg(WheelEdges(Turning(Coil(Shaft::kCrank, SixtyMinusTwo())))), 3, 1e-9);
  EXPECT_EQ(FullLobeDeg({}), 0);
}

}  // namespace
}  // namespace drycrank::trigger
