// SPDX-License-Identifier: Apache-2.0
//
// Edges that the inputs saw, against what is predicted of them: played by the run itself, through
// waves and comparators; reckoned from the wheel's teeth. And what a diagnosis makes of them.
#include "diagnose/edges.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "diagnose/hypothesis.h"
#include "diagnose/wheel_suspects.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;

profile::Fault Put(const std::string& at, const profile::FaultKind& kind) {
  profile::Fault made;
  made.name = "put in";
  made.at = at;
  made.kind = kind;
  return made;
}

class EdgesTest : public testing::TestWithParam<const char*> {};

TEST_P(EdgesTest, HealthyWheelsGiveTheEdgesThatAreDue) {
  Walked walked(GetParam());
  Predictor predictor(walked.bench(), walked.situations());
  const Edges edges(predictor, &walked.edges());
  ASSERT_TRUE(edges.WereSeen());
  EXPECT_GT(edges.Judge({}, predictor.healthy_values()).log_like, -0.01);
}

bool IsOfAWheel(const profile::Fault& f) {
  return f.Is<fault::WheelOffset>() || f.Is<fault::ToothMissing>() || f.Is<fault::CamStuck>() ||
         f.Is<fault::PickupInverted>();
}

// What the wheel's own fault gives is what was seen; and it is not what a healthy bench gives, but
// for the first cam half a turn off (check/cam_edges.cc) and a phaser that stays where it is sent.
TEST_P(EdgesTest, AWheelsFaultGivesTheEdgesThatWerePlayed) {
  Walked walked(GetParam());
  int told = 0, tried = 0;
  for (const Hypothesis& h : SingleFaults(walked.bench())) {
    if (!IsOfAWheel(h.faults[0])) continue;
    walked.Observe(h.faults, 0);
    Predictor predictor(walked.bench(), walked.situations());
    const Edges edges(predictor, &walked.edges());
    const std::string words = Describe(walked.bench(), h);
    EXPECT_GT(edges.Judge(h.faults, predictor.healthy_values()).log_like, -1) << words;
    told += !edges.IsRight();
    ++tried;
  }
  EXPECT_GT(tried, 30);
  EXPECT_GT(told * 10, tried * 8) << told << " of " << tried;
}

INSTANTIATE_TEST_SUITE_P(Benches, EdgesTest,
                         testing::Values("hill_climb", "boat_v8", "kart", "generator", "hovercraft",
                                         "buggy"));

// ---- a runout, noise, a slow phaser: bands, and what comes and goes ----------------------------

// Readings that differ from what is predicted by more than three deviations.
std::string Mismatches(Walked& walked, const profile::Fault& played,
                       const profile::Fault& predicted) {
  const Observation seen = walked.Observe({played}, 3);
  const Observation healthy = walked.Observe({}, 3);
  Predictor predictor(walked.bench(), walked.situations());
  const PredictedRows rows = predictor.Predict({&predicted, 1});
  std::string text;
  for (std::size_t s = 0; s < seen.size(); ++s) {
    for (std::size_t r = 0; r < seen[s].size(); ++r) {
      const Reading& reading = predictor.readings()[r];
      if (reading.turning && predictor.situations()[s].engine_rpm() <= 0) continue;
      if (seen[s][r] == healthy[s][r]) continue;
      if (Surprise(reading, seen[s][r], rows[s][r]) <= kSurprisingZ) continue;
      text += fmt::format("{} {}: seen {} predicted {}\n", predictor.situations()[s].name,
                          reading.name, InWords(reading, seen[s][r]), InWords(reading, rows[s][r]));
    }
  }
  return text;
}

TEST_P(EdgesTest, NoiseAndASlowPhaserReadWithinTheirBands) {
  Walked walked(GetParam());
  for (const profile::Trigger& trigger : walked.bench().triggers) {
    for (const double hz : {30., 300., 3000.}) {
      const profile::Fault noise = Put(trigger.name, fault::ElectricalNoise{.rate_hz = hz});
      EXPECT_EQ(Mismatches(walked, noise, noise), "") << trigger.name << " " << hz;
    }
    if (trigger.advance_stimulus < 0) continue;
    for (const double deg_per_s : {2., 10., 30.}) {
      EXPECT_EQ(Mismatches(walked, Put(trigger.name, fault::CamSlow{deg_per_s}),
                           Put(trigger.name, fault::CamSlow{1})),
                "")
          << trigger.name << " " << deg_per_s;
    }
  }
}

