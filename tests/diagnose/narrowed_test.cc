// SPDX-License-Identifier: Apache-2.0
//
// Suspects weighed by answers. The kart, its cylinder head sensor's plug: what the bus cannot tell
// apart and a meter can. Volts by hand: with the loop broken nothing flows, so that the signal's side
// is at the pull-up's 5 V and the ground's side at 0.
#include "diagnose/narrowed.h"

#include <gtest/gtest.h>

#include "diagnose/next_test.h"
#include "tests/diagnose/asked_world.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

class NarrowedTest : public testing::Test {
 protected:
  NarrowedTest()
      : predictor_(walked_.bench(), walked_.situations()), ranker_(walked_.bench(), predictor_) {
    profile::Fault open;
    open.kind = fault::Open{};
    open.at = "HT.1";
    observed_ = walked_.Observe({open}, 3);
    diagnosis_ = ranker_.Rank(observed_, {.doubles = false});
    model_.emplace(walked_.bench(), predictor_, observed_);
  }

  Answered Volts(const std::string& node, double volts) const {
    return {Probing{Meter::kVolts, node, "", {}, model_->rest()}, volts};
  }
  Narrowed After(const std::vector<Answered>& answers) {
    return Narrow(*model_, repairs_, diagnosis_, answers);
  }
  static double ShareOf(const Narrowed& narrowed, const std::string& repair) {
    for (const RepairLeft& left : narrowed.repairs) {
      if (left.repair.key == repair) return left.share;
    }
    return 0;
  }

  Walked walked_{"kart"};
  Predictor predictor_;
  Ranker ranker_;
  Observation observed_;
  Diagnosis diagnosis_;
  std::optional<MeasuredModel> model_;
  Repairs repairs_{walked_.bench()};
};

TEST_F(NarrowedTest, WithoutAnswersItIsTheDiagnosis) {
  const Narrowed narrowed = After({});
  EXPECT_FALSE(narrowed.IsNamed());
  double all = narrowed.healthy_share + narrowed.unknown_share;
  for (const Suspect& suspect : narrowed.suspects) all += suspect.share;
  EXPECT_NEAR(all, 1, 1e-9);
}

TEST_F(NarrowedTest, FiveVoltsAtThePlugClearTheSignalWire) {
  const Narrowed before = After({}), after = After({Volts("HT.1~", 4.97)});
  EXPECT_GT(ShareOf(before, "wire head_signal"), 0.02);
  EXPECT_LT(ShareOf(after, "wire head_signal"), 0.01);
  // 5 V on its ground's side too: that wire is broken, and no contact.
  const Narrowed last = After({Volts("HT.1~", 4.97), Volts("HT.2~", 4.96)});
  EXPECT_GT(ShareOf(last, "wire head_ground"), 0.8);
}

// Nothing on this bench gives less than no volts.
TEST_F(NarrowedTest, AnImpossibleReadingClearsNobodyAndTheUnknownGains) {
  const Narrowed before = After({}), after = After({Volts("HT.1~", -6)});
  ASSERT_EQ(after.fits_nobody, std::vector<std::size_t>{0});
  EXPECT_GT(after.unknown_share, 5 * before.unknown_share);
  const double lost = ShareOf(after, "plug HT") / ShareOf(before, "plug HT");
  EXPECT_NEAR(lost, ShareOf(after, "wire head_signal") / ShareOf(before, "wire head_signal"),
              0.02 * lost);
  EXPECT_TRUE(After({Volts("HT.1~", 4.97)}).fits_nobody.empty());
}

TEST_F(NarrowedTest, TheSameTestTwiceMustAgree) {
  const Narrowed differ = After({Volts("HT.1~", 4.97), Volts("HT.1~", 0.02)});
  ASSERT_EQ(differ.contradict.size(), 1u);
  EXPECT_TRUE(After({Volts("HT.1~", 4.97), Volts("HT.1~", 4.95)}).contradict.empty());
}

// Whatever reads as on a healthy bench makes it likelier that the wires are.
TEST_F(NarrowedTest, HealthyReadingsLetHealthGrow) {
  const double healthy_v = model_->Foretell(Volts("HT.1~", 0).test, {}).meter.y;
  const Narrowed before = After({}), after = After({Volts("HT.1~", healthy_v)});
  EXPECT_GT(after.healthy_share, 5 * before.healthy_share);
}

TEST_F(NarrowedTest, WhatNobodyCanReachIsNotAsked) {
  const Narrowed narrowed = After({});
  const auto tests = NextTests(*model_, narrowed, {}, 1);
  ASSERT_FALSE(tests.empty());
  AtHand at_hand;
  at_hand.cannot = {"HT", "CU"};
  for (const NextTest& test : NextTests(*model_, narrowed, at_hand, 20)) {
    EXPECT_EQ(test.what.find("HT"), std::string::npos) << test.what;
    EXPECT_EQ(test.what.find("CU."), std::string::npos) << test.what;
  }
}

