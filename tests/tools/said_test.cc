// SPDX-License-Identifier: Apache-2.0
#include "tools/said.h"

#include <gtest/gtest.h>

#include <cmath>

#include "profile/load.h"

namespace drycrank::tools {
namespace {

using diagnose::Meter;
using diagnose::Probing;

class SaidTest : public testing::Test {
 protected:
  SaidTest() {
    diagnose::Situation rest = diagnose::RestOf(bench_), hot = rest;
    rest.name = "at_rest";
    hot.name = "head_hot";
    hot.stimuli[static_cast<std::size_t>(profile::IndexOf(bench_.stimuli, "head_temperature"))] =
        120;
    predictor_.emplace(bench_, std::vector<diagnose::Situation>{rest, hot});
    model_.emplace(bench_, *predictor_, std::vector<std::vector<double>>());
  }

  Said Read(const std::string& text) const { return ReadSaid(*model_, text); }
  Probing Meant(const std::string& text) const {
    const Said said = Read(text);
    EXPECT_TRUE(said.answered) << text << ": " << said.problem;
    return said.answered ? std::get<Probing>(said.answered->test) : Probing{};
  }
  double Value(const std::string& text) const {
    const Said said = Read(text);
    EXPECT_TRUE(said.answered) << text << ": " << said.problem;
    return said.answered ? said.answered->value : std::nan("");
  }

