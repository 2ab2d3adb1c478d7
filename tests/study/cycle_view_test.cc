// SPDX-License-Identifier: Apache-2.0
//
// One cycle in degrees, of walks over shipped benches: what the picture holds, against the angles of their
// wheels and the fault that was put in.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profile/load.h"
#include "report/cycle.h"
#include "study/play.h"
#include "types/clock.h"
#include "walk/walk.h"

namespace drycrank::study {
namespace {

using testing::HasSubstr;

class Cycles : public testing::Test {
 protected:
  const std::vector<report::CyclePicture>& Walk(const std::string& bench,
                                                const std::string& fault = {}) {
    bench_ = profile::LoadBench(fmt::format(DRYCRANK_PROFILES_DIR "/benches/{}.yaml", bench));
    scenario_ = walk::MakeWalk(*bench_.bench).scenario;
    if (!fault.empty()) {
      scenario_.faults.push_back(*profile::ParseFault(*bench_.bench, fault).fault);
    }
    VirtualClock clock;
    PlayOptions options;
    options.clock = &clock;
    options.weigh = false;
    report_ = Play(*bench_.bench, scenario_, options).report;
    return report_.cycles;
  }

  profile::LoadedBench bench_;
  profile::Scenario scenario_;
  report::Report report_;
};

// 60-2 has 58 teeth a turn, twice a cycle; the cam four teeth, eight edges. 12 degrees are designed.
TEST_F(Cycles, AHealthyBenchHasEachEdgeAtItsPlace) {
  const auto& cycles = Walk("hill_climb");
  ASSERT_EQ(cycles.size(), 1u);
  const report::CyclePicture& cycle = cycles[0];
  EXPECT_EQ(cycle.title, "The first whole cycle after synchronisation");
  ASSERT_EQ(cycle.rows.size(), 2u);
  EXPECT_EQ(cycle.rows[0].due.size(), 2 * 58u);
  EXPECT_EQ(cycle.rows[1].due.size(), 8u);
  for (const report::CycleRow& row : cycle.rows) {
    EXPECT_TRUE(row.extra_deg.empty());
    for (const report::CycleDue& due : row.due) {
      ASSERT_TRUE(due.off_deg.has_value());
      EXPECT_NEAR(*due.off_deg, 0, 0.2);  // noise of a hundredth of a coil's peak
    }
  }
  EXPECT_THAT(cycle.rows[0].words, HasSubstr("out of the gap up first"));
  ASSERT_EQ(cycle.sparks.size(), 4u);
  for (const report::CycleSpark& spark : cycle.sparks) EXPECT_NEAR(spark.before_deg, 12, 0.2);
  EXPECT_EQ(cycle.injections.size(), 4u);
  EXPECT_NEAR(ToSeconds(cycle.end_ns - cycle.begin_ns), 720 / (6 * cycle.speed_rpm), 1e-6);
}

TEST_F(Cycles, ALateCamIsShownWhereItWasWorst) {
  const auto& cycles = Walk("hill_climb", "{kind: wheel_offset, at: cam_intake, deg: 18}");
  ASSERT_EQ(cycles.size(), 2u);
  EXPECT_THAT(cycles[0].title, HasSubstr("Where it was worst: Edges cam intake"));
  EXPECT_THAT(cycles[0].rows[0].words, HasSubstr("every edge at its place"));
  EXPECT_EQ(cycles[0].rows[1].words, "every edge 18.0° late");
  for (const report::CycleDue& due : cycles[0].rows[1].due) EXPECT_NEAR(*due.off_deg, 18, 1e-3);
}

// Falling zeros between the teeth instead of at their centres: half a pitch of 6 degrees.
TEST_F(Cycles, SwappedLeadsComeOutOfTheGapTheOtherWay) {
  const auto& cycles = Walk("hill_climb", "{kind: terminals_swapped, at: CKP.1, with: CKP.2}");
  ASSERT_FALSE(cycles.empty());
  EXPECT_THAT(cycles[0].rows[0].words, HasSubstr("the others 3.0° late"));
  EXPECT_THAT(cycles[0].rows[0].words, HasSubstr("out of the gap down first, should be up"));
}

TEST_F(Cycles, AMissingToothIsMissing) {
  const auto& cycles = Walk("hill_climb", "{kind: tooth_missing, at: cam_intake, tooth: 2}");
  ASSERT_FALSE(cycles.empty());
  EXPECT_EQ(cycles[0].rows[1].words, "of 8 edges 2 missing, 0 too many");
  for (const report::CycleDue& due : cycles[0].rows[1].due)
    EXPECT_EQ(due.off_deg.has_value(), due.tooth != 2);
}

// Half a turn of the cam: the sparks come a whole turn of the crank late.
TEST_F(Cycles, HalfATurnIsSeenAtTheCam) {
  const auto& cycles = Walk("boat_v8", "{kind: wheel_offset, at: cam, deg: 360}");
  ASSERT_FALSE(cycles.empty());
  EXPECT_THAT(cycles[0].rows[1].words, HasSubstr("every edge 360.0°"));
  ASSERT_EQ(cycles[0].sparks.size(), 8u);
  for (const report::CycleSpark& spark : cycles[0].sparks) EXPECT_NEAR(spark.before_deg, -350, 0.5);
}

}  // namespace
}  // namespace drycrank::study