TEST_P(EdgesTest, ARunoutGivesTheEdgesThatWerePlayed) {
  Walked walked(GetParam());
  for (const profile::Trigger& trigger : walked.bench().triggers) {
    const profile::Fault runout = Put(trigger.name, fault::WheelRunout{2.5, 70, 0});
    walked.Observe({runout}, 0);
    Predictor predictor(walked.bench(), walked.situations());
    const Edges edges(predictor, &walked.edges());
    EXPECT_GT(edges.Judge({&runout, 1}, predictor.healthy_values()).log_like, -1) << trigger.name;
    EXPECT_FALSE(edges.IsRight()) << trigger.name;
  }
}

// As drycrank diagnose does it where something of the cycle failed.
Diagnosis DiagnosisOf(Walked& walked, const profile::Fault& fault) {
  const Observation observed = walked.Observe({fault}, 0);
  Predictor predictor(walked.bench(), walked.situations());
  Ranker ranker(walked.bench(), predictor);
  const FiredSeen fired = walked.fired();
  const EdgesSeen edges = walked.edges();
  return ranker.Rank(observed, {.doubles = true, .fired = &fired, .edges = &edges});
}

struct Put1 {
  const char* bench;
  const char* at;
  profile::FaultKind kind;
  const char* words;
};

// No reading carries these, or what carries them may be a wire: the edges tell.
TEST(EdgesRanked, AWheelsFaultIsFirstAndExplains) {
  const std::vector<Put1> cases = {
      {"kart", "teeth", fault::WheelOffset{3}, "wheel teeth mounted 3 crank degrees late"},
      {"kart", "reference", fault::WheelOffset{7}, "wheel reference mounted 7 crank degrees late"},
      {"kart", "reference", fault::WheelOffset{-120},
       "wheel reference mounted 120 crank degrees early"},
      // Three teeth a turn of the crank apart: nobody knows which.
      {"hovercraft", "rotor", fault::ToothMissing{2}, "a tooth of wheel rotor missing"},
      {"generator", "crank", fault::ToothMissing{1}, "tooth 1 of wheel crank missing"},
      {"hill_climb", "crank", fault::ToothMissing{17}, "tooth 17 of wheel crank missing"},
  };
  for (const Put1& c : cases) {
    Walked walked(c.bench);
    const Diagnosis diagnosis = DiagnosisOf(walked, Put(c.at, c.kind));
    ASSERT_FALSE(diagnosis.groups.empty()) << c.words;
    EXPECT_TRUE(diagnosis.explained) << c.words;
    EXPECT_EQ(Describe(walked.bench(), diagnosis.groups[0].members[0].hypothesis), c.words);
    EXPECT_GT(diagnosis.groups[0].share, 0.9) << c.words;
    EXPECT_EQ(diagnosis.groups[0].members[0].edges_right, true) << c.words;
  }
}

TEST(EdgesRanked, WhatComesAndGoesIsFirst) {
  struct Case {
    const char* bench;
    const char* at;
    profile::FaultKind kind;
    double least;
    const char* words;
  };
  const std::vector<Case> cases = {
      {"hill_climb", "crank", fault::WheelRunout{3, 70, 0}, 0.9,
       "wheel crank off its centre by 3 degrees"},
      {"hill_climb", "cam_intake", fault::CamSlow{10}, 0.9, "cam cam_intake moves too slowly"},
      {"hill_climb", "crank", fault::ElectricalNoise{.rate_hz = 300}, 0.2,
       "signal of crank disturbed: edges that no tooth makes"},
      {"kart", "teeth", fault::ElectricalNoise{.rate_hz = 300}, 0.2,
       "signal of teeth disturbed: edges that no tooth makes"},
  };
  for (const Case& c : cases) {
    Walked walked(c.bench);
    const Diagnosis diagnosis = DiagnosisOf(walked, Put(c.at, c.kind));
    ASSERT_FALSE(diagnosis.groups.empty()) << c.words;
    EXPECT_EQ(Describe(walked.bench(), diagnosis.groups[0].members[0].hypothesis), c.words);
    EXPECT_GT(diagnosis.groups[0].share, c.least) << c.words;
  }
}

