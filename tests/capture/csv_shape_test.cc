// SPDX-License-Identifier: Apache-2.0
#include "capture/csv_shape.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace drycrank::capture {
namespace {

using testing::ElementsAre;

TEST(CsvShape, NamesAndUnitsStandAboveTheNumbers) {
  const auto shape = ShapeOf({"made by a scope", "Time;Channel A;Channel B", "(ms);(V);(mV)", "",
                              "0,000;1,25;-3", "0,010;1,30;-2"});
  ASSERT_TRUE(shape);
  EXPECT_EQ(shape->separator, ';');
  EXPECT_EQ(shape->decimal, ',');
  EXPECT_EQ(shape->first_line, 4u);
  EXPECT_THAT(shape->names, ElementsAre("Time", "Channel A", "Channel B"));
  EXPECT_THAT(shape->units, ElementsAre("ms", "V", "mV"));
}

TEST(CsvShape, AUnitBehindANameIsTakenOff) {
  const auto shape = ShapeOf({"\"Time (us)\",\"crank [V]\"", "0,1", "1,2.5"});
  ASSERT_TRUE(shape);
  EXPECT_THAT(shape->names, ElementsAre("Time", "crank"));
  EXPECT_THAT(shape->units, ElementsAre("us", "V"));
}

TEST(CsvShape, ADecimalCommaIsFoundBehindWholeNumbers) {
  const auto shape = ShapeOf({"t\tx", "0\t5", "1\t5", "1,5\t4,9"});
  ASSERT_TRUE(shape);
  EXPECT_EQ(shape->decimal, ',');
}

TEST(CsvShape, WordsAreNoNumbers) {
  EXPECT_FALSE(ShapeOf({"a,b", "c,d"}));
  EXPECT_FALSE(NumberOf("inf", '.'));
  EXPECT_FALSE(NumberOf("1.5x", '.'));
  EXPECT_FALSE(NumberOf("1.5", ','));
  EXPECT_EQ(NumberOf("+1,5e-3", ','), 1.5e-3);
}

}  // namespace
}  // namespace drycrank::capture
