// SPDX-License-Identifier: Apache-2.0
#include "tools/bench_line.h"

#include <gtest/gtest.h>

namespace drycrank::tools {
namespace {

TEST(BenchLine, AValueIsReplacedInItsPlaceAndTheRestStays) {
  EXPECT_EQ(WithValues("      crank: {output: 1, full_scale_v: 5.3 V, corner_hz: 2}  # the left one\r\n", 7, {{"full_scale_v", "5.091"}}),
            "      crank: {output: 1, full_scale_v: 5.091, corner_hz: 2}  # the left one\r\n");
}

TEST(BenchLine, AKeyIsNotTakenForAPartOfAnother) {
  EXPECT_EQ(WithValues("a: {low_at_v: 1, at_v: 2}", 1, {{"at_v", "3"}}), "a: {low_at_v: 1, at_v: 3}");
}

TEST(BenchLine, WhatIsNotThereComesLast) {
  EXPECT_EQ(WithValues("  a: {device: dac0}\n", 3, {{"at_lowest_v", "0.1"}, {"highest_count", "4095"}}),
            "  a: {device: dac0, at_lowest_v: 0.1, highest_count: 4095}\n");
  EXPECT_EQ(WithValues("a: {}", 1, {{"x", "1"}}), "a: {x: 1}");
}

TEST(BenchLine, OfTwoOnALineTheOneThatIsMeant) {
  EXPECT_EQ(WithValues("channels: {a: {x: 1}, b: {x: 2}}", 23, {{"x", "9"}}), "channels: {a: {x: 1}, b: {x: 9}}");
}

TEST(BenchLine, WhatNeedsMoreThanALookIsLeft) {
  for (const char* line : {"a:", "a: {x: 1,", "a: {x: {y: 1}}", "a: {x: \"}\"}", "a: &b {x: 1}", "a: *b", ""}) {
    EXPECT_EQ(WithValues(line, 1, {{"x", "9"}}), std::nullopt) << line;
  }
}

}  // namespace
}  // namespace drycrank::tools
