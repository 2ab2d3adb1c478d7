// SPDX-License-Identifier: Apache-2.0
//
// Two results beside each other, from facts written by hand.
#include "picture/side_by_side.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "picture/inline_svg.h"

namespace drycrank::picture {
namespace {

using sweep::ShownFact;
using sweep::Step;
using testing::ElementsAre;
using testing::HasSubstr;

ShownFact Fact(const char* readout, double input, int page, const char* text,
               const char* state = "ok") {
  return {readout, Step::kUp, input, {page, text, "degC", state, ""}};
}

sweep::WhatItShowed Showed(std::vector<ShownFact> facts) { return {{}, std::move(facts)}; }

std::vector<PagePair> Pairs(const sweep::WhatItShowed& was, const sweep::WhatItShowed& now) {
  return SideBySide(was, now, sweep::Compare(was, now));
}

std::vector<std::string> Texts(const Page& page) {
  std::vector<std::string> texts;
  for (const PageField& field : page.fields) {
    texts.push_back(field.readout + (field.is_marked ? "* " : " ") + field.shown.text);
  }
  return texts;
}

TEST(SideBySide, NothingChangedIsNoPage) {
  const auto was = Showed({Fact("air", 20, 1, "20")});
  EXPECT_TRUE(Pairs(was, was).empty());
}

TEST(SideBySide, WhatChangedStandsWhereItDiffersAndIsMarked) {
  const auto was =
      Showed({Fact("air", 20, 1, "20"), Fact("oil", 10, 1, "10"), Fact("oil", 90, 1, "90")});
  const auto now =
      Showed({Fact("air", 20, 1, "20"), Fact("oil", 10, 1, "10"), Fact("oil", 90, 1, "91")});
  const auto pairs = Pairs(was, now);
  ASSERT_EQ(pairs.size(), 1u);
  EXPECT_THAT(Texts(pairs[0].was), ElementsAre("air 20", "oil* 90"));
  EXPECT_THAT(Texts(pairs[0].now), ElementsAre("air 20", "oil* 91"));
  EXPECT_THAT(pairs[0].sent, ElementsAre("oil at 90"));
}

TEST(SideBySide, AReadoutThatMovedStandsOnBothPages) {
  const auto pairs = Pairs(Showed({Fact("oil", 10, 1, "10"), Fact("air", 5, 2, "5")}),
                           Showed({Fact("oil", 10, 2, "10"), Fact("air", 5, 2, "5")}));
  ASSERT_EQ(pairs.size(), 2u);
  EXPECT_THAT(Texts(pairs[0].was), ElementsAre("oil* 10"));
  EXPECT_TRUE(pairs[0].now.fields.empty());
  EXPECT_THAT(Texts(pairs[1].now), ElementsAre("air 5", "oil* 10"));
}

TEST(SideBySide, AReadoutThatIsLostIsMarkedWhereItWas) {
  const auto pairs =
      Pairs(Showed({Fact("oil", 10, 1, "10")}), Showed({Fact("oil", 10, 0, "", "absent")}));
  ASSERT_EQ(pairs.size(), 1u);
  EXPECT_THAT(Texts(pairs[0].was), ElementsAre("oil* 10"));
  EXPECT_TRUE(pairs[0].now.fields.empty());
}

TEST(InlineSvg, IsOneElementWithItsWords) {
  Page page;
  page.fields.push_back(
      {"oil", "Oil", "red", {1, "<9>", "kPa", "warning", "red blinks 2 Hz"}, true});
  const std::string svg = InlineSvg(LayOut(page), "a < b").text();
  EXPECT_THAT(svg, testing::StartsWith("<svg xmlns=\"http://www.w3.org/2000/svg\""));
  EXPECT_THAT(svg, HasSubstr("<title>a &lt; b</title>"));
  EXPECT_THAT(svg, testing::Not(HasSubstr("nan")));
}

}  // namespace
}  // namespace drycrank::picture
