// SPDX-License-Identifier: Apache-2.0
#include "sweep/what_it_showed.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using testing::HasSubstr;

TEST(Shown, IsWrittenAndReadBack) {
  WhatItShowed showed = SweepStandin(SmallBench(), 7);
  showed.by.accepted_by = "R. Fitter";
  showed.by.smoothed = {"coolant", "oil"};
  showed.by.ended = {{"oil", "gone at 6.0 s, before the rest of it"}};
  showed.facts[0].shown.text = "a \"b\", c";
  const ReadShown back = ParseShown("x", TextOf(showed));
  ASSERT_TRUE(back.showed);
  EXPECT_EQ(TextOf(*back.showed), TextOf(showed));
  EXPECT_EQ(back.showed->facts, showed.facts);
  EXPECT_EQ(back.showed->facts[0].shown.text, "a \"b\", c");
  EXPECT_EQ(back.showed->by.accepted_by, "R. Fitter");
  EXPECT_EQ(back.showed->by.seed, "7");
  EXPECT_EQ(back.showed->by.smoothed, showed.by.smoothed);
  ASSERT_EQ(back.showed->by.ended.size(), 1u);
  EXPECT_EQ(back.showed->by.ended[0].readout, "oil");
  EXPECT_EQ(back.showed->by.ended[0].why, "gone at 6.0 s, before the rest of it");
}

TEST(Shown, LinesAreSortedByReadoutStepAndInput) {
  std::vector<ShownFact> facts = {{"b", Step::kUp, 1, {}},
                                  {"a", Step::kDown, 1, {}},
                                  {"a", Step::kUp, 10, {}},
                                  {"a", Step::kUp, 9, {}}};
  Sort(facts);
  EXPECT_EQ(facts[0].input, 9);
  EXPECT_EQ(facts[1].input, 10);
  EXPECT_EQ(facts[2].step, Step::kDown);
  EXPECT_EQ(facts[3].readout, "b");
}

std::string Problem(const std::string& text) {
  const ReadShown read = ParseShown("shown.csv", text);
  EXPECT_FALSE(read.showed);
  return read.problems.empty() ? "" : Format(read.problems[0]);
}

TEST(Shown, WhatIsNoSuchFileIsNamedWithItsPlace) {
  const std::string head = "# drycrank: what it showed\n";
  EXPECT_THAT(Problem(""), HasSubstr("shown.csv:1:1: the file does not begin"));
  EXPECT_THAT(Problem("kind: bench\n"), HasSubstr("shown.csv:1:1: the file does not begin"));
  EXPECT_THAT(Problem(head + "# format: 9\n"), HasSubstr(":2:1: format 9 is not known"));
  EXPECT_THAT(Problem(head + "a,up,1\n"), HasSubstr(":2:1: a line of 3 fields"));
  EXPECT_THAT(Problem(head + "a,sideways,1,1,1,,ok,\n"), HasSubstr("'sideways' is not a step"));
  EXPECT_THAT(Problem(head + "a,up,much,1,1,,ok,\n"), HasSubstr("'much' is not a number"));
}

TEST(Shown, TwoLinesThatContradictEachOtherAreRefusedWithBothPlaces) {
  const std::string head = "# drycrank: what it showed\n",
                    up = "a,up,95,1,95,degC,ok,\n";
  EXPECT_THAT(Problem(head + up + "a,up,96,1,96,degC,ok,\n" + "a,up,95,1,96,degC,ok,\n"),
              HasSubstr("shown.csv:4:1: a, up 95: this line contradicts shown.csv:2:1; remove"));
  // A limit has one place whatever it is.
  EXPECT_THAT(Problem(head + "a,warns above,112,0,x,degC,,\na,warns above,,0,never,degC,,\n"),
              HasSubstr("shown.csv:3:1: a, warns above: this line contradicts shown.csv:2:1"));
  const ReadShown twice = ParseShown("x", head + up + up + "a,down,95,1,96,degC,ok,\n");
  ASSERT_TRUE(twice.showed);
  EXPECT_EQ(twice.showed->facts.size(), 2u) << "the same twice says nothing new";
}

TEST(Shown, AllLinesThatCannotBeReadAreNamed) {
  const ReadShown read =
      ParseShown("x", "# drycrank: what it showed\na,up,1\na,sideways,1,1,1,,ok,\n");
  ASSERT_EQ(read.problems.size(), 2u);
  EXPECT_EQ(read.problems[1].place.line, 3);
}

// Intervals by hand: the fewest digits that lie inside.
TEST(Shown, TheNicestNumberOfAnInterval) {
  EXPECT_DOUBLE_EQ(NicestIn(112, 113), 112);
  EXPECT_DOUBLE_EQ(NicestIn(7200, 7200.25), 7200);
  EXPECT_DOUBLE_EQ(NicestIn(14.9969, 15.0114, true), 15);
  EXPECT_DOUBLE_EQ(NicestIn(-1.27, -1.18), -1.2);
  EXPECT_DOUBLE_EQ(NicestIn(0.98, 1.03), 1);
  EXPECT_DOUBLE_EQ(NicestIn(1.0191, 1.0222), 1.02);
  EXPECT_DOUBLE_EQ(NicestIn(-0.4, 0.3), 0);
}

}  // namespace
}  // namespace drycrank::sweep
