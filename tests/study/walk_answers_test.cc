// SPDX-License-Identifier: Apache-2.0
//
// On the shipped kart (invented): 27 circuits, of which the bus proves 21, a person the coil's two,
// a capture the injector's two; the lamp's two are on paper only.
#include "study/walk_answers.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>

#include "profile/load.h"
#include "report/summary.h"
#include "study/play.h"
#include "types/clock.h"

namespace drycrank::study {
namespace {

using check::CircuitState;
using check::Gap;
using profile::Answer;

class WalkAnswers : public testing::Test {
 protected:
  WalkAnswers()
      : loaded_(profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml")),
        walk_(walk::MakeWalk(*loaded_.bench)),
        scenario_(walk_.scenario) {
    VirtualClock clock;
    PlayOptions options;
    options.clock = &clock;
    options.pictures = false;
    report_ = Play(*loaded_.bench, scenario_, options).report;
  }
  void Add(const std::vector<profile::GivenAnswer>& answers, const std::vector<Seen>& seen = {}) {
    AddAnswers(walk_, answers, seen, scenario_, report_);
  }
  const check::CircuitCoverage& Circuit(const std::string& name) const {
    for (const auto& c : report_.coverage) {
      if (c.circuit == name) return c;
    }
    std::abort();
  }
  CircuitState StateOf(const std::string& name) const { return Circuit(name).state; }
  Gap GapOf(const std::string& name) const { return Circuit(name).gap; }

  profile::LoadedBench loaded_;
  walk::Walk walk_;
  profile::Scenario scenario_;
  report::Report report_;
};

TEST_F(WalkAnswers, WithoutAnswersEachGapHasItsReason) {
  Add({});
  EXPECT_EQ(report::CoverageSentence(report_),
            "21 of 27 circuits proven, 0 failed, 4 not shown (4 not asked), 2 on paper only.");
  EXPECT_EQ(GapOf("coil_switched"), Gap::kNotAsked);
  EXPECT_EQ(GapOf("lamp_switched"), Gap::kNotFitted);
  EXPECT_EQ(StateOf("pump_switched"), CircuitState::kProven);
  EXPECT_TRUE(report::AllMet(report_));
}

TEST_F(WalkAnswers, YesProves) {
  Add({{"coil", Answer::kYes}}, {{1, true, "40 pulses"}});
  EXPECT_EQ(report::CoverageSentence(report_),
            "25 of 27 circuits proven, 0 failed, 0 not shown, 2 on paper only.");
}

TEST_F(WalkAnswers, NoFails) {
  Add({{"coil", Answer::kNo}}, {{1, false, "0 pulses"}});
  EXPECT_EQ(StateOf("coil_switched"), CircuitState::kFailed);
  EXPECT_EQ(StateOf("injector_switched"), CircuitState::kFailed);
  EXPECT_EQ(StateOf("supply"), CircuitState::kProven);  // others prove it
  EXPECT_TRUE(report::AnyFailed(report_));
}

TEST_F(WalkAnswers, SkippedAndNotFittedAreNeither) {
  Add({{"coil", Answer::kSkip}, {"injector", Answer::kNotFitted}});
  EXPECT_EQ(GapOf("coil_switched"), Gap::kNotAsked);
  EXPECT_EQ(GapOf("injector_switched"), Gap::kNotFitted);
  EXPECT_TRUE(report::AllMet(report_));
}

// A meter's word for a circuit by name; what the bus judges it does not overrule.
TEST_F(WalkAnswers, ACircuitMayBeAnsweredByName) {
  Add({{"lamp_switched", Answer::kYes}, {"head_signal", Answer::kNo}});
  EXPECT_EQ(StateOf("lamp_switched"), CircuitState::kProven);
  EXPECT_EQ(StateOf("head_signal"), CircuitState::kProven);
  EXPECT_THAT(report_.notes,
              testing::Contains("answer for head_signal not used: the bus judges it"));
}

}  // namespace
}  // namespace drycrank::study
