// SPDX-License-Identifier: Apache-2.0
#include "report/text.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace drycrank::report {
namespace {

TEST(Text, TerminalLineObeysNoControlCharacter) {
  EXPECT_EQ(PlainLine("red\x1b[31m\nnext"), "red\uFFFD[31m next");
}

TEST(Text, WidthCountsColumnsNotBytes) {
  EXPECT_EQ(Width("°C"), 2);
  EXPECT_EQ(Width("e\u0301"), 1);
  EXPECT_EQ(Width("水温"), 4);
}

TEST(Text, WrapsAtSpacesAndInsideLongWords) {
  EXPECT_EQ(Wrap("one two three", 7), (std::vector<std::string>{"one two", "three"}));
  EXPECT_EQ(Wrap("abcdefgh", 3), (std::vector<std::string>{"abc", "def", "gh"}));
  EXPECT_EQ(Wrap("", 5), std::vector<std::string>{""});
}

TEST(Text, UnitsStayWithTheirNumber) {
  EXPECT_EQ(Wrap("was due at 14.200 s", 17), (std::vector<std::string>{"was due at", "14.200 s"}));
  EXPECT_EQ(KeepUnits("90 °C ± 2 °C at ECU.12 pin"), "90\u00A0°C ±\u00A02\u00A0°C at ECU.12 pin");
  EXPECT_EQ(KeepUnits("- ( 1  x "), "- ( 1  x ");
  EXPECT_EQ(KeepUnits(""), "");
}

TEST(Text, NumbersHaveTheDecimalsOfTheirScale) {
  EXPECT_EQ(DecimalsFor(2.0), 1);   // 2.0
  EXPECT_EQ(DecimalsFor(50), 0);    // 50
  EXPECT_EQ(DecimalsFor(0.05), 3);  // 0.050
  EXPECT_EQ(DecimalsFor(1500), 0);
  EXPECT_EQ(Number(90.04, 1), "90.0");
  EXPECT_EQ(Number(-0.04, 1), "0.0");
}

TEST(Text, NoNumberIsNeverPrintedAsSuch) {
  EXPECT_EQ(Number(std::numeric_limits<double>::quiet_NaN(), 1), "—");
  EXPECT_EQ(SignedQuantity(-std::numeric_limits<double>::infinity(), "degC", 1), "—");
}

TEST(Text, QuantitiesAreShownInUnitsForPeople) {
  EXPECT_EQ(Quantity(141, "degC", 1), "141.0 °C");
  EXPECT_EQ(Quantity(12, "deg", 0), "12°");
  EXPECT_EQ(SignedQuantity(2, "rpm", 0), "+2 r/min");
  EXPECT_EQ(Given(2.5, "kPa"), "2.5 kPa");
}

TEST(Text, SmallViolationDoesNotLookLikeNone) {
  EXPECT_EQ(SignedQuantity(-0.004, "degC", 1), "-0.004 °C");
  EXPECT_EQ(SignedQuantity(0, "degC", 1), "0.0 °C");
}

TEST(Text, AKeyHasALabel) {
  EXPECT_EQ(LabelOf("head_head_temperature"), "Head temperature");
  EXPECT_EQ(LabelOf("cam_is_where_it_belongs"), "Cam is where it belongs");
  EXPECT_EQ(LabelOf("OBD__reads_"), "OBD reads");
  EXPECT_EQ(LabelOf(""), "");
}

// However sure the weights are, no more is said than was measured.
TEST(Text, AShareSaysNoMoreThanWasMeasured) {
  EXPECT_EQ(Believed(1), "96 %");
  EXPECT_EQ(Believed(0.97), "96 %");
  EXPECT_EQ(Believed(0.95), "95 %");
  EXPECT_EQ(Believed(0.91), "91 %");
  EXPECT_EQ(Believed(0.354), "35 %");
  EXPECT_EQ(Believed(0.004), "<1 %");
}

}  // namespace
}  // namespace drycrank::report
