// SPDX-License-Identifier: Apache-2.0
#include "proofread/heard.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "profile/load.h"

namespace drycrank::proofread {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

class NotHeardTest : public testing::Test {
 protected:
  // The wires of this circuit are on paper only.
  void LeaveOut(const std::string& circuit) {
    for (profile::Wire& wire : bench_.wires) {
      if (wire.circuit == circuit) wire.fitted = false;
    }
  }
  std::string Said() const {
    std::string text;
    for (const Diagnostic& problem : NotHeard(bench_)) text += problem.what + "\n";
    return text;
  }

  profile::Bench bench_ =
      *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml").bench;
};

TEST_F(NotHeardTest, NothingIsSaidOfAWholePair) { EXPECT_THAT(Said(), IsEmpty()); }

TEST_F(NotHeardTest, ADisplayWithoutItsWireHearsNothingAndIsNotHeard) {
  LeaveOut("can_high");
  EXPECT_EQ(Said(), "bus vehicle: by its wires as drawn nobody hears the display, and it does not "
                    "hear the controller; no wire joins ECU.33 and DSP.3 (CAN high)\n");
}

TEST_F(NotHeardTest, TheOtherWireOfThePairIsNamedAsWell) {
  LeaveOut("can_low");
  EXPECT_THAT(Said(), HasSubstr("no wire joins ECU.34 and DSP.4 (CAN low)"));
  EXPECT_THAT(Said(), Not(HasSubstr("DSP.3")));
}

TEST_F(NotHeardTest, ADisplayWithoutSupplyIsDark) {
  LeaveOut("display_supply");
  EXPECT_EQ(Said(), "bus vehicle: by its wires as drawn the display has no supply: it is dark\n");
}

// 50 kohm of two transceivers: nothing fades in time.
TEST_F(NotHeardTest, WithoutTerminationsNobodyIsHeard) {
  for (profile::BusNode& node : bench_.buses[0].nodes) node.termination_ohm = 0;
  EXPECT_THAT(Said(), HasSubstr("nobody hears the controller"));
}

TEST_F(NotHeardTest, ADisplayUnderAnotherNameIsSaid) {
  bench_.buses[0].nodes[1].name = "dash";
  EXPECT_THAT(Said(), HasSubstr("bus vehicle: no node is called display"));
}

TEST_F(NotHeardTest, NothingIsSaidWhereTheNodesAreOnNoSchedule) {
  LeaveOut("can_high");
  bench_.buses[0].nodes.clear();
  EXPECT_THAT(Said(), IsEmpty());
}

}  // namespace
}  // namespace drycrank::proofread
