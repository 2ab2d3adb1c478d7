// SPDX-License-Identifier: Apache-2.0
#include "report/scope.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace drycrank::report {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;
using testing::Pair;

TEST(Scope, LevelIsCarriedInAndOn) {
  const ScopeChannel c{"sync", "", true, {{0, 0}, {100, 1}, {300, 0}, {900, 1}}};
  EXPECT_THAT(Clipped(c, 200, 500), ElementsAre(Pair(200, 1), Pair(300, 0), Pair(500, 0)));
}

// From (100, 0) to (200, 10): at 150 it is 5; from (200, 10) to (400, 0): at 250 it is 7.5.
TEST(Scope, LineIsCutWhereItCrosses) {
  const ScopeChannel c{"crank", "V", false, {{100, 0}, {200, 10}, {400, 0}}};
  EXPECT_THAT(Clipped(c, 150, 250), ElementsAre(Pair(150, 5.0), Pair(200, 10.0), Pair(250, 7.5)));
  EXPECT_THAT(Clipped(c, 210, 250), ElementsAre(Pair(210, 9.5), Pair(250, 7.5)));
  EXPECT_TRUE(Clipped(c, 500, 600).empty());
}

ScopePicture SmallPicture() {
  ScopePicture p{"picture", 0, FromMs(100), {}, {}};
  p.channels = {{"crank at ECU.30", "V", false, {{0, -1}, {FromMs(100), 1}}},
                {"sync", "", true, {{0, 0}, {FromMs(50), 1}}}};
  p.marks = {{FromMs(50), "synchronised"}};
  return p;
}

// Frame x 190..948: 758 px for 100 ms, so 50 ms is at 569. One lane of words: the first row is at
// 10 + 17 = 27 and 104 px high, ending at 131; the second begins 12 lower, at 143, and is 46 high
// for levels -0.25..1.25: low at 189 - 46/6 = 181.3, high at 189 - 46*5/6 = 150.7.
TEST(Scope, TracesShareOneTimeAxis) {
  const std::string svg = SvgScope(SmallPicture()).text();
  EXPECT_THAT(
      svg, HasSubstr("<path class=\"trace t1\" d=\"M190,181.3 569,181.3 569,150.7 948,150.7\"/>"));
  EXPECT_THAT(svg, HasSubstr("<path class=\"worst\" d=\"M569,4 569,189\"/>"));
  EXPECT_THAT(svg, HasSubstr(">crank at ECU.30<"));
  EXPECT_THAT(svg, HasSubstr(">high<"));
}

// -1..1 and a tenth more at either end: -1.2..1.2 over 104 px; -1 at 131 - 0.2/2.4*104 = 122.3.
TEST(Scope, AnalogTraceFillsItsRow) {
  EXPECT_THAT(SvgScope(SmallPicture()).text(),
              HasSubstr("<path class=\"trace t0\" d=\"M190,122.3 948,35.7\"/>"));
}

// -1..3 and a tenth (0.4) more below, two above: -1.4..3.8 over 104 px from 131 up; 3 V is at
// 131 - 4.4/5.2*104 = 43, and its words stand 4 above.
TEST(Scope, LevelIsALineAcrossWithItsWords) {
  ScopePicture p = SmallPicture();
  p.channels[0].levels = {{3, "high above 3 V"}};
  const std::string svg = SvgScope(p).text();
  EXPECT_THAT(svg, HasSubstr("<path class=\"level\" d=\"M190,43 948,43\"/>"));
  EXPECT_THAT(svg, HasSubstr("y=\"39\" text-anchor=\"start\" class=\"cap halo\">high above 3 V<"));
  EXPECT_THAT(SvgScope(SmallPicture()).text(), Not(HasSubstr("class=\"level\"")));
}

TEST(Scope, MarksCloseTogetherStandInLanes) {
  ScopePicture p = SmallPicture();
  p.marks.emplace_back(FromMs(51), "gap");
  const std::string svg = SvgScope(p).text();
  EXPECT_THAT(svg, HasSubstr("y=\"16\""));
  EXPECT_THAT(svg, HasSubstr("y=\"33\""));  // 4 + 17 + 12
}

TEST(Scope, MarkOutsideIsNotDrawn) {
  ScopePicture p = SmallPicture();
  p.marks = {{FromMs(101), "later"}};
  EXPECT_THAT(SvgScope(p).text(), Not(HasSubstr("later")));
}

TEST(Scope, EmptyPictureSaysSo) {
  EXPECT_THAT(SvgScope({}).text(), HasSubstr("Nothing was recorded"));
  ScopePicture p = SmallPicture();
  p.channels[0].points.clear();
  EXPECT_THAT(SvgScope(p).text(), HasSubstr("nothing recorded here"));
}

}  // namespace
}  // namespace drycrank::report
