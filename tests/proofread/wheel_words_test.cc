// SPDX-License-Identifier: Apache-2.0
#include "proofread/wheel_words.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

namespace drycrank::proofread {
namespace {

using testing::ElementsAre;

// `places` in a row, without those in `missing`, half of each pitch metal.
profile::Wheel Row(int places, const std::vector<int>& missing) {
  profile::Wheel wheel;
  const double pitch_deg = 360.0 / places;
  for (int k = 1; k <= places; ++k) {
    if (std::find(missing.begin(), missing.end(), k) != missing.end()) continue;
    wheel.teeth.push_back({pitch_deg * (k - 1), pitch_deg * (k - 0.5)});
  }
  return wheel;
}

TEST(WheelWords, ARowIsCountedWithItsGaps) {
  EXPECT_EQ(WheelWords(Row(60, {59, 60})), "58 teeth on 60 places, 59 and 60 missing");
  EXPECT_EQ(WheelWords(Row(36, {17, 18, 32, 33, 35, 36})),
            "30 teeth on 36 places, 17, 18, 32, 33, 35 and 36 missing");
  EXPECT_EQ(WheelWords(Row(12, {})), "12 even teeth");
  const auto row = EvenRowOf(Row(36, {36}));
  ASSERT_TRUE(row);
  EXPECT_EQ(row->places, 36);
  EXPECT_THAT(row->missing, ElementsAre(36));
}

TEST(WheelWords, TeethOfTheirOwnAreListedByAngle) {
  profile::Wheel wheel;
  wheel.teeth = {{0, 20}, {70, 130}};
  EXPECT_FALSE(EvenRowOf(wheel));
  EXPECT_EQ(WheelWords(wheel), "2 teeth at 0-20, 70-130 deg of the wheel");
  wheel.teeth = {{0, 180}};
  EXPECT_EQ(WheelWords(wheel), "1 tooth at 0-180 deg of the wheel");
}

// Begins on an even row, but one tooth is wider: no row of equal teeth.
TEST(WheelWords, TeethOfSeveralWidthsAreNoRow) {
  profile::Wheel wheel;
  wheel.teeth = {{0, 20}, {90, 125}, {180, 230}, {270, 335}};
  EXPECT_FALSE(EvenRowOf(wheel));
}

}  // namespace
}  // namespace drycrank::proofread
