// SPDX-License-Identifier: Apache-2.0
//
// The hill climb car's bench with a walk's expectation that its controller talks, one of a value, and
// one of what its display shows.
#include "report/mute_controller.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "profile/load.h"
#include "report/summary.h"

namespace drycrank::report {
namespace {

using check::Outcome;
using testing::HasSubstr;
using testing::Not;
namespace expect = profile::expect;

class Silence : public testing::Test {
 protected:
  Silence() {
    const profile::MessageRef fast = profile::FindMessage(bench_, "engine_fast");
    Add("display_speed", expect::DisplayShows{0, {0, {}, 1, false}, {}, {}}, Outcome::kFailed);
    report_.verdicts.back().margin = -1468;
    Add("talks", expect::MessagePresent{fast, "engine_fast", 10, 50}, Outcome::kNotObserved);
    scenario_.expectations.back().means = "Nothing of the controller is heard on bus vehicle.";
    Add("speed", expect::Follows{{fast.bus, fast.message, 0}, "engine_fast.engine_speed", {}},
        Outcome::kNotObserved);
    report_.bench = &bench_;
    report_.scenario = &scenario_;
    report_.coverage = {{"can_high"}};
  }
  void Add(const std::string& name, profile::ExpectationKind kind, Outcome outcome) {
    profile::Expectation e;
    e.name = name;
    e.kind = std::move(kind);
    check::Verdict verdict;
    verdict.expectation = static_cast<int>(scenario_.expectations.size());
    verdict.outcome = outcome;
    scenario_.expectations.push_back(e);
    report_.verdicts.push_back(verdict);
  }
  std::string First() const { return ExpectationOf(report_, *WorstFirst(report_)[0]).name; }

  profile::Bench bench_ =
      *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml").bench;
  profile::Scenario scenario_;
  Report report_;
};

TEST_F(Silence, OfTheControllerIsTheFirstThingToLookAt) {
  EXPECT_TRUE(AnySilence(report_));
  EXPECT_EQ(First(), "talks");
  EXPECT_EQ(HeadingOf(report_, report_.verdicts[1]),
            "Nothing of the controller is heard on bus vehicle.");
  EXPECT_THAT(UnexplainedInWords(report_), Not(HasSubstr("display_speed")));
}

// One message of it is missing, and another comes: then it is heard.
TEST_F(Silence, IsNoneWhereAValueOfItWasJudged) {
  report_.verdicts[2].outcome = Outcome::kMet;
  EXPECT_FALSE(AnySilence(report_));
  EXPECT_EQ(First(), "display_speed");
  EXPECT_EQ(HeadingOf(report_, report_.verdicts[1]), "Talks was not seen.");
  EXPECT_THAT(UnexplainedInWords(report_), HasSubstr("display_speed"));
}

// What was not seen of a run that was stopped is not shown.
TEST_F(Silence, IsNoneInARunThatWasStopped) {
  report_.stopped = true;
  EXPECT_FALSE(AnySilence(report_));
}

}  // namespace
}  // namespace drycrank::report
