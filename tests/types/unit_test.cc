// SPDX-License-Identifier: Apache-2.0
#include "types/unit.h"

#include <gtest/gtest.h>

#include <cmath>

namespace drycrank {
namespace {

// NIST SP 811 (2008) Appendix B, as in tests/reference/units.csv.
TEST(Unit, PressureFactorsArePublishedOnes) {
  EXPECT_NEAR(*Convert(25, "psi", "kPa"), 172.3689323292, 1e-9);
  EXPECT_DOUBLE_EQ(*Convert(1, "bar", "kPa"), 100);
  EXPECT_DOUBLE_EQ(*Convert(1, "atm", "kPa"), 101.325);
  EXPECT_NEAR(*Convert(1, "inHg", "kPa"), 3.38638864034, 1e-12);
}

TEST(Unit, TemperaturesHaveOffsets) {
  EXPECT_NEAR(*Convert(90, "degC", "degF"), 194, 1e-12);
  EXPECT_NEAR(*Convert(32, "degF", "degC"), 0, 1e-12);
  EXPECT_NEAR(*Convert(273.15, "K", "°C"), 0, 1e-12);
}

TEST(Unit, DifferencesHaveNone) {
  EXPECT_NEAR(*ConvertDifference(9, "degF", "degC"), 5, 1e-12);
  EXPECT_NEAR(*ConvertDifference(2, "K", "degC"), 2, 1e-12);
}

TEST(Unit, OtherDimensionsDoNotConvert) {
  EXPECT_FALSE(Convert(1, "psi", "degC"));
  EXPECT_FALSE(Convert(1, "psi", "furlong"));
}

TEST(Unit, NumbersCarryUnitsWithOrWithoutSpace) {
  EXPECT_EQ(ParseNumberWithUnit("2.2 kohm")->unit, "kohm");
  EXPECT_DOUBLE_EQ(ParseNumberWithUnit("25psi")->value, 25);
  EXPECT_DOUBLE_EQ(ParseNumberWithUnit("-7.5 °C")->value, -7.5);
  EXPECT_EQ(ParseNumberWithUnit("+3")->unit, "");
  EXPECT_FALSE(ParseNumberWithUnit("kohm"));
  EXPECT_FALSE(ParseNumberWithUnit("nan V"));
  EXPECT_FALSE(ParseNumberWithUnit("1e999 V"));
}

TEST(Unit, SpellingsMeetInOneCanonicalName) {
  EXPECT_EQ(CanonicalUnit("Ω"), "ohm");
  EXPECT_EQ(CanonicalUnit("r/min"), "rpm");
  EXPECT_FALSE(CanonicalUnit("parsec"));
}

// Standard gravity: ISO 80000-3. A turn a minute is 360 degrees in 60 s.
TEST(Unit, AccelerationTurningAndEnergyConvert) {
  EXPECT_DOUBLE_EQ(*Convert(1, "g", "m/s2"), 9.80665);
  EXPECT_DOUBLE_EQ(*Convert(1, "rpm", "deg/s"), 6);
  EXPECT_DOUBLE_EQ(*Convert(1.5, "kWh", "Wh"), 1500);
  EXPECT_DOUBLE_EQ(*Convert(2, "kW", "W"), 2000);
  EXPECT_DOUBLE_EQ(*Convert(3, "km", "m"), 3000);
  EXPECT_FALSE(Convert(1, "N", "Nm"));
  EXPECT_EQ(CanonicalUnit("m/s²"), "m/s2");
  EXPECT_EQ(DisplayUnit("deg/s"), "°/s");
}

TEST(Unit, PeopleReadTheSignAndTypeIt) {
  EXPECT_EQ(WithUnit("90.0", "degC"), "90.0 °C");
  EXPECT_EQ(WithUnit("2.2", "kohm"), "2.2 kΩ");
  EXPECT_EQ(WithUnit("28.0", "deg"), "28.0°");
  EXPECT_EQ(WithUnit("3", "count"), "3");
  EXPECT_EQ(WithUnit("3", ""), "3");
  for (const char* one : {"degC", "kPa", "rpm", "deg", "s", "V", "ohm", "Hz", "Nm", "lambda"}) {
    for (const std::string& unit : UnitsLike(one)) {
      if (unit == "lbf_ft") continue;
      const std::string shown = DisplayUnit(unit);
      EXPECT_EQ(CanonicalUnit(shown), unit) << shown;
    }
  }
}

// IEEE 754-2019, 6.3: the sign of zero is not what -0 == 0 tells, but what 1 / -0 does.
TEST(Unit, ZeroHasNoSign) {
  EXPECT_FALSE(std::signbit(ParseNumberWithUnit("-0")->value));
  EXPECT_FALSE(std::signbit(ParseNumberWithUnit("-0.0e5 rpm")->value));
  EXPECT_FALSE(std::signbit(*Convert(-5e-324, "ms", "s")));  // the least double there is, by 1000
  EXPECT_FALSE(std::signbit(*Convert(-0.0, "s", "s")));
  EXPECT_FALSE(std::signbit(*ConvertDifference(-0.0, "K", "degC")));
  EXPECT_TRUE(std::signbit(ParseNumberWithUnit("-5e-324")->value));  // small, and not zero
}

}  // namespace
}  // namespace drycrank
