// SPDX-License-Identifier: Apache-2.0
#include "check/value_words.h"

#include <gtest/gtest.h>

namespace drycrank::check {
namespace {

TEST(Text, NumbersAreFinerThanAStepOfTheirSignal) {
  profile::Signal signal;
  signal.unit = "rpm";
  EXPECT_EQ(ValueText(signal, 7000), "7000.0 r/min");
  signal.scale = 0.1;
  EXPECT_EQ(ValueText(signal, 273.7), "273.70 r/min");
  signal.scale = 0.03125;  // J1939 temperature
  EXPECT_EQ(ValueText(signal, 89.97), "89.97 r/min");
  signal.scale = 8;
  EXPECT_EQ(ValueText(signal, 16), "16.0 r/min");
}

TEST(Text, CountsHaveNoUnit) { EXPECT_EQ(NumberText(3, 0, "count"), "3"); }
TEST(Text, NothingIsNotNegative) { EXPECT_EQ(NumberText(-0.01, 1, "V"), "0.0 V"); }

TEST(Text, NamedValuesAreFoundByTheirRawValue) {
  profile::Signal signal;
  signal.scale = 0.5;
  signal.offset = -1;
  signal.values = {{4, "warm"}};
  EXPECT_EQ(ValueText(signal, 1), "warm");  // 4 * 0.5 - 1
  EXPECT_EQ(ValueText(signal, 2), "2.0");
}

}  // namespace
}  // namespace drycrank::check
