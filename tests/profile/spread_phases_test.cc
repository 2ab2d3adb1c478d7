// SPDX-License-Identifier: Apache-2.0
#include "profile/spread_phases.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

namespace drycrank::profile {
namespace {

using testing::ElementsAre;

class SpreadPhasesTest : public testing::Test {
 protected:
  void Add(double period_ms, double phase_ms = kPhaseNotGiven) {
    Message message;
    message.period_ms = period_ms;
    message.phase_ms = phase_ms;
    messages_.push_back(message);
  }
  std::vector<double> Phases() {
    SpreadPhases(messages_);
    std::vector<double> phases;
    for (const Message& message : messages_) phases.push_back(message.phase_ms);
    return phases;
  }
  std::vector<Message> messages_;
};

// Of one period: the first at 0, the second half a period later, then the quarters.
TEST_F(SpreadPhasesTest, HalvesTheGapsOfOnePeriod) {
  for (int i = 0; i < 4; ++i) Add(16);
  EXPECT_THAT(Phases(), ElementsAre(0, 8, 4, 12));
}

TEST_F(SpreadPhasesTest, WhatTheProfileSaysStays) {
  Add(16);
  Add(16, 3);
  Add(16, 0);
  // The widest gap is from 3 to 16: its middle is 9.5, a choice lies at each 0.25 ms; 9.5 or 9.4.
  const std::vector<double> phases = Phases();
  EXPECT_NEAR(phases[0], 9.5, 0.1);
  EXPECT_EQ(phases[1], 3);
  EXPECT_EQ(phases[2], 0);
}

// 10 and 15 ms have 5 ms in common: 2.5 is as far from every multiple of 5 as can be.
TEST_F(SpreadPhasesTest, DifferentPeriodsMeetInTheirCommonDivisor) {
  Add(10, 0);
  Add(15);
  const double phase_ms = Phases()[1];
  EXPECT_NEAR(std::fmod(phase_ms, 5.0), 2.5, 0.15);
}

TEST_F(SpreadPhasesTest, AnEventMessageHasNoPhase) {
  Add(0);
  Add(10);
  EXPECT_THAT(Phases(), ElementsAre(0, 0));
}

}  // namespace
}  // namespace drycrank::profile