  profile::Bench bench_ = *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml").bench;
  std::optional<diagnose::Predictor> predictor_;
  std::optional<diagnose::MeasuredModel> model_;
};

TEST_F(SaidTest, NumbersAsPeopleWriteThem) {
  EXPECT_DOUBLE_EQ(Value("TH.3=0.72 V"), 0.72);
  EXPECT_DOUBLE_EQ(Value("TH.3 = 0,72V"), 0.72);
  EXPECT_DOUBLE_EQ(Value("TH.3=720 mV"), 0.72);
  EXPECT_DOUBLE_EQ(Value("TH.3=-12 mv"), -0.012);
  EXPECT_DOUBLE_EQ(Value("HT.1-HT.2=2,5 kohm"), 2500);
  EXPECT_DOUBLE_EQ(Value("HT.1-HT.2=2.5kΩ"), 2500);
  EXPECT_DOUBLE_EQ(Value("HT.1-HT.2=0.3 \u2126"), 0.3);  // U+2126, the sign and not the letter
  EXPECT_DOUBLE_EQ(Value("BT.1=420 mA"), 0.42);
  EXPECT_TRUE(std::isinf(Value("HT.1-CU.7=open")));
  EXPECT_TRUE(std::isinf(Value("HT.1-CU.7=OL")));
}

// What has just been asked for in volts. Of ohms 2.5 may be kilohms.
TEST_F(SaidTest, AskedForVoltsANumberIsVolts) {
  const diagnose::Test volts = Meant("TH.3=0.72 V"), ohms = Meant("HT.1-HT.2=2.5 kohm");
  for (const char* text : {"13.54", "13,54", " 13.54 "}) {
    const Said said = ReadValue(*model_, volts, text);
    ASSERT_TRUE(said.answered) << text << ": " << said.problem;
    EXPECT_DOUBLE_EQ(said.answered->value, 13.54);
  }
  EXPECT_FALSE(ReadValue(*model_, volts, "350").answered);  // of a meter that shows mV
  EXPECT_FALSE(ReadValue(*model_, ohms, "2.5").answered);
}

// An overload that a meter says as 1E9, a slip of the finger: kept, it would speak against all there is.
TEST_F(SaidTest, VoltsThatNoMeterReadsHereAreNoReading) {
  for (const char* text : {"TH.3=1E9 V", "TH.3=-501 V", "TH.3=98765 mV @ at_rest", "TH.3=1e6 mV"}) {
    const Said said = ReadSaid(*model_, text);
    const bool sound = std::string_view(text).find("98765") != std::string_view::npos;
    EXPECT_EQ(said.answered.has_value(), sound) << text;
    EXPECT_EQ(said.problem.find("is no reading of this bench") == std::string::npos, sound) << said.problem;
  }
  const diagnose::Test volts = Meant("TH.3=0.72 V");
  EXPECT_FALSE(ReadValue(*model_, volts, "1E9 V").answered);
  EXPECT_TRUE(ReadValue(*model_, volts, "99 V").answered);
}

TEST_F(SaidTest, AReadingBelongsToAState) {
  const Probing volts = Meant("TH.3=0.72 V");
  EXPECT_EQ(volts.plus, "TH.3~");
  EXPECT_EQ(volts.minus, "");
  EXPECT_EQ(volts.situation.name, "at_rest");
  EXPECT_TRUE(volts.pulled.empty());
  EXPECT_EQ(Meant("TH.3=0.72 V @ head_hot").situation.name, "head_hot");
  const Probing ohms = Meant("HT.1-G=12 ohm");
  EXPECT_EQ(ohms.minus, "G");
  EXPECT_EQ(ohms.pulled, std::vector<std::string>{"CU"});
  EXPECT_TRUE(Meant("HT.1-G=12 ohm with CU").pulled.empty());
  EXPECT_EQ(Meant("HT.1-G=12 ohm without HT").pulled, (std::vector<std::string>{"CU", "HT"}));
  const Probing device = Meant("device HT.1-HT.2=12.5 kohm");
  EXPECT_EQ(device.plus, "HT.1");
  EXPECT_EQ(device.pulled, (std::vector<std::string>{"CU", "HT"}));
}

TEST_F(SaidTest, TestsByHandAreReadingsToo) {
  const Said jumps = Read("wiggle HT: yes");
  ASSERT_TRUE(jumps.answered) << jumps.problem;
  EXPECT_EQ(std::get<diagnose::Jumps>(jumps.answered->test).plug, "HT");
  const Said pulled = Read("unplug HT: all.head=60 degC");
  ASSERT_TRUE(pulled.answered) << pulled.problem;
  EXPECT_EQ(std::get<diagnose::SignalTest>(pulled.answered->test).stand.pulled,
            std::vector<std::string>{"HT"});
  EXPECT_DOUBLE_EQ(pulled.answered->value, 60);
  EXPECT_TRUE(std::isnan(Value("unplug HT: all.head=not sent")));
  EXPECT_DOUBLE_EQ(Value("bridge CU.3-BT.2: no"), 0);
  EXPECT_EQ(Read("cannot CU").cannot, "CU");
  EXPECT_EQ(Read("cannot HT.1").cannot, "HT.1");
}

TEST_F(SaidTest, WhatIsWrongIsSaidWithWhatWouldBeRight) {
  const auto problem = [&](const std::string& text) { return Read(text).problem; };
  EXPECT_EQ(problem("TH.4=0.72 V"),
            "there is no terminal TH.4: plug TH has pins 1 to 3; write TH.1");
  EXPECT_EQ(problem("TX.3=0.72 V").substr(0, 64),
            "there is no terminal or splice TX.3 on this bench; did you mean ");
  EXPECT_NE(problem("TX.3=0.72 V").find("TH.3"), std::string::npos);
  EXPECT_EQ(problem("TH.3=0.72"),
            "0.72 has no unit; write 0.72 V, 0.72 mV, 0.72 ohm, 0.72 kohm or 0.72 mA");
  EXPECT_EQ(problem("HT.1-HT.2=12 ohm @ head_hot"),
            "ohms are measured with the key off, in no step: leave out @ head_hot");
  EXPECT_EQ(problem("TH.3=0.72 V @ head_hto"),
            "the record has no step head_hto in which all rests; did you mean head_hot?");
  EXPECT_EQ(problem("TH.3=12 psi"),
            "psi is no unit of a meter here; known: V, mV, ohm, kohm, Mohm, A, mA");
  EXPECT_EQ(problem("TH.3=12 parsecs"),
            "unit 'parsecs' is not known; known: V, mV, ohm, kohm, Mohm, A, mA");
  EXPECT_EQ(problem("TH.3=abc"), "'abc' is no number; write as 0.72 V, 2.5 kohm, open or 420 mA");
  EXPECT_EQ(problem("TH.3 0.72 V"), "'TH.3 0.72 V' has no '='; write as CMP.3=0.72 V");
  EXPECT_EQ(problem("BT.1-BT.2=1 A"), "amperes are measured at one terminal; write as BT.1=0.42 A");
  EXPECT_EQ(problem("wiggle HT: perhaps"), "'perhaps' is no answer here; write yes or no");
  EXPECT_NE(problem("wiggle HTT: yes").find("did you mean HT"), std::string::npos);
  EXPECT_NE(problem("").find("has no '='"), std::string::npos);
  EXPECT_EQ(Read("TH.3=0.72 V @ nowhere").column, 15);
}

// What is kept is read again as the same: volts, ohms, steps, plugs, tests by hand.
TEST_F(SaidTest, WhatIsSaidIsReadBack) {
  for (const std::string text :
       {"TH.3=0.72 V", "TH.3-TH.2=0.72 V @ head_hot", "HT.1-CU.7=open", "HT.1-G=12 ohm with CU",
        "HT.1-HT.2=12 ohm without HT", "device HT.1-HT.2=12493 ohm", "BT.1=0.42 A",
        "unplug HT: all.head=60 degC", "wiggle HT: yes", "bridge CU.3-BT.2: no",
        "hold head_temperature 120 degC: all.head=60 degC"}) {
    const Said said = Read(text);
    ASSERT_TRUE(said.answered) << text << ": " << said.problem;
    const std::string written = SaidOf(*model_, *said.answered);
    const Said again = Read(written);
    ASSERT_TRUE(again.answered) << written << ": " << again.problem;
    EXPECT_EQ(again.answered->test, said.answered->test) << written;
    EXPECT_DOUBLE_EQ(again.answered->value, said.answered->value) << written;
  }
}

}  // namespace
}  // namespace drycrank::tools
