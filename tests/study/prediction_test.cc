// SPDX-License-Identifier: Apache-2.0
//
// What a campaign predicts, against the same faults played: the lines are the same to the byte but for
// the mark. On the shipped benches and on some drawn by seeds (random_bench.h), of each some faults;
// EACH=1 in the environment compares every fault, SEEDS=20 draws as many benches.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>

#include "profile/load.h"
#include "study/campaign_run.h"
#include "tests/study/cut_trials.h"
#include "tests/support/random_bench.h"
#include "walk/walk.h"

namespace drycrank::study {
namespace {

using report::FaultResult;
using report::Made;

std::size_t FromEnvironment(const char* name, std::size_t otherwise) {
  const char* wanted = std::getenv(name);
  return wanted == nullptr ? otherwise : std::strtoul(wanted, nullptr, 10);
}

profile::Bench Shipped(const std::string& name) {
  profile::LoadedBench loaded =
      profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/" + name + ".yaml");
  if (!loaded.bench) std::abort();
  return std::move(*loaded.bench);
}

struct Compared {
  std::size_t faults = 0, predicted = 0;
};

// Each `each`-th fault, from a place that the seed tells.
Compared ComparePlayed(const profile::Bench& bench, std::uint64_t seed, std::size_t each) {
  const walk::Walk walk = walk::MakeWalk(bench);
  const CampaignRun campaign(bench, walk.scenario, seed, false);
  std::vector<std::size_t> some;
  for (std::size_t i = seed % each; i < campaign.faults().size(); i += each) some.push_back(i);
  Compared compared;
  for (const auto& portion : campaign.Portions(some)) {
    for (FaultResult& result : campaign.TryPortion(portion)) {
      ++compared.faults;
      if (result.made == Made::kPlayed) continue;
      ++compared.predicted;
      EXPECT_NE(result.made, Made::kDisproven) << result.words;
      result.made = Made::kPlayed;
      EXPECT_EQ(report::FaultLine(result), report::FaultLine(campaign.Try(result.index)));
    }
  }
  return compared;
}

class ShippedPrediction : public testing::TestWithParam<const char*> {};

TEST_P(ShippedPrediction, SaysWhatPlayingSays) {
  const Compared compared = ComparePlayed(Shipped(GetParam()), 1, FromEnvironment("EACH", 23));
  fmt::print("{}: {} of {} predicted\n", GetParam(), compared.predicted, compared.faults);
  EXPECT_GT(compared.predicted, compared.faults * 7 / 10);
}

INSTANTIATE_TEST_SUITE_P(All, ShippedPrediction,
                         testing::Values("kart", "generator", "hill_climb", "boat_v8"));

TEST(DrawnPrediction, SaysWhatPlayingSays) {
  const std::size_t seeds = FromEnvironment("SEEDS", 4);
  Compared sum;
  for (std::uint64_t seed = 1; seed <= seeds; ++seed) {
    const support::RandomBench drawn = support::DrawBench(seed);
    SCOPED_TRACE(fmt::format("seed {}", seed));
    const Compared one = ComparePlayed(LoadText(drawn.yaml, drawn.crimped_together), seed,
                                       FromEnvironment("EACH", 11));
    sum.faults += one.faults;
    sum.predicted += one.predicted;
  }
  fmt::print("{} of {} predicted\n", sum.predicted, sum.faults);
  EXPECT_GT(sum.predicted, sum.faults * 7 / 10);
}

class KartPrediction : public testing::Test {
 protected:
  static const CampaignRun& Predicting() {
    static const profile::Bench bench = Shipped("kart");
    static const walk::Walk walk = walk::MakeWalk(bench);
    static const CampaignRun run(bench, walk.scenario, 1, false);
    return run;
  }
  static std::size_t Find(const std::string& kind) {
    const auto& faults = Predicting().faults();
    for (std::size_t i = 0; i < faults.size(); ++i) {
      if (faults[i].kind == kind) return i;
    }
    ADD_FAILURE() << kind;
    return 0;
  }
  static Made MadeOf(std::size_t fault) { return Predicting().TryPortion({fault}).at(0).made; }
};

// Edges that a wheel makes otherwise, and frames that do not come: no other run has them.
TEST_F(KartPrediction, WheelsAndMissingMessagesArePlayed) {
  EXPECT_EQ(MadeOf(Find("wheel mounted wrong")), Made::kPlayed);
  EXPECT_EQ(MadeOf(Find("tooth missing")), Made::kPlayed);
  EXPECT_EQ(MadeOf(Find("message missing")), Made::kPlayed);
}

TEST_F(KartPrediction, ATableToldWrongIsPredicted) {
  EXPECT_NE(MadeOf(Find("wrong calibration")), Made::kPlayed);
}

// Whichever of the two wires of the bus breaks at the display's plug: it hears nothing, the others hear
// each other (a pair with one wire carries no differential voltage, ISO 11898-2). The one that stands
// first in the list is played, the other has the same to say.
TEST(BusWirePrediction, OfTwoWiresThatKeepTheSameAwayOneIsPlayed) {
  const profile::Bench bench = Shipped("hill_climb");
  const walk::Walk walk = walk::MakeWalk(bench);
  const CampaignRun run(bench, walk.scenario, 1, false);
  std::vector<std::size_t> wires;
  for (std::size_t i = 0; i < run.faults().size(); ++i) {
    const std::string words = diagnose::Describe(bench, run.faults()[i]);
    if (words.starts_with("wire can_") && run.faults()[i].kind == "wire open") wires.push_back(i);
  }
  ASSERT_EQ(wires.size(), 2u);
  const auto portions = run.Portions(wires);
  ASSERT_EQ(portions.size(), 1u);
  const auto results = run.TryPortion(portions[0]);
  ASSERT_EQ(results.size(), 2u);
  EXPECT_EQ(std::ranges::count(results, Made::kPlayed, &FaultResult::made), 1);
  for (FaultResult result : results) {
    ASSERT_NE(result.made, Made::kDisproven);
    result.made = Made::kPlayed;
    EXPECT_EQ(report::FaultLine(result), report::FaultLine(run.Try(result.index)));
  }
}

// One in ten: of 600 within 5 standard deviations, 60 +- 37.
TEST_F(KartPrediction, OneInTenIsPlayedAsWell) {
  std::vector<std::size_t> all(Predicting().faults().size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  std::size_t proven = 0, in_all = 0;
  for (const auto& portion : Predicting().Portions(all)) {
    for (const FaultResult& result : Predicting().TryPortion(portion)) {
      ++in_all;
      EXPECT_NE(result.made, Made::kDisproven) << result.words;
      proven += result.made == Made::kProven;
    }
  }
  EXPECT_EQ(in_all, all.size());
  EXPECT_NEAR(static_cast<double>(proven), 60, 37);
}

// The class that one fault is in does not hang on which others are asked for.
TEST_F(KartPrediction, AFaultAloneIsPredictedAsAmongOthers) {
  const std::size_t fault = Find("contact open");
  const auto alone = Predicting().TryPortion({fault}).at(0);
  for (const auto& portion : Predicting().Portions({0, fault, fault + 1})) {
    for (const FaultResult& result : Predicting().TryPortion(portion)) {
      if (result.index != fault) continue;
      EXPECT_EQ(report::FaultLine(result), report::FaultLine(alone));
    }
  }
}

}  // namespace
}  // namespace drycrank::study
