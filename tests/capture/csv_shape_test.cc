// SPDX-License-Identifier: Apache-2.0
#include "capture/csv_shape.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <random>
#include <string>

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

// Against the C library's strtod, which rounds as IEEE 754 has it (glibc's manual, "Parsing of Floats").
TEST(CsvShape, NumbersAreReadToTheLastBit) {
  std::mt19937_64 random(1);
  for (int i = 0; i < 20'000; ++i) {
    std::string text = std::to_string(random() % 10'000'000'000'000'000);
    text.resize(1 + random() % text.size());
    if (i % 4 > 0 && text.size() > 2 && text.size() < 16) text[1 + random() % (text.size() - 2)] = '.';
    if (i % 3 == 0) text.insert(0, "-");
    if (i % 7 == 0) text += "e-3";
    const auto number = NumberOf(text, '.');
    ASSERT_TRUE(number) << text;
    EXPECT_EQ(*number, std::strtod(text.c_str(), nullptr)) << text;
  }
  for (const char* text : {"", "-", ".", "1.2.3", "1-2", "1,2"}) EXPECT_FALSE(NumberOf(text, '.')) << text;
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
