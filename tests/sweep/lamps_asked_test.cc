// SPDX-License-Identifier: Apache-2.0
//
// Which lamps are lit at the six questions, worked by hand on the small bench: coolant's lamp is
// red above 112 degC. Question 1 sends a middle value (7/16 of -40..215 degC: 71), 2 the last quiet
// one (112), 3 the first that warns (113), 4 the lower end (-40), 5 the upper end (215), 6 nothing.
#include "sweep/lamps_asked.h"

#include <gtest/gtest.h>

#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

std::string LitQuestions(const profile::Bench& bench) {
  std::string lit;
  for (int question = 1; question <= 6; ++question) {
    if (LampsLitAt(bench).at({1, question}).contains("coolant")) lit += std::to_string(question);
  }
  return lit;
}

TEST(LampsAsked, ALampIsLitWhereItsValueWarns) {
  const profile::Bench bench = SmallBench();
  EXPECT_EQ(LitQuestions(bench), "35");
  EXPECT_EQ(DarkQuestion(LampsLitAt(bench), 1), 6);
}

TEST(LampsAsked, OneThatLatchesStaysLitInTheQuestionsThatFollow) {
  profile::Bench bench = SmallBench();
  bench.display->gauges[0].lamp_latches = true;
  EXPECT_EQ(LitQuestions(bench), "3456");
  EXPECT_EQ(DarkQuestion(LampsLitAt(bench), 1), 2);
}

TEST(LampsAsked, OneThatBlinksIsNotAsked) {
  profile::Bench bench = SmallBench();
  bench.display->gauges[0].lamp_latches = true;
  bench.display->gauges[0].lamp_blinks_hz = 2;
  EXPECT_EQ(DarkQuestion(LampsLitAt(bench), 1), 6);
}

// Question 1 sends 71 degC, over the limit: coolant warns from the first on.
TEST(LampsAsked, NoneIsDarkWhereOneWarnsAlways) {
  profile::Bench bench = SmallBench();
  bench.display->gauges[0].warn_above = 50;
  bench.display->gauges[0].lamp_latches = true;
  EXPECT_EQ(DarkQuestion(LampsLitAt(bench), 1), std::nullopt);
}

}  // namespace
}  // namespace drycrank::sweep
