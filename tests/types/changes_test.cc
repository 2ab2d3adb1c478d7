// SPDX-License-Identifier: Apache-2.0
#include "types/changes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace drycrank {
namespace {

using testing::HasSubstr;

const std::vector<Change> kChanges = {{"oil", "limit", "now 1.4 bar, was 1.8 bar"},
                                      {"oil", "page", "now on page 2, was on 1"},
                                      {"gear\n0", "lost", "is not there <any more>"}};

TEST(Changes, ALineEachThenTheRestThenTheNotes) {
  EXPECT_EQ(
      ChangesText(kChanges, "nothing else changed", std::vector<std::string>{"the seed is 2"}),
      "oil: now 1.4 bar, was 1.8 bar\n"
      "oil: now on page 2, was on 1\n"
      "gear 0: is not there <any more>\n"
      "nothing else changed\n"
      "note: the seed is 2\n");
}

// JUnit XML as its readers count it: failures of a suite are its failed cases.
TEST(Changes, ACaseForEachSubject) {
  const std::vector<std::string> subjects{"oil", "fuel", "gear\n0"};
  const std::string xml = ChangesJunit(kChanges, subjects, "a & b");
  EXPECT_THAT(xml, HasSubstr("name=\"a &amp; b\" tests=\"3\" failures=\"2\""));
  EXPECT_THAT(xml, HasSubstr("<testcase classname=\"a &amp; b\" name=\"fuel\"/>"));
  EXPECT_THAT(xml, HasSubstr("type=\"lost\">is not there &lt;any more&gt;</failure>"));
  EXPECT_THAT(xml, HasSubstr(">now 1.4 bar, was 1.8 bar; now on page 2, was on 1</failure></testcase>"))
      << "one failure of a case, as the common schema has it";
}

// An error of a suite is a case that could not be judged; one that failed is no error besides.
TEST(Changes, WhatWasNotShownIsAnError) {
  const std::vector<Change> missing{{"fuel", "not_shown", "gone at 6.0 s"}, {"oil", "not_shown", "gone"}};
  const std::vector<std::string> subjects{"oil", "fuel", "gear\n0"};
  const std::string xml = ChangesJunit(kChanges, subjects, "a", missing);
  EXPECT_THAT(xml, HasSubstr("tests=\"3\" failures=\"2\" errors=\"1\""));
  EXPECT_THAT(xml, HasSubstr("type=\"not_shown\">gone at 6.0 s</error>"));
  EXPECT_THAT(xml, testing::Not(HasSubstr(">gone<")));
}

// RFC 3629, clause 3: bytes 10xxxxxx continue a character. The degree sign has two bytes.
TEST(Changes, NoCharacterIsCut) {
  EXPECT_EQ(FirstOf("90°C", 4), "90°");
  EXPECT_EQ(FirstOf("90°C", 3), "90");
  EXPECT_EQ(FirstOf("90°C", 2), "90");
  EXPECT_EQ(FirstOf("90°C", 5), "90°C");
  EXPECT_EQ(FirstOf("°", 1), "");
}

}  // namespace
}  // namespace drycrank