bool HoldsNoise(const Group& group) {
  return std::ranges::any_of(group.members, [](const Candidate& member) {
    return member.hypothesis.faults[0].Is<fault::ElectricalNoise>();
  });
}

// Each cycle is like the one before: chance does not do that.
TEST(EdgesRanked, WhatIsAlikeInEachCycleIsNoDisturbance) {
  const std::vector<Put1> cases = {
      {"kart", "teeth", fault::WheelRunout{8, 90, 0}, "wheel teeth off its centre by 8 degrees"},
      {"kart", "teeth", fault::WheelRunout{8, 0, 0}, "wheel teeth off its centre by 8 degrees"},
      {"kart", "teeth", fault::WheelOffset{-3}, "wheel teeth mounted 3 crank degrees early"},
      {"kart", "reference", fault::WheelOffset{7}, "wheel reference mounted 7 crank degrees late"},
      {"hovercraft", "rotor", fault::ToothMissing{3}, "a tooth of wheel rotor missing"},
  };
  for (const Put1& c : cases) {
    Walked walked(c.bench);
    const Diagnosis diagnosis = DiagnosisOf(walked, Put(c.at, c.kind));
    ASSERT_FALSE(diagnosis.groups.empty()) << c.words;
    const Candidate& first = diagnosis.groups[0].members[0];
    EXPECT_EQ(Describe(walked.bench(), first.hypothesis), c.words);
    EXPECT_EQ(first.edges_right, true) << c.words;
    EXPECT_EQ(first.sparks_right, true) << c.words;
    EXPECT_FALSE(HoldsNoise(diagnosis.groups[0])) << c.words;
    // The wheel that tells the turn moves no spark by its runout.
    const Hypothesis other{
        {Put("reference", fault::WheelRunout{3})}, kRunout, 1, Quantity::kNone, 0, 0, 0};
    const bool teeth = std::string(c.at) == "teeth";
    EXPECT_FALSE(teeth && Holds(diagnosis.groups[0], other)) << c.words;
    EXPECT_GT(diagnosis.groups[0].share, 0.9) << c.words;
  }
}

// The edges and sparks of a fault that is played do not speak against it.
TEST(EdgesRanked, NothingSpeaksAgainstTheFaultThatWasPutIn) {
  const std::vector<Put1> cases = {
      {"generator", "crank", fault::PickupInverted{}, "signal of crank inverted at the sensor"},
      {"hovercraft", "shaft", fault::PickupInverted{}, "signal of shaft inverted at the sensor"},
      {"hill_climb", "crank", fault::PickupInverted{},
       "terminals CKP.1 and CKP.2 (Crank sensor) swapped"},
      {"boat_v8", "crank", fault::PickupInverted{},
       "terminals CK.1 and CK.2 (Crank sensor) swapped"},
      {"generator", "cam", fault::ElectricalNoise{.rate_hz = 50},
       "signal of cam disturbed: edges that no tooth makes"},
      {"hovercraft", "rotor", fault::ElectricalNoise{.rate_hz = 50},
       "signal of rotor disturbed: edges that no tooth makes"},
      {"hill_climb", "cam_intake", fault::ElectricalNoise{.rate_hz = 20},
       "signal of cam_intake disturbed: edges that no tooth makes"},
      {"hill_climb", "crank", fault::ElectricalNoise{.rate_hz = 50},
       "signal of crank disturbed: edges that no tooth makes"},
      {"kart", "teeth", fault::ElectricalNoise{.rate_hz = 50},
       "signal of teeth disturbed: edges that no tooth makes"},
  };
  for (const Put1& c : cases) {
    Walked walked(c.bench);
    const Diagnosis diagnosis = DiagnosisOf(walked, Put(c.at, c.kind));
    ASSERT_FALSE(diagnosis.groups.empty()) << c.words;
    const Candidate& first = diagnosis.groups[0].members[0];
    EXPECT_EQ(Describe(walked.bench(), first.hypothesis), c.words);
    EXPECT_TRUE(diagnosis.explained) << c.words;
    EXPECT_EQ(first.edges_right, true) << c.words;
    EXPECT_EQ(first.sparks_right, true) << c.words;
    EXPECT_GT(diagnosis.groups[0].share, 0.9) << c.words;
  }
}

