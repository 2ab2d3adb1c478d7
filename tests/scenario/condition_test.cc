// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include "scenario/timeline.h"

namespace drycrank::scenario {
namespace {

using profile::Compare;

profile::Condition Condition(Compare compare, double value) {
  profile::Condition condition;
  condition.compare = compare;
  condition.value = value;
  return condition;
}

TEST(Condition, AboveAndBelowAreStrict) {
  EXPECT_TRUE(Holds(Condition(Compare::kAbove, 10), 10.5));
  EXPECT_FALSE(Holds(Condition(Compare::kAbove, 10), 10));
  EXPECT_TRUE(Holds(Condition(Compare::kBelow, 10), 9.5));
  EXPECT_FALSE(Holds(Condition(Compare::kBelow, 10), 10));
}

TEST(Condition, EqualForgivesRoundingOnly) {
  EXPECT_TRUE(Holds(Condition(Compare::kEqual, 0.3), 3 * 0.1));
  EXPECT_FALSE(Holds(Condition(Compare::kEqual, 0.3), 0.301));
  EXPECT_FALSE(Holds(Condition(Compare::kNotEqual, 0.3), 3 * 0.1));
}

TEST(Condition, MarginIsTheDistanceToTheOpposite) {
  EXPECT_DOUBLE_EQ(Margin(Condition(Compare::kAbove, 10), 12.5), 2.5);
  EXPECT_DOUBLE_EQ(Margin(Condition(Compare::kAbove, 10), 9), -1);
  EXPECT_DOUBLE_EQ(Margin(Condition(Compare::kBelow, 10), 12.5), -2.5);
  EXPECT_DOUBLE_EQ(Margin(Condition(Compare::kEqual, 3), 3), 0);
  EXPECT_DOUBLE_EQ(Margin(Condition(Compare::kEqual, 3), 1), -2);
  EXPECT_DOUBLE_EQ(Margin(Condition(Compare::kNotEqual, 3), 1), 2);
}

}  // namespace
}  // namespace drycrank::scenario
