// SPDX-License-Identifier: Apache-2.0
//
// Five faults by hand (invented): who noticed, what it did.
#include "report/campaign.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/report/markup_check.h"

namespace drycrank::report {
namespace {

using testing::HasSubstr;
using testing::Not;

Effect Cooler(double by_degc, double sigmas) {
  return {"temps.coolant", "degC", "hot", -by_degc, 90, 90 - by_degc, sigmas};
}

Campaign Demo() {
  Campaign campaign;
  campaign.head = {"0.1.0", "demo", "Demo <car>", "0123", "walk", "", 1, 5, 1, 1, false};
  campaign.results = {
      {0, "wire open", "wire a open", NoticedBy::kController, {"faults says 1, not 0"}, {}, {}, {}},
      {1, "wire open", "wire b open", NoticedBy::kNobody, {}, {}, {}, {}},
      {2, "series resistance", "3 ohm at c", NoticedBy::kNobody, {}, {}, {}, {Cooler(4, 5)}},
      {3, "series resistance", "9 ohm at c", NoticedBy::kNobody, {}, {}, {}, {Cooler(11, 14)}},
      {4,
       "series resistance",
       "99 ohm at c",
       NoticedBy::kChecker,
       {},
       {},
       {"coolant"},
       {Cooler(60, 75)}},
  };
  return campaign;
}

TEST(CampaignReport, CountsByKind) {
  const Campaign campaign = Demo();
  const std::vector<KindRow> rows = ByKind(campaign);
  ASSERT_EQ(rows.size(), 3u);
  EXPECT_EQ(rows[0].kind, "wire open");
  EXPECT_THAT(rows[0].by, testing::ElementsAre(1u, 0u, 0u, 1u));
  EXPECT_EQ(rows[0].unnoticed_with_effect, 0u);
  EXPECT_EQ(rows[0].worst, nullptr);
  EXPECT_THAT(rows[1].by, testing::ElementsAre(0u, 0u, 1u, 2u));
  EXPECT_EQ(rows[1].worst->index, 3u);  // not fault 4, which the checker sees
  EXPECT_EQ(rows[2].kind, "all");
  EXPECT_EQ(rows[2].faults, 5u);
}

TEST(CampaignReport, TextTellsTheWorstThatNobodyNotices) {
  const std::string text = CampaignText(Demo(), 100);
  EXPECT_THAT(text,
              HasSubstr("wire open                  2             1             0             0 "
                        "            1             1\n"));
  EXPECT_THAT(text, HasSubstr("worst that nobody notices: 9 ohm at c: temps.coolant -11 °C: 79 °C, "
                              "should be 90 °C, in hot\n"));
  EXPECT_THAT(text, Not(HasSubstr("99 ohm")));
}

TEST(CampaignReport, NothingSilentIsSaidToo) {
  Campaign campaign = Demo();
  campaign.results.resize(2);
  EXPECT_THAT(CampaignText(campaign, 100),
              HasSubstr("Every fault that moves a reported value is noticed by somebody."));
}

TEST(CampaignReport, PageIsSoundAndHasItsCautions) {
  const std::string page = CampaignHtml(Demo());
  EXPECT_TRUE(MarkupIsSound("page", "campaign.html", page));
  EXPECT_THAT(page, HasSubstr("5 faults tried: 2 move a value and nobody notices."));
  EXPECT_THAT(page, HasSubstr("id=\"cautions\""));
  EXPECT_THAT(page, HasSubstr("Demo &lt;car&gt;"));
  EXPECT_THAT(page, HasSubstr("id=\"sign\""));
}

TEST(CampaignReport, StatesAndMissingValuesHaveWordsOfTheirOwn) {
  Effect effect = Cooler(4, 5);
  effect.says = "says ok, should be warning";
  EXPECT_EQ(EffectInWords(effect), "temps.coolant says ok, should be warning, in hot");
  effect.missing = true;
  EXPECT_EQ(EffectInWords(effect), "temps.coolant: no value any more, in hot");
}

TEST(CampaignReport, HeadAndLinesComeBack) {
  const Campaign campaign = Demo();
  CampaignHead head;
  ASSERT_EQ(ReadHeadJson(HeadJson(campaign.head), head), "");
  EXPECT_EQ(HeadJson(head), HeadJson(campaign.head));
  EXPECT_EQ(ReadHeadJson("{\"format\": \"another\"}", head), "is not the head of a campaign");
  EXPECT_EQ(ReadHeadJson("", head), "is not the head of a campaign");
  std::string newer = HeadJson(campaign.head);
  newer.replace(newer.find("\"format_version\": 2"), 19, "\"format_version\": 3");
  EXPECT_EQ(ReadHeadJson(newer, head),
            "is the head of a campaign, but format 3 is newer than this program reads (2)");
  for (const FaultResult& result : campaign.results) {
    FaultResult back;
    ASSERT_TRUE(ReadFaultLine(FaultLine(result), back));
    EXPECT_EQ(FaultLine(back), FaultLine(result));
  }
}

// Before there were predictions, everything was played.
TEST(CampaignReport, OfFormat1EverythingWasPlayed) {
  std::string line = FaultLine(Demo().results[2]);
  const std::string mark = "\"made\":\"played\",";
  ASSERT_NE(line.find(mark), std::string::npos);
  line.erase(line.find(mark), mark.size());
  FaultResult result;
  result.made = Made::kPredicted;
  ASSERT_TRUE(ReadFaultLine(line, result));
  EXPECT_EQ(result.made, Made::kPlayed);
  std::string head_json = HeadJson(Demo().head);
  head_json.erase(head_json.find(",\n  \"play_all\": false"), 21);
  CampaignHead head;
  ASSERT_EQ(ReadHeadJson(head_json, head), "");
  EXPECT_TRUE(head.play_all);
}

TEST(CampaignReport, HowAResultWasMadeComesBackAndNothingElseDoes) {
  for (const Made made : kMade) {
    FaultResult result = Demo().results[2], back;
    result.made = made;
    ASSERT_TRUE(ReadFaultLine(FaultLine(result), back));
    EXPECT_EQ(back.made, made);
  }
  std::string line = FaultLine(Demo().results[2]);
  line.replace(line.find("\"played\""), 8, "\"guessed\"");
  FaultResult back;
  EXPECT_FALSE(ReadFaultLine(line, back));
}

TEST(CampaignReport, WhatWasPlayedStandsAgainstAPrediction) {
  FaultResult predicted = Demo().results[2];
  predicted.made = Made::kPredicted;
  FaultResult played = Demo().results[2];
  EXPECT_EQ(Compared(predicted, played).made, Made::kProven);
  played.effects[0].faulty += 1;
  const FaultResult stands = Compared(predicted, played);
  EXPECT_EQ(stands.made, Made::kDisproven);
  EXPECT_EQ(stands.effects[0].faulty, played.effects[0].faulty);
}

TEST(CampaignReport, OnePredictionThatDoesNotHoldIsSaidEverywhere) {
  Campaign campaign = Demo();
  campaign.results[0].made = Made::kProven;
  campaign.results[1].made = Made::kPredicted;
  const std::string words = "Predictions are not to be trusted here";
  EXPECT_TRUE(CountMade(campaign).trusted());
  EXPECT_EQ(MadeInWords(campaign),
            "Predicted: 2, of which 1 were played as well and say the same. Played: 3.");
  EXPECT_THAT(CampaignHtml(campaign), Not(HasSubstr(words)));
  EXPECT_THAT(CampaignJson(campaign), HasSubstr("\"predictions_trusted\": true"));
  campaign.results[2].made = Made::kDisproven;
  EXPECT_FALSE(CountMade(campaign).trusted());
  EXPECT_THAT(CampaignText(campaign, 100), HasSubstr(words));
  EXPECT_THAT(CampaignHtml(campaign), HasSubstr(words));
  EXPECT_THAT(CampaignJson(campaign), HasSubstr("\"predictions_trusted\": false"));
}

}  // namespace
}  // namespace drycrank::report
