// SPDX-License-Identifier: Apache-2.0
//
// What stands in the drawing of one cycle, for somebody who reads it without the text around it.
#include "report/cycle_scope.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "report/cycle.h"

namespace drycrank::report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

// A 12-1 wheel on a coil: eleven teeth, 30 degrees apart, none at 330.
CyclePicture Twelve() {
  CyclePicture picture;
  picture.cycle_deg = 360;
  CycleRow row;
  row.name = "crank at E.1";
  row.coil = true;
  for (int deg = 0; deg <= 360; ++deg) row.volts.emplace_back(deg, deg % 30 < 15 ? 1 : -1);
  for (int tooth = 1; tooth <= 11; ++tooth) {
    row.due.push_back({30.0 * ((tooth + 5) % 12), true, tooth, true, 0.0});
  }
  std::ranges::sort(row.due, {}, &CycleDue::deg);
  picture.rows.push_back(row);
  picture.tops = {{0, 1}, {180, 2}};
  picture.advance_deg = 10;
  return picture;
}

std::string Drawn(const CyclePicture& picture) { return DrawCycle(picture).content.text(); }

TEST(CycleScope, SaysWhatItsMarksMean) {
  EXPECT_THAT(Drawn(Twelve()),
              AllOf(HasSubstr("should be"), HasSubstr("seen by the controller"),
                    HasSubstr("missing or too many"), HasSubstr("switching level")));
}

TEST(CycleScope, ShowsTheGapOfACoil) {
  CyclePicture picture = Twelve();
  EXPECT_THAT(Drawn(picture), HasSubstr("around its gap"));
  picture.rows[0].coil = false;
  EXPECT_THAT(Drawn(picture), Not(HasSubstr("around its gap")));
}

TEST(CycleScope, AnEvenWheelHasNoGapToShow) {
  CyclePicture picture = Twelve();
  picture.rows[0].due.clear();
  for (int tooth = 1; tooth <= 12; ++tooth) {
    picture.rows[0].due.push_back({30.0 * tooth - 30, true, tooth, true, 0.0});
  }
  EXPECT_THAT(Drawn(picture), Not(HasSubstr("around its gap")));
}

// Due at 350 and at 170 degrees.
TEST(CycleScope, NamesTheCylinderThatWasDueWhereAnotherFired) {
  CyclePicture picture = Twelve();
  picture.sparks = {{350, 1, 10}, {170, 2, 10}};
  EXPECT_THAT(Drawn(picture), Not(HasSubstr(" due<")));
  picture.sparks = {{350, 2, 10}, {170, 1, 10}};
  EXPECT_THAT(Drawn(picture), AllOf(HasSubstr("1 due<"), HasSubstr("2 due<")));
  picture.sparks = {{350, 1, 10}};
  EXPECT_THAT(Drawn(picture), AllOf(Not(HasSubstr("1 due<")), HasSubstr("2 due<")));
}

TEST(CycleScope, NumbersAToothThatIsMissing) {
  CyclePicture picture = Twelve();
  EXPECT_THAT(Drawn(picture), Not(HasSubstr("class=\"name halo\">7<")));
  for (CycleDue& due : picture.rows[0].due) {
    if (due.tooth == 7) due.off_deg.reset();
  }
  EXPECT_THAT(Drawn(picture), HasSubstr("class=\"name halo\">7<"));
}

}  // namespace
}  // namespace drycrank::report
