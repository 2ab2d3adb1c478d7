// SPDX-License-Identifier: Apache-2.0
//
// Answers as people and their spreadsheets write them, about the small bench: coolant has a red
// lamp.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "sweep/person.h"
#include "tests/sweep/small_bench.h"

namespace drycrank::sweep {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

class Answers : public testing::Test {
 protected:
  Answers() { bench_.readouts = RequiredReadouts(bench_); }
  ReadAnswers Read(const std::string& text) { return ParseReadings(bench_, "a.csv", text, kNow); }
  Reading Only(const std::string& text) {
    ReadAnswers read = Read(text);
    for (const Diagnostic& problem : read.problems) ADD_FAILURE() << Format(problem);
    EXPECT_EQ(read.readings.size(), 1U);
    return read.readings.empty() ? Reading() : read.readings.front();
  }
  std::string Problem(const std::string& text) {
    const ReadAnswers read = Read(text);
    return read.problems.empty() ? "" : Format(read.problems.front());
  }
  static constexpr std::int64_t kNow = 1767225600;  // 2026-01-01T00:00:00Z
  profile::Bench bench_ = SmallBench();
};

TEST_F(Answers, ALampWithoutAColumnIsNotDark) {
  EXPECT_EQ(Only("3,1,coolant,113").lamp, "?");
  EXPECT_EQ(Only("3,1,coolant,113,").lamp, "") << "its column says that none is lit";
  EXPECT_EQ(Only("3,1,gear,4").lamp, "") << "the gear has none";
}

TEST_F(Answers, ALampThatNobodySawIsNotShownAndNoDifference) {
  const PersonSaw saw = TakeReadings(bench_, Read("5,1,coolant,215").readings);
  EXPECT_EQ(saw.facts, saw.required);
  EXPECT_THAT(saw.not_shown, testing::Contains(
                                 "coolant: question 5 on page 1: nobody saw whether it warns"));
}

TEST_F(Answers, AQuestionMarkIsNoReadingUnlessTheDisplayShowsOne) {
  for (const char* line : {"1,1,coolant,?,", "1,1,coolant,?"}) {
    const PersonSaw saw = TakeReadings(bench_, Read(line).readings);
    EXPECT_TRUE(saw.facts.empty()) << line;
    EXPECT_THAT(saw.not_shown, testing::Contains("coolant: question 1 on page 1 was not answered"));
  }
  bench_.readouts[0].dashes = "?";
  EXPECT_EQ(TakeReadings(bench_, Read("6,1,coolant,?,").readings).answered, 1);
}

TEST_F(Answers, ALampTypedBehindTheReadingIsUnderstood) {
  for (const char* line : {"3,1,coolant,113 red", "3,1,coolant,113 red,,"}) {
    EXPECT_EQ(Only(line).text, "113");
    EXPECT_EQ(Only(line).lamp, "red");
  }
  EXPECT_EQ(Only("3,1,coolant,113 red blinks").lamp, "red blinks");
  EXPECT_EQ(Only("3,1,oil,15 warns").lamp, "warns");
}

TEST_F(Answers, WhatIsStillToComeIsRefusedWithItsLine) {
  EXPECT_EQ(Only("1,1,gear,4,,2025-12-31T23:00:00Z").text, "4");
  const std::string problem = Problem("# first\n1,1,gear,4,,2030-01-01T00:00:00Z");
  EXPECT_THAT(problem, HasSubstr("a.csv:2:"));
  EXPECT_THAT(problem, HasSubstr("still to come"));
}

// A byte order mark, blanks, and U+2212 for minus, as spreadsheets write them.
TEST_F(Answers, WhatASpreadsheetAddsIsUnderstood) {
  EXPECT_EQ(Only("\xEF\xBB\xBFquestion,page,readout,reading\n1,1,gear,4").text, "4");
  EXPECT_EQ(Only("\xEF\xBB\xBF" "1,1,gear,4").question, 1);
  EXPECT_EQ(Only("1, 1 , gear ,  4  ").text, "4");
  EXPECT_EQ(Only("4,1,coolant,\xE2\x88\x92" "40,").text, "-40");
}

// The same words at the keyboard (WhyNotRead).
TEST_F(Answers, WhatDoesNotCountABarIsRefusedAndSaidHowTo) {
  bench_.readouts[2].bar = profile::Bar{0, 100, 20};
  EXPECT_EQ(Only("1,1,oil,13").text, "13");
  EXPECT_EQ(Only("1,1,oil,13 of 20").text, "13 of 20");
  EXPECT_EQ(Only("1,1,oil,---").text, "---");
  EXPECT_EQ(Only("1,1,oil,number 13 %").text, "number 13 %");
  for (const char* text : {"13 %", "13 segments", "13/20", "13.5", "13 of", "13 of 20 lit"}) {
    const std::string problem = Problem(std::string("# first\n1,1,oil,") + text);
    EXPECT_THAT(problem, HasSubstr(std::string("a.csv:2:1: '") + text + "' counts no segments"));
    EXPECT_THAT(problem, HasSubstr("13 of 20"));
  }
  bench_.readouts[2].dashes = "0.0";
  EXPECT_EQ(Only("6,1,oil,0.0").text, "0.0") << "it stands there when its value is gone";
}

TEST_F(Answers, AWarningOfAReadoutWithALampIsSaidByItsLamp) {
  EXPECT_THAT(Problem("3,1,coolant,113 warns"), HasSubstr("'113 warns' does not say which lamp"));
  EXPECT_THAT(Problem("3,1,coolant,113 warns,"), HasSubstr("write 113 red where it is lit"));
  EXPECT_THAT(Problem("2,1,coolant,112 quiet"), HasSubstr("or 112 where it is dark"));
  EXPECT_EQ(Only("3,1,coolant,engine warns").text, "engine warns") << "words that stand there";
}

TEST_F(Answers, AQuoteThatIsNotClosedIsRefused) {
  EXPECT_THAT(Problem("1,1,oil,\"4,4"), HasSubstr("a.csv:1:1: a quotation mark without a second"));
}

}  // namespace
}  // namespace drycrank::sweep
