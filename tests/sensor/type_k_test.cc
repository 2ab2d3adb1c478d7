// SPDX-License-Identifier: Apache-2.0
#include "sensor/type_k.h"

#include <gtest/gtest.h>

namespace drycrank::sensor {
namespace {

struct Row {
  double degc;
  double millivolt;
};

// NIST Monograph 175 / ITS-90 table, reference junction 0 degC, printed to 0.001 mV, as in
// tests/reference/temp_type_k.yaml; rows that file marks as read from a published copy.
constexpr Row kTable[] = {{-270, -6.458}, {-200, -5.891}, {-150, -4.913}, {-20, -0.778},
                          {-10, -0.392},  {0, 0.000},     {10, 0.397},    {20, 0.798},
                          {25, 1.000},    {50, 2.023},    {75, 3.059},    {100, 4.096},
                          {125, 5.124},   {150, 6.138},   {200, 8.138},   {350, 14.293},
                          {399, 16.355},  {500, 20.644},  {1000, 41.276}, {1372, 54.886}};

TEST(TypeK, PresentsThePublishedTable) {
  for (const Row& row : kTable) EXPECT_NEAR(TypeKMillivolt(row.degc), row.millivolt, 0.00051);
}

TEST(TypeK, ReadsThePublishedTable) {
  for (const Row& row : kTable) {
    // Half a printed digit over the sensitivity: above 0.015 mV per degC from -200 degC up.
    if (row.degc < -200) continue;
    EXPECT_NEAR(TypeKDegc(row.millivolt), row.degc, 0.0005 / 0.015);
  }
}

// Without the exponential term the upper polynomial gives -0.0176 mV at 0 degC.
TEST(TypeK, IsZeroAtZeroWithTheExponentialTerm) {
  EXPECT_NEAR(TypeKMillivolt(0), 0, 1e-6);
  EXPECT_NEAR(TypeKMillivolt(1e-9), TypeKMillivolt(-1e-9), 1e-6);
}

TEST(TypeK, ThereAndBackOverTheWholeRange) {
  for (double t = -270; t <= 1372; t += 0.83) {
    // At the cold end the sensitivity falls below 1 uV per degC, and rounding counts for more.
    EXPECT_NEAR(TypeKDegc(TypeKMillivolt(t)), t, t < -260 ? 1e-6 : 1e-9) << t;
  }
}

TEST(TypeK, RisesEverywhere) {
  for (double t = -270; t < 1372; t += 0.5) {
    ASSERT_LT(TypeKMillivolt(t), TypeKMillivolt(t + 0.5)) << t;
  }
}

TEST(TypeK, HoldsItsEnds) {
  EXPECT_EQ(TypeKMillivolt(2000), TypeKMillivolt(1372));
  EXPECT_NEAR(TypeKDegc(100), 1372, 1e-9);
  EXPECT_NEAR(TypeKDegc(-100), -270, 1e-9);
}

}  // namespace
}  // namespace drycrank::sensor
