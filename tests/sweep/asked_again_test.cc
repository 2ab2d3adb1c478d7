// SPDX-License-Identifier: Apache-2.0
//
// One value in several of a person's six questions: what is due may be another each time, and each
// answer is judged. Gear is on or off here, raw 0 and 1, warns above 0 with the lamp "blue": by
// hand the questions send 0 (7/16 of one step), 0 (the last that is quiet), 1, 0, 1 and silence.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "sweep/compare_shown.h"
#include "sweep/due_again.h"
#include "sweep/person.h"
#include "sweep/which_setting.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

class AskedAgain : public testing::Test {
 protected:
  AskedAgain() {
    profile::Signal& signal = bench_.buses[0].messages[0].signals[1];
    signal.offset = signal.min = 0;
    signal.max = 1;
    bench_.display->layouts = bench_.buses[0].messages;
    Gear().min = Gear().max = std::nullopt;
    Gear().values = {{0, "off"}, {1, "on"}};
    Gear().warn_above = 0;
    Gear().lamp = "blue";
  }
  profile::Gauge& Gear() { return bench_.display->gauges[1]; }
  // The gear's lamp at question 1 to 5; its text by hand.
  WhatItShowed Saw(const std::vector<std::string>& lamps) {
    static const std::vector<std::string> kTexts{"off", "off", "on", "off", "on"};
    std::vector<Reading> readings;
    for (std::size_t q = 0; q < lamps.size(); ++q) {
      readings.push_back({static_cast<int>(q) + 1, 1, "gear", kTexts[q], lamps[q], {}});
    }
    saw_ = TakeReadings(bench_, readings);
    WhatItShowed showed{{}, saw_.facts};
    showed.by.witness = "a person: R. Fitter";
    return showed;
  }
  std::string Wrong(const std::vector<std::string>& lamps) {
    const WhatItShowed showed = Saw(lamps);
    std::string all;
    for (const ShownChange& c : CompareWithRequired({showed.by, saw_.required}, showed).changes) {
      all += c.sentence + "\n";
    }
    return all;
  }
  profile::Bench bench_ = SmallBench();
  PersonSaw saw_;
};

const std::vector<std::string> kRight{"", "", "blue", "", "blue"};

TEST_F(AskedAgain, EachAnswerIsJudged) {
  EXPECT_EQ(Wrong(kRight), "");
  EXPECT_THAT(Wrong({"blue", "blue", "blue", "", "blue"}),
              HasSubstr("warning at 0, must be ok; in 2 of 5 points"));
  for (std::size_t wrong = 0; wrong < kRight.size(); ++wrong) {
    std::vector<std::string> lamps = kRight;
    lamps[wrong] = lamps[wrong].empty() ? "blue" : "";
    EXPECT_THAT(Wrong(lamps), HasSubstr("in 1 of 5 points")) << wrong + 1;
  }
}

TEST_F(AskedAgain, AWrongPageOfOneQuestionIsJudged) {
  const WhatItShowed right = Saw(kRight);
  for (std::size_t wrong = 0; wrong < right.facts.size(); ++wrong) {
    WhatItShowed now = right;
    now.facts[wrong].shown.page = 2;
    EXPECT_THAT(Compare(right, now).changes, SizeIs(1)) << wrong;
  }
}

TEST_F(AskedAgain, ItsLineHasTheQuestionAndIsReadBack) {
  const WhatItShowed showed = Saw(kRight);
  const std::string text = TextOf(showed);
  EXPECT_THAT(text, HasSubstr("gear,up,0,1,off,,ok,\n"
                              "gear,up at question 2,0,1,off,,ok,\n"
                              "gear,up at question 4,0,1,off,,ok,\n"
                              "gear,up,1,1,on,,warning,blue\n"
                              "gear,up at question 5,1,1,on,,warning,blue\n"));
  const ReadShown back = ParseShown("x", text);
  ASSERT_TRUE(back.showed);
  EXPECT_EQ(back.showed->facts, showed.facts);
  for (const char* none : {"up at question x", "down at question 4", "up at question ", "up at 4"}) {
    EXPECT_FALSE(ParseShown("x", "# drycrank: what it showed\ng," + std::string(none) + ",0,1,off,,ok,\n").showed)
        << none;
  }
}

// Dark before it warned, lit after it: both lines are right, and none contradicts another.
TEST_F(AskedAgain, ALampThatLatchesIsTwoThingsOfOneValue) {
  Gear().lamp_latches = true;
  EXPECT_EQ(Wrong({"", "", "blue", "blue", "blue"}), "");
  EXPECT_THAT(Wrong(kRight), HasSubstr("up at question 4 0: "));
  const WhatItShowed showed = Saw({"", "", "blue", "blue", "blue"});
  const ReadShown back = ParseShown("x", TextOf(showed));
  ASSERT_TRUE(back.showed) << back.problems[0].what;
  EXPECT_EQ(back.showed->facts, showed.facts);
  EXPECT_EQ(DueAgain(bench_, showed.facts), showed.facts);
  EXPECT_THAT(Compare(*back.showed, showed).changes, IsEmpty());
}

}  // namespace
}  // namespace drycrank::sweep
