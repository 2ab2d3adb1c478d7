// SPDX-License-Identifier: Apache-2.0
#include "record/motion_file.h"

#include <gtest/gtest.h>

#include <string>

namespace drycrank::record {
namespace {

std::string Line(const CrankMotion& motion) {
  fmt::memory_buffer buffer;
  AppendMotion(motion, buffer);
  return fmt::to_string(buffer);
}

TEST(MotionFile, ALineHasTheColumnsOfTheHeader) {
  const CrankMotion motion{
      1500000000,
      {37, 90.5},
      {.kind = SegmentKind::kRamp, .speed_rpm = 300, .to_rpm = 3000, .duration_s = 1}};
  EXPECT_EQ(Line(motion), "1500000000,37,90.5,ramp,300,3000,1,0,1,0,2");
}

// A third of a degree has no finite form in either base.
TEST(MotionFile, WhatIsReadIsWhatWasWrittenToTheBit) {
  for (const SegmentKind kind :
       {SegmentKind::kHold, SegmentKind::kRamp, SegmentKind::kSine, SegmentKind::kCrank}) {
    const CrankMotion motion{
        7, {1, 1.0 / 3}, {kind, 1000.0 / 3, 0.1, 1.0 / 7, 2.0 / 3, 0.3, 0.25, 1.5}};
    const auto read = ParseMotion(Line(motion));
    ASSERT_TRUE(read.has_value());
    EXPECT_EQ(Line(*read), Line(motion));
    EXPECT_EQ(read->begin.deg, motion.begin.deg);
    EXPECT_EQ(read->segment.period_s, motion.segment.period_s);
  }
}

TEST(MotionFile, WhatIsNoMotionIsNone) {
  EXPECT_TRUE(ParseMotion("0,0,0,hold,100,0,0,0,1,0,2").has_value());
  for (const char* line :
       {"", "0,0,0,hold,100,0,0,0,1,0", "0,0,0,hold,100,0,0,0,1,0,2,9",
        "0,0,0,leap,100,0,0,0,1,0,2", "-1,0,0,hold,100,0,0,0,1,0,2", "0,0,360,hold,100,0,0,0,1,0,2",
        "0,0,nan,hold,100,0,0,0,1,0,2", "0,0,0,hold,1e300,0,0,0,1,0,2",
        "0,0,0,hold,inf,0,0,0,1,0,2", "0,0,0,sine,100,0,0,200,1,0,2", "0,0,0,sine,100,0,0,50,0,0,2",
        "0,0,0,crank,100,0,0,0,1,0.95,2", "9223372036854775807,0,0,hold,100,0,0,0,1,0,2"}) {
    EXPECT_FALSE(ParseMotion(line).has_value()) << line;
  }
}

}  // namespace
}  // namespace drycrank::record
