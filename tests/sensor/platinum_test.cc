// SPDX-License-Identifier: Apache-2.0
#include "sensor/platinum.h"

#include <gtest/gtest.h>

#include <cmath>

namespace drycrank::sensor {
namespace {

struct Row {
  double degc;
  double ohm;
};

// IEC 60751:2008, table of the Pt100, as in tests/reference/temp_pt100.yaml; printed to 0.01 ohm.
constexpr Row kTable[] = {{-200, 18.52}, {-150, 39.72}, {-100, 60.26}, {-80, 68.33},  {-50, 80.31},
                          {-40, 84.27},  {-20, 92.16},  {-10, 96.09},  {0, 100.00},   {10, 103.90},
                          {20, 107.79},  {25, 109.73},  {30, 111.67},  {50, 119.40},  {80, 130.90},
                          {100, 138.51}, {120, 146.07}, {150, 157.33}, {200, 175.86}, {250, 194.10},
                          {300, 212.05}, {400, 247.09}, {500, 280.98}, {600, 313.71}, {700, 345.28},
                          {800, 375.70}, {850, 390.48}};

TEST(Platinum, PresentsThePublishedTable) {
  for (const Row& row : kTable) EXPECT_NEAR(PlatinumOhm(100, row.degc), row.ohm, 0.005);
}

TEST(Platinum, ReadsThePublishedTable) {
  // 0.005 ohm over the smallest slope of the curve, 0.293 ohm per degC at 850 degC.
  for (const Row& row : kTable) EXPECT_NEAR(PlatinumDegc(100, row.ohm), row.degc, 0.005 / 0.293);
}

TEST(Platinum, APt1000IsTenTimesThat) {
  for (const Row& row : kTable) EXPECT_NEAR(PlatinumOhm(1000, row.degc), 10 * row.ohm, 0.05);
}

// Values of the superseded IPTS-68 tables, still found online (tests/reference/temp_pt100.yaml).
TEST(Platinum, DoesNotMatchTheSupersededTable) {
  for (const Row& old :
       {Row{100, 138.50}, Row{200, 175.84}, Row{400, 247.06}, Row{600, 313.65}, Row{700, 345.21}}) {
    EXPECT_GT(std::abs(PlatinumOhm(100, old.degc) - old.ohm), 0.005);
  }
}

// IEC 60751: alpha = (R100 - R0) / (100 R0) = 3.851e-3; exactly A + 100 B = 3.85055e-3.
TEST(Platinum, HasTheStandardsAlpha) {
  EXPECT_NEAR((PlatinumOhm(100, 100) - 100) / (100 * 100), 3.85055e-3, 1e-12);
}

TEST(Platinum, ThereAndBackOverTheWholeRange) {
  for (double t = -200; t <= 850; t += 0.73) {
    EXPECT_NEAR(PlatinumDegc(1000, PlatinumOhm(1000, t)), t, 1e-9);
  }
}

TEST(Platinum, HoldsItsEnds) {
  EXPECT_EQ(PlatinumOhm(100, -300), PlatinumOhm(100, -200));
  EXPECT_EQ(PlatinumOhm(100, 1000), PlatinumOhm(100, 850));
  EXPECT_NEAR(PlatinumDegc(100, 0), -200, 1e-9);
  EXPECT_NEAR(PlatinumDegc(100, 10e6), 850, 1e-9);  // an open circuit
}

}  // namespace
}  // namespace drycrank::sensor
