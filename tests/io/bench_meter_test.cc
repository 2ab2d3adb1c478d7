// SPDX-License-Identifier: Apache-2.0
//
// Against a meter in Python that shares no code with us (meter.py).
#include "io/bench_meter.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <vector>

#include "tests/io/child_process.h"

namespace drycrank::io {
namespace {

using protocol::MeterQuantity;
using std::chrono::milliseconds;
using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;

class BenchMeterTest : public testing::Test {
 protected:
  void Begin(const std::string& manner, std::vector<std::string> world, int patience_ms = 500) {
    std::vector<std::string> words = {"/usr/bin/python3", DRYCRANK_TESTS_DIR "/io/meter.py", manner};
    words.insert(words.end(), world.begin(), world.end());
    instrument_ = std::make_unique<ChildProcess>(words);
    ASSERT_EQ(meter_.SetAddress("127.0.0.1:" + instrument_->ReadLine()), "");
    meter_.SetPatience(milliseconds(patience_ms));
  }
  std::string Heard() { return instrument_->ReadLine(); }

  std::unique_ptr<ChildProcess> instrument_;
  BenchMeter meter_;
};

TEST_F(BenchMeterTest, SaysWhoItIsAndEachReadingByItsOwnQuestion) {
  Begin("well", {"volts=4.98", "amperes=0.42"});
  ASSERT_EQ(meter_.Open(), "");
  EXPECT_EQ(meter_.identity(), "invented,meter,7,1.0");
  EXPECT_THAT(meter_.Read(MeterQuantity::kVolts).value, 4.98);
  EXPECT_THAT(meter_.Read(MeterQuantity::kAmperes).value, 0.42);
  std::vector<std::string> heard;
  for (int i = 0; i < 6; ++i) heard.push_back(Heard());
  EXPECT_THAT(heard, ElementsAre("*IDN?", "*CLS", "MEAS:VOLT:DC?", "SYST:ERR?", "MEAS:CURR:DC?", "SYST:ERR?"));
}

TEST_F(BenchMeterTest, OhmsBeyondItsRangeAreOverload) {
  Begin("well", {"ohms=inf"});
  const auto reading = meter_.Read(MeterQuantity::kOhms);
  EXPECT_EQ(reading.problem, "");
  EXPECT_TRUE(reading.overload);
}

TEST_F(BenchMeterTest, OhmsAreNotAskedForWhereThereAreVolts) {
  Begin("well", {"volts=4.98", "ohms=1200"});
  EXPECT_THAT(meter_.Read(MeterQuantity::kOhms).problem,
              AllOf(HasSubstr("4.98 V between the probes"), HasSubstr("key off")));
  for (const char* heard : {"*IDN?", "*CLS", "MEAS:VOLT:DC?", "SYST:ERR?"}) EXPECT_EQ(Heard(), heard);
}

TEST_F(BenchMeterTest, OhmsOfWhatHasNoVoltsAreRead) {
  Begin("well", {"volts=-0.0004", "ohms=1200"});
  EXPECT_EQ(meter_.Read(MeterQuantity::kOhms).value, 1200);
}

TEST_F(BenchMeterTest, AQuestionThatItDoesNotKnowIsSaidWithItsError) {
  Begin("ohmless", {});
  EXPECT_THAT(meter_.Read(MeterQuantity::kOhms).problem,
              AllOf(HasSubstr("MEAS:RES?: no answer"), HasSubstr("-113,\"Undefined header\"")));
}

TEST_F(BenchMeterTest, ANumberWithAnErrorBehindItIsNone) {
  Begin("complains", {"volts=5"});
  EXPECT_THAT(meter_.Read(MeterQuantity::kVolts).problem, HasSubstr("-221,\"Settings conflict\""));
}

TEST_F(BenchMeterTest, WhatIsNoNumberIsNoReading) {
  for (const char* manner : {"words", "several", "not_a_number"}) {
    Begin(manner, {"volts=5"});
    EXPECT_THAT(meter_.Read(MeterQuantity::kVolts).problem, HasSubstr("that is no reading")) << manner;
    meter_ = BenchMeter();
  }
}

TEST_F(BenchMeterTest, SilenceIsSaidAndTheNextQuestionIsAskedAnew) {
  Begin("silent", {});
  EXPECT_THAT(meter_.Read(MeterQuantity::kVolts).problem, HasSubstr("MEAS:VOLT:DC?: no answer"));
  EXPECT_EQ(meter_.identity(), "invented,meter,7,1.0");
  EXPECT_THAT(meter_.Read(MeterQuantity::kVolts).problem, HasSubstr("no answer"));
}

TEST_F(BenchMeterTest, NobodyThereIsSaid) {
  Begin("deaf", {}, 200);
  EXPECT_THAT(meter_.Open(), HasSubstr("*IDN?: no answer"));
  EXPECT_EQ(meter_.identity(), "");
  ASSERT_EQ(meter_.SetAddress("127.0.0.1:1"), "");
  EXPECT_THAT(meter_.Open(), HasSubstr("refused"));
}

TEST_F(BenchMeterTest, AMeterMayTakeTwoSeconds) {
  Begin("late", {"volts=5"}, 3000);
  EXPECT_EQ(meter_.Read(MeterQuantity::kVolts).value, 5);
}

TEST(BenchMeterAddress, IsAHostAndPerhapsAPort) {
  BenchMeter meter;
  EXPECT_EQ(meter.SetAddress("192.168.1.30"), "");
  EXPECT_EQ(meter.SetAddress("dmm.local:5024"), "");
  for (const char* wrong : {"", ":5025", "host:", "host:x", "host:0", "host:70000", "host:5 "}) {
    EXPECT_THAT(meter.SetAddress(wrong), HasSubstr("write HOST:PORT")) << wrong;
  }
}

}  // namespace
}  // namespace drycrank::io