// Twice the effort for the same answer: volts come before ohms, and the place where the probe is
// before another.
TEST_F(NarrowedTest, TheBestTestTellsMostForItsEffort) {
  const auto tests = NextTests(*model_, After({}), {}, 20);
  ASSERT_GE(tests.size(), 2u);
  for (std::size_t i = 1; i < tests.size(); ++i) {
    EXPECT_GE(tests[i - 1].information / tests[i - 1].effort,
              tests[i].information / tests[i].effort);
  }
  double shares = 0;
  for (const Answer& answer : tests[0].answers) shares += answer.share;
  EXPECT_NEAR(shares, 1, 1e-6);
}

// A bridge that sends much current in any suspect's world is never asked for: with the supply's wire
// short to the signal's, the battery would feed it.
TEST_F(NarrowedTest, NoBridgeFeedsTheBattery) {
  for (const NextTest& test : NextTests(*model_, After({}), {}, 30)) {
    if (const auto* bridge = std::get_if<ComesRight>(&test.test)) {
      EXPECT_NE(bridge->stand.bridge_a, "BT.1");
      EXPECT_NE(bridge->stand.bridge_b, "BT.1");
    }
  }
}

// The throttle is read in shares of its 5 V: the record hardly knows how many ohms are before it, and
// with other errors of the sensors 2.2 kohm fit as well as 476. With 476, and 1 kohm of the sensor's
// own, 5 V x 1000 / 1476 = 3.39 V are left at its plug; with 2.2 kohm 5 V x 1000 / 3220 = 1.55 V.
TEST(Narrowed, ASizeThatTheRecordHardlyKnowsIsNotHeldImpossible) {
  Walked walked("kart");
  Predictor predictor(walked.bench(), walked.situations());
  Ranker ranker(walked.bench(), predictor);
  profile::Fault series;
  series.kind = fault::SeriesResistance{476};
  series.at = "CU.4";
  const Observation observed = walked.Observe({series}, 68);
  Diagnosis diagnosis = ranker.Rank(observed);
  Candidate* truth = nullptr;
  for (Group& group : diagnosis.groups) {
    for (Candidate& member : group.members) {
      const profile::Fault& f = member.hypothesis.faults[0];
      if (f.at == "CU.4" && f.Is<fault::SeriesResistance>()) truth = &member;
    }
  }
  ASSERT_NE(truth, nullptr);
  EXPECT_GT(truth->size_spread, 1);
  truth->hypothesis = WithValue(truth->hypothesis, 2220);
  MeasuredModel model(walked.bench(), predictor, observed);
  const std::vector<Answered> answers = {
      {Probing{Meter::kVolts, "TH.1~", "", {}, model.rest()}, 3.41},
      {Probing{Meter::kVolts, "CU.4~", "", {}, model.rest()}, 3.39}};
  const auto of_truth = [&] {
    const Narrowed left = Narrow(model, Repairs(walked.bench()), diagnosis, answers);
    return *std::ranges::find(left.suspects, truth, &Suspect::candidate);
  };
  const Suspect suspect = of_truth();
  EXPECT_TRUE(suspect.against.empty());
  EXPECT_NEAR(suspect.hypothesis.value, 476, 60);  // straight between sizes that lie apart
  // A record that knew it well would hold it impossible.
  truth->size_spread = 0.1, truth->size_low = truth->size_high = 0;
  EXPECT_EQ(of_truth().against.size(), 2u);
}

TEST(Repairs, ContactsOfASmallPlugAreOneAndWiresAreTheirOwn) {
  const Walked walked("kart");
  const Repairs repairs(walked.bench());
  const auto key = [&](const profile::FaultKind& kind, const std::string& at,
                       const std::string& with = "") {
    Hypothesis h;
    profile::Fault f;
    f.kind = kind;
    f.at = at;
    f.with = with;
    h.faults = {f};
    return repairs.Of(h).key;
  };
  EXPECT_EQ(key(fault::Open{}, "HT.1"), key(fault::SeriesResistance{30}, "HT.2"));
  EXPECT_NE(key(fault::Open{}, "CU.7"), key(fault::Open{}, "CU.8"));
  EXPECT_NE(key(fault::Open{}, "HT.1"), key(fault::Open{}, "head_signal"));
  // CU.3 is the sensors' ground: what touches it touches HT.2's wire.
  EXPECT_EQ(key(fault::ShortTogether{0.1}, "HT.1", "HT.2"),
            key(fault::ShortTogether{0.1}, "CU.7", "CU.3"));
}

}  // namespace
}  // namespace drycrank::diagnose
