// SPDX-License-Identifier: Apache-2.0
//
// SCPI-1999 volume 1, 6.2.1: a keyword's long form or its short form, in any case, and nothing between.
// Error numbers: volume 2, 21.8 (from memory).
#include "protocol/scpi.h"
#include "protocol/scpi_meter.h"

#include <gtest/gtest.h>

#include <string>

namespace drycrank::protocol {
namespace {

TEST(Scpi, AKeywordIsShortOrLong) {
  for (const char* text : {"VOLT", "volt", "VOLTAGE", "Voltage", ":VOLT", "SOUR:VOLT",
                           "source:voltage:level", "VOLT:LEV", "SOUR:VOLT:LEVEL"}) {
    EXPECT_TRUE(IsHeader(text, "[SOURce:]VOLTage[:LEVel]")) << text;
  }
  for (const char* text :
       {"VOLTA", "VOL", "", "SOUR", "VOLT:", "VOLT:LEVE", "VOLT?", "SOUR:CURR", "VOLT:LEV:LEV"}) {
    EXPECT_FALSE(IsHeader(text, "[SOURce:]VOLTage[:LEVel]")) << text;
  }
  EXPECT_TRUE(IsHeader("MEAS:CURR?", "MEASure:CURRent[:DC]?"));
  EXPECT_TRUE(IsHeader("MEASURE:CURRENT:DC?", "MEASure:CURRent[:DC]?"));
  EXPECT_FALSE(IsHeader("MEAS:CURR", "MEASure:CURRent[:DC]?"));
  EXPECT_FALSE(IsHeader("MEAS?", "MEASure:CURRent[:DC]?"));
}

// IEEE 488.2, 8.7.2 to 8.7.4: whole, with a point, with an exponent. SCPI-1999 volume 1, 7.2.1: 9.91E37 is no number.
TEST(Scpi, NumbersInThreeForms) {
  EXPECT_EQ(ScpiNumber("13"), 13);
  EXPECT_EQ(ScpiNumber("+13.800"), 13.8);
  EXPECT_EQ(ScpiNumber("-1.25E-03\n"), -0.00125);
  for (const char* text : {"", "+", "13V", "nan", "inf", "9.91E37", "9.9E+37", "1;2", "0x10"}) {
    EXPECT_FALSE(ScpiNumber(text)) << text;
  }
}

TEST(Scpi, AnErrorHasItsNumberAndItsText) {
  const auto none = ParseScpiError("+0,\"No error\"\n");
  ASSERT_TRUE(none);
  EXPECT_EQ(none->code, 0);
  const auto range = ParseScpiError("-222,\"Data out of range; VOLT\"");
  ASSERT_TRUE(range);
  EXPECT_EQ(range->code, -222);
  EXPECT_EQ(range->text, "Data out of range; VOLT");
  for (const char* text : {"", "13.8", "0", "0,", "0,\"", "No error", "0,No error"}) {
    EXPECT_FALSE(ParseScpiError(text)) << text;
  }
}

TEST(Scpi, TheLimitComesFirstAndTheOutputLast) {
  EXPECT_EQ(SupplyOn(13.8, 0.5), (std::vector<std::string>{"CURR 0.5", "SYST:ERR?", "VOLT 13.8",
                                                           "SYST:ERR?", "OUTP ON", "SYST:ERR?"}));
}

// 10 ohm at 32 V and 5 A at most.
class ScpiSupplyTest : public testing::Test {
 protected:
  std::string Ask(const std::string& line) { return supply_.Take(line).value_or("(nothing)"); }
  ScpiSupply supply_{"drycrank,twin,0,1", {32, 5}, 10};
};

TEST_F(ScpiSupplyTest, GivesWhatItWasToldOnceItIsOn) {
  EXPECT_EQ(Ask("CURR 2"), "(nothing)");
  EXPECT_EQ(Ask("VOLT 12"), "(nothing)");
  EXPECT_EQ(Ask("MEAS:VOLT?"), "0.0000");
  EXPECT_EQ(Ask("OUTP ON"), "(nothing)");
  EXPECT_EQ(Ask("MEAS:VOLT?"), "12.0000");
  EXPECT_EQ(Ask("MEAS:CURR?"), "1.2000");  // 12 V / 10 ohm
  EXPECT_EQ(Ask("OUTP?;VOLT?"), "1;12.0000");
}

// 2 A through 3 ohm are 6 V.
TEST_F(ScpiSupplyTest, TheLimitHolds) {
  Ask("CURR 2;VOLT 12;OUTP 1");
  supply_.SetLoad(3);
  EXPECT_EQ(Ask("MEAS:CURR?"), "2.0000");
  EXPECT_EQ(Ask("MEAS:VOLT?"), "6.0000");
}

TEST_F(ScpiSupplyTest, WhatItDoesNotTakeIsInItsErrors) {
  Ask("VOLT 33;VOLT;VOLT twelve;OUTP maybe;FIRE");
  EXPECT_EQ(Ask("SYST:ERR?"), "-222,\"Data out of range\"");
  EXPECT_EQ(Ask("SYST:ERR?"), "-109,\"Missing parameter\"");
  EXPECT_EQ(Ask("SYST:ERR?"), "-104,\"Data type error\"");
  EXPECT_EQ(Ask("SYST:ERR?"), "-224,\"Illegal parameter value\"");
  EXPECT_EQ(Ask("SYST:ERR?"), "-113,\"Undefined header\"");
  EXPECT_EQ(Ask("SYST:ERR?"), "0,\"No error\"");
  EXPECT_EQ(supply_.set_volts(), 0);
}

TEST_F(ScpiSupplyTest, ResetIsOff) {
  Ask("CURR 2;VOLT 12;OUTP ON");
  Ask("*RST");
  EXPECT_FALSE(supply_.on());
  EXPECT_EQ(supply_.set_volts(), 0);
  EXPECT_EQ(Ask("*IDN?"), "drycrank,twin,0,1");
}

// Volume 1, 7.2.1: INF is 9.9E37, NINF -9.9E37, NAN 9.91E37 (from memory).
TEST(ScpiMeter, OverloadIsNeitherAValueNorNoNumber) {
  using Kind = MeterAnswer::Kind;
  const auto kind = [](const char* line) { return ParseMeterAnswer(line).kind; };
  EXPECT_EQ(ParseMeterAnswer("+4.98123E+00").value, 4.98123);
  EXPECT_EQ(ParseMeterAnswer(" -1.2E-3\r").value, -0.0012);
  EXPECT_EQ(kind("0"), Kind::kValue);
  EXPECT_EQ(kind("+9.90000000E+37"), Kind::kOverload);
  EXPECT_EQ(kind("-9.9E37"), Kind::kOverload);
  for (const char* none : {"+9.91000000E+37", "9.91E37", "", "OPEN", "1 V", "1,2", "+9.9E37 V", "nan", "inf"}) {
    EXPECT_EQ(kind(none), Kind::kNone) << none;
  }
}

TEST(ScpiMeter, QuestionsAreHeadersOfTheStandard) {
  EXPECT_TRUE(IsHeader(MeterQuestion(MeterQuantity::kVolts), "MEASure:VOLTage[:DC]?"));
  EXPECT_TRUE(IsHeader(MeterQuestion(MeterQuantity::kOhms), "MEASure:RESistance?"));
  EXPECT_TRUE(IsHeader(MeterQuestion(MeterQuantity::kAmperes), "MEASure:CURRent[:DC]?"));
}

}  // namespace
}  // namespace drycrank::protocol