// All that was expected came true: the sparks are within their tolerance, or fire too seldom there.
TEST(EdgesRanked, EdgesThatAreOffAreWeighedThoughNothingFailed) {
  for (const double deg : {0., 1.5}) {
    Walked walked("hill_climb");
    const Observation observed = walked.Observe({Put("crank", fault::WheelRunout{deg, 40, 0})}, 0);
    ASSERT_FALSE(walked.cycle_failed());
    const EdgesSeen edges = walked.edges();
    Predictor predictor(walked.bench(), walked.situations());
    Ranker ranker(walked.bench(), predictor);
    const Diagnosis diagnosis = ranker.Rank(observed, {.doubles = true, .edges = &edges});
    EXPECT_EQ(diagnosis.healthy, deg == 0);
    if (deg == 0) continue;
    EXPECT_EQ(Describe(walked.bench(), diagnosis.groups[0].members[0].hypothesis),
              "wheel crank off its centre by 1.5 degrees");
  }
}

// The wire is in the readings alone, the wheel in its edges alone: of the second pair two plugs exchanged
// give the edges nearly, and the readings too.
void AWheelAndAWireAreNamed(const profile::Fault& wheel, const profile::Fault& wire) {
  Walked walked("kart");
  const Observation observed = walked.Observe({wheel, wire}, 0);
  const FiredSeen fired = walked.fired();
  const EdgesSeen edges = walked.edges();
  Predictor predictor(walked.bench(), walked.situations());
  Ranker ranker(walked.bench(), predictor);
  const Diagnosis diagnosis =
      ranker.Rank(observed, {.doubles = true, .fired = &fired, .edges = &edges});
  ASSERT_FALSE(diagnosis.groups.empty());
  EXPECT_TRUE(diagnosis.explained);
  const Hypothesis truth{{wire, wheel}, "two", 1, Quantity::kNone, 0, 0, 0};
  EXPECT_TRUE(Holds(diagnosis.groups[0], truth));
  EXPECT_EQ(diagnosis.groups[0].members[0].edges_right, true);
}

TEST(EdgesRanked, AWheelAndAWireAreWeighedTogether) {
  AWheelAndAWireAreNamed(Put("reference", fault::WheelOffset{7}), Put("HT.1", fault::Open{}));
  AWheelAndAWireAreNamed(Put("teeth", fault::WheelOffset{7}), Put("AX.3", fault::Open{}));
}

TEST(EdgesRanked, AHalfMoonInvertedIsSaidToBeTheSameAsHalfATurn) {
  const Walked walked("boat_v8");
  const Hypothesis half{
      {Put("cam", fault::WheelOffset{360})}, "wheel half a turn off", 1, Quantity::kNone, 0, 0, 0};
  EXPECT_EQ(Describe(walked.bench(), half),
            "level of cam inverted, or its wheel half a turn off: the same on a half-moon");
  const Walked teeth("generator");
  EXPECT_EQ(Describe(teeth.bench(), half), "wheel cam mounted half a turn off");
}

// A wire that takes the edges away is no wheel: it explains them as well.
TEST(EdgesRanked, AWireThatTakesEdgesAwayIsNotAWheel) {
  Walked walked("hill_climb");
  const Diagnosis diagnosis = DiagnosisOf(walked, Put("CMP.3", fault::Open{}));
  ASSERT_FALSE(diagnosis.groups.empty());
  const Hypothesis truth{
      {Put("CMP.3", fault::Open{})}, "contact open", 1, Quantity::kNone, 0, 0, 0};
  EXPECT_TRUE(Holds(diagnosis.groups[0], truth));
  EXPECT_TRUE(diagnosis.explained);
}

}  // namespace
}  // namespace drycrank::diagnose
