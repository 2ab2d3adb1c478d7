// SPDX-License-Identifier: Apache-2.0
#include "daemon/request.h"

#include <gtest/gtest.h>

#include <string>

namespace drycrank::daemon {
namespace {

TEST(Request, SetKeepsTheValueAsWritten) {
  const Request request = ParseRequest("  set coolant_temperature  90 °C\r");
  EXPECT_EQ(request.verb, Verb::kSet);
  EXPECT_EQ(request.name, "coolant_temperature");
  EXPECT_EQ(request.value, "90 °C");
}

TEST(Request, RampHasATime) {
  const Request request = ParseRequest("ramp engine_speed 3000 rpm in 2 s");
  EXPECT_EQ(request.verb, Verb::kRamp);
  EXPECT_EQ(request.value, "3000 rpm");
  EXPECT_EQ(request.time, "2 s");
}

TEST(Request, FaultKeepsItsMapping) {
  EXPECT_EQ(ParseRequest("fault {kind: open, at: CLT.1}").yaml, "{kind: open, at: CLT.1}");
}

TEST(Request, WhatIsWrongIsSaid) {
  for (const std::string& line :
       {std::string(), std::string("dance"), std::string("set"), std::string("set x"),
        std::string("ramp engine_speed 3000 rpm"), std::string("clear"), std::string("status now"),
        std::string(kLongestLine + 1, 'x')}) {
    const Request request = ParseRequest(line);
    EXPECT_EQ(request.verb, Verb::kNone) << line.substr(0, 40);
    EXPECT_FALSE(request.problem.empty());
  }
}

TEST(Request, ArmNamesWhatAndWho) {
  const Request request = ParseRequest("arm can0,can1 by  Bench crew ");
  EXPECT_EQ(request.verb, Verb::kArm);
  EXPECT_EQ(request.name, "can0,can1");
  EXPECT_EQ(request.value, "Bench crew");
  for (const char* wrong : {"arm", "arm can0", "arm can0 by", "arm by Kim", "arm can0 Kim"}) {
    EXPECT_EQ(ParseRequest(wrong).verb, Verb::kNone) << wrong;
  }
}

TEST(Request, LeaveStandsBeforeADrive) {
  const Request request = ParseRequest("leave ramp engine_speed 3000 rpm in 2 s");
  EXPECT_EQ(request.verb, Verb::kRamp);
  EXPECT_TRUE(request.leave);
  EXPECT_FALSE(ParseRequest("set engine_speed 3000 rpm").leave);
  EXPECT_EQ(ParseRequest("leave status").verb, Verb::kNone);
  EXPECT_EQ(ParseRequest("leave set").verb, Verb::kNone);
}

TEST(Request, CrankIsADriveOfEngineSpeed) {
  const Request request = ParseRequest("leave crank 220 rpm");
  EXPECT_EQ(request.verb, Verb::kCrank);
  EXPECT_EQ(request.name, "engine_speed");
  EXPECT_EQ(request.value, "220 rpm");
  EXPECT_TRUE(request.leave);
  EXPECT_EQ(ParseRequest("crank").verb, Verb::kNone);
}

TEST(Request, WatchMayHaveATime) {
  EXPECT_EQ(ParseRequest("watch").verb, Verb::kWatch);
  EXPECT_EQ(ParseRequest("watch every 200 ms").time, "200 ms");
  for (const char* wrong : {"watch 200 ms", "watch every", "watch now"}) {
    EXPECT_EQ(ParseRequest(wrong).verb, Verb::kNone) << wrong;
  }
}

}  // namespace
}  // namespace drycrank::daemon
