// SPDX-License-Identifier: Apache-2.0
//
// Against a supply in Python that shares no code with us (instrument.py).
#include "io/supply_output.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <vector>

#include "io/guarded_output.h"
#include "tests/io/child_process.h"

namespace drycrank::io {
namespace {

using output::Given;
using output::SupplyVolts;
using std::chrono::milliseconds;
using testing::ElementsAre;

class SupplyOutputTest : public testing::Test {
 protected:
  void Begin(const std::string& manner = "well") {
    instrument_ = std::make_unique<ChildProcess>(std::vector<std::string>{
        "/usr/bin/python3", DRYCRANK_TESTS_DIR "/io/instrument.py", manner});
    port_ = std::stoi(instrument_->ReadLine());
  }
  std::unique_ptr<SupplyOutput> Supply(double volts, double amperes) {
    return std::make_unique<SupplyOutput>(SupplyAddress{"127.0.0.1", port_}, volts, amperes,
                                          milliseconds(300));
  }
  std::vector<std::string> Heard(int lines) {
    std::vector<std::string> heard;
    for (int i = 0; i < lines; ++i) heard.push_back(instrument_->ReadLine());
    return heard;
  }

  std::unique_ptr<ChildProcess> instrument_;
  int port_ = 0;
};

TEST_F(SupplyOutputTest, TheLimitComesFirstAndTheOutputLast) {
  Begin();
  const auto supply = Supply(13.8, 2);
  ASSERT_EQ(supply->Open(), "");
  EXPECT_THAT(Heard(2), ElementsAre("*IDN?", "OUTP?"));
  ASSERT_EQ(supply->Arm(), "");
  EXPECT_THAT(Heard(8), ElementsAre("*CLS", "SYST:ERR?", "CURR 2", "SYST:ERR?", "VOLT 13.8",
                                    "SYST:ERR?", "OUTP ON", "SYST:ERR?"));
  supply->Give({0, 0, SupplyVolts{9.5}});
  EXPECT_THAT(Heard(2), ElementsAre("VOLT 9.5", "SYST:ERR?"));
  supply->Disarm();
  EXPECT_THAT(Heard(3), ElementsAre("OUTP OFF", "SYST:ERR?", "OUTP?"));
  EXPECT_EQ(supply->failure(), "");
}

// 12 V through 10 ohm are 1.2 A; 8 V are 0.8 A.
TEST_F(SupplyOutputTest, WhatItGivesIsMeasured) {
  Begin();
  const auto supply = Supply(12, 2);
  ASSERT_EQ(supply->Open(), "");
  ASSERT_EQ(supply->Arm(), "");
  EXPECT_EQ(supply->Measured(), "");
  supply->Beat(0);
  EXPECT_EQ(supply->Measured(), "12 V, 1.2 A (most 1.2 A)");
  supply->Give({0, 0, SupplyVolts{8}});
  supply->Beat(SupplyOutput::kLookNs);
  EXPECT_EQ(supply->Measured(), "8 V, 0.8 A (most 1.2 A)");
}

TEST_F(SupplyOutputTest, WhatItDoesNotTakeLeavesItOff) {
  Begin();
  const auto supply = Supply(24, 2);
  ASSERT_EQ(supply->Open(), "");
  EXPECT_EQ(supply->Arm(), "supply invented,supply,0,1.0 at 127.0.0.1:" + std::to_string(port_) +
                               " does not take VOLT 24: -222,\"Data out of range\"");
  Heard(8);
  EXPECT_THAT(Heard(3), ElementsAre("OUTP OFF", "SYST:ERR?", "OUTP?"));
}

TEST_F(SupplyOutputTest, OneThatDoesNotAnswerIsSwitchedOffByItsGuard) {
  Begin("silent");
  GuardedOutput guarded(Supply(12, 2), DRYCRANK_BINARY_DIR "/tools/drycrank-guard",
                        milliseconds(60'000));
  ASSERT_EQ(guarded.Open(), "");
  const std::string at = "127.0.0.1:" + std::to_string(port_);
  EXPECT_EQ(guarded.Arm(), at + ": SYST:ERR?: no answer");
  Heard(10);
  EXPECT_THAT(Heard(2), ElementsAre("OUTP OFF", "OUTP?"));
}

TEST_F(SupplyOutputTest, OneThatDoesNotSayThatItIsOffIsNotSafe) {
  for (const auto& [manner, first, last] :
       {std::tuple{"stays_on", "supply invented,supply,0,1.0 at WHERE answers 1 to OUTP? after OUTP OFF",
                   "WHERE answers 1 to OUTP?"},
        std::tuple{"mute", "WHERE: SYST:ERR?: no answer", "WHERE does not answer OUTP?"}}) {
    Begin(manner);
    const auto where = [&](std::string text) {
      for (auto at = text.find("WHERE"); at != std::string::npos; at = text.find("WHERE")) {
        text.replace(at, 5, "127.0.0.1:" + std::to_string(port_));
      }
      return text;
    };
    GuardedOutput guarded(Supply(12, 2), DRYCRANK_BINARY_DIR "/tools/drycrank-guard",
                          milliseconds(60'000));
    ASSERT_EQ(guarded.Open(), "");
    ASSERT_EQ(guarded.Arm(), "");
    guarded.Disarm();
    EXPECT_EQ(guarded.failure(), where(std::string(first) + "; NOT SAFE: \"OUTP OFF\" to WHERE: " + last +
                                       "; take its plug out"));
  }
}

TEST_F(SupplyOutputTest, NobodyThereIsSaid) {
  Begin();
  instrument_.reset();
  EXPECT_EQ(Supply(12, 2)->Open(), "127.0.0.1:" + std::to_string(port_) +
                                       ": Connection refused; is it switched on, and does another "
                                       "program have it?");
}

TEST_F(SupplyOutputTest, OneThatIsOnAlreadyIsNotTaken) {
  Begin();
  TextLine by_hand;
  ASSERT_EQ(by_hand.Connect("127.0.0.1", port_, milliseconds(300)), "");
  ASSERT_EQ(by_hand.Say("OUTP ON"), "");
  by_hand.Close();
  EXPECT_THAT(Supply(12, 2)->Open(),
              testing::HasSubstr("is on already; switch its output off by hand"));
}

}  // namespace
}  // namespace drycrank::io
