// SPDX-License-Identifier: Apache-2.0
#include "sensor/ntc.h"

#include <gtest/gtest.h>

#include <cmath>
#include <iterator>

#include "profile/sensors.h"
#include "types/random.h"

namespace drycrank::sensor {
namespace {

struct Row {
  double degc;
  double ohm;
};

// tests/reference/temp_ntc.yaml, ntc_10k_curve: rows and coefficients as printed in a data logger's
// temperature probe manual and a thermistor module's data sheet.
constexpr profile::SteinhartHartNtc k10kCurve{1.129148e-3, 2.34125e-4, 8.76741e-8};
constexpr Row k10kRows[] = {{-40, 336103.2}, {-35, 242430.2}, {-30, 176804.8}, {-25, 130307.6},
                            {-20, 97006.9},  {-15, 72911.1},  {-10, 55303.9},  {-5, 42316.7},
                            {0, 32650.9},    {1, 31030.8},    {25, 10000}};

TEST(SteinhartHart, ReadsThePublishedRows) {
  for (const Row& row : k10kRows) EXPECT_NEAR(NtcDegc(k10kCurve, row.ohm), row.degc, 0.001);
}

TEST(SteinhartHart, PresentsThePublishedResistances) {
  // 0.001 degC of a curve that falls by at most 6.7 % per degC.
  for (const Row& row : k10kRows) EXPECT_NEAR(NtcOhm(k10kCurve, row.degc) / row.ohm, 1, 7e-5);
}

// Same file, three_point_solution: the equation solved for 25, 10 and 4 kohm at 5, 25 and 45 degC.
TEST(SteinhartHart, PassesThroughTheThreePointsItWasSolvedFor) {
  const profile::SteinhartHartNtc curve{2.108508173e-3, 0.7979204727e-4, 6.535076315e-7};
  for (const Row& row : {Row{5, 25000}, Row{25, 10000}, Row{45, 4000}}) {
    EXPECT_NEAR(NtcOhm(curve, row.degc) / row.ohm, 1, 1e-6);
    EXPECT_NEAR(NtcDegc(curve, row.ohm), row.degc, 1e-5);
  }
}

// Same file: constants of a bench multimeter's manual, rounded by their publisher; hence 0.05 degC.
TEST(SteinhartHart, RoundedConstantsOfAMeterManualComeWithinTheirRounding) {
  EXPECT_NEAR(NtcDegc(profile::SteinhartHartNtc{0.001288, 0.0002356, 9.557e-8}, 5000), 25, 0.05);
  EXPECT_NEAR(NtcDegc(profile::SteinhartHartNtc{0.0014733, 0.0002372, 1.074e-7}, 2252), 25, 0.05);
  EXPECT_NEAR(NtcDegc(profile::SteinhartHartNtc{0.0010295, 0.0002391, 1.568e-7}, 10000), 25, 0.05);
}

// Same file, fit_exercise: rows of a thermo-electric controller's manual, except one it prints with
// a slip of a digit (5331 for 5231 ohm at 40 degC), which a right curve must not meet.
TEST(SteinhartHart, MeetsTheGoodRowsOfAPrintedTableAndNotTheBadOne) {
  const profile::SteinhartHartNtc curve{1.1041591e-3, 2.3891795e-4, 6.931627e-8};
  for (const Row& row : {Row{0, 32128}, Row{10, 19549}, Row{20, 12262}, Row{25, 9814},
                         Row{30, 7908}, Row{50, 3542}}) {
    EXPECT_NEAR(NtcDegc(curve, row.ohm), row.degc, 0.004);
  }
  EXPECT_GT(std::abs(NtcDegc(curve, 5331) - 40), 0.3);
}

TEST(SteinhartHart, ThereAndBackOverTheWholeRange) {
  for (double t = -60; t <= 200; t += 0.37) {
    EXPECT_NEAR(NtcDegc(k10kCurve, NtcOhm(k10kCurve, t)), t, 1e-9);
  }
}

TEST(SteinhartHart, WithoutTheCubicTermIsABetaCurve) {
  // 1/T = 1/298.15 + ln(R/R25)/B, so A = 1/298.15 - ln(10000)/3977 and B = 1/3977.
  const profile::SteinhartHartNtc curve{1 / 298.15 - std::log(10000.0) / 3977, 1 / 3977.0, 0};
  EXPECT_NEAR(NtcOhm(curve, 85), 1070.31, 0.005);  // beta_rows, B_3977
}

// tests/reference/temp_ntc.yaml, beta_rows: R = 10000 exp(B (1/T - 1/298.15)), IEC 60539-1.
TEST(Beta, MeetsTheReferenceRows) {
  constexpr Row k3435[] = {
      {-40, 248276.52}, {0, 28704.29}, {25, 10000}, {85, 1451.35}, {125, 553.74}};
  constexpr Row k3977[] = {
      {-40, 412134.57}, {0, 33900.42}, {25, 10000}, {85, 1070.31}, {125, 350.76}};
  for (const Row& row : k3435)
    EXPECT_NEAR(NtcOhm(profile::BetaNtc{10000, 3435}, row.degc), row.ohm, 0.006);
  for (const Row& row : k3977)
    EXPECT_NEAR(NtcOhm(profile::BetaNtc{10000, 3977}, row.degc), row.ohm, 0.006);
}

// Same file, B25/45 from 10 and 4 kohm: 4345.803.
TEST(Beta, OfTwoPointsPassesThroughBoth) {
  const profile::BetaNtc curve{10000, 4345.803};
  EXPECT_NEAR(NtcOhm(curve, 45), 4000, 0.001);
  EXPECT_NEAR(NtcDegc(curve, 4000), 45, 1e-5);
}

TEST(Beta, ThereAndBackOverTheWholeRange) {
  const profile::BetaNtc curve{2200, 3435};
  for (double t = -60; t <= 200; t += 0.37) EXPECT_NEAR(NtcDegc(curve, NtcOhm(curve, t)), t, 1e-10);
}

TEST(Ntc, ADeadShortIsHotterThanAnyCurve) {
  EXPECT_GT(NtcDegc(k10kCurve, 0), 1e6);
  EXPECT_GT(NtcDegc(profile::BetaNtc{10000, 3977}, 0), 1e6);
}

profile::TableNtc Every10Degrees() {
  profile::TableNtc table;
  for (const Row& row : k10kRows) {
    if (std::fmod(row.degc, 10) == 0) table.ohm_at_degc.emplace_back(row.degc, row.ohm);
  }
  return table;
}

TEST(NtcTable, GoesThroughItsPoints) {
  const profile::TableNtc table = Every10Degrees();
  for (const auto& [degc, ohm] : table.ohm_at_degc) {
    EXPECT_NEAR(NtcOhm(table, degc), ohm, 1e-12 * ohm);
    EXPECT_NEAR(NtcDegc(table, ohm), degc, 1e-9);
  }
}

// Given every second printed row (-40, -30, ... 0), the curve must find the rows between them
// again. 0.005 degC: straight lines in ln R would miss -35 degC by 0.08 degC (the geometric mean of
// its neighbours is 243770 ohm, 0.55 % high, at 6.5 % per degC), straight lines in ohm by 0.9 degC.
TEST(NtcTable, FindsTheRowsLeftOut) {
  const profile::TableNtc table = Every10Degrees();
  for (const Row& row : {k10kRows[1], k10kRows[3], k10kRows[5], k10kRows[7]}) {
    EXPECT_NEAR(NtcDegc(table, row.ohm), row.degc, 0.005);
  }
}

TEST(NtcTable, HoldsItsEnds) {
  const profile::TableNtc table = Every10Degrees();
  EXPECT_NEAR(NtcOhm(table, -100), 336103.2, 1e-6);
  EXPECT_NEAR(NtcOhm(table, 100), 32650.9, 1e-6);
  EXPECT_EQ(NtcDegc(table, 1e9), -40);
  EXPECT_EQ(NtcDegc(table, 0), 0);
}

TEST(NtcTable, OfTwoPointsIsStraightInLnR) {
  const profile::TableNtc table{{{0, 10000}, {100, 100}}};
  EXPECT_NEAR(NtcOhm(table, 50), 1000, 1e-9);  // the geometric mean
  EXPECT_NEAR(NtcDegc(table, 1000), 50, 1e-9);
}

// Worked by hand. ln R = 10, 9, 0 at 0, 10, 20 degC: secants -0.1 and -0.9.
//   middle slope, parabola through three points: (-0.1 - 0.9)/2 = -0.5, limited to 3 (-0.1) = -0.3
//   first slope: (3 (-0.1) - (-0.9))/2 = +0.3, would rise: limited to 0
//   last slope: (3 (-0.9) - (-0.1))/2 = -1.3, within 3 (-0.9)
// Half-way a cubic Hermite piece is the mean of its ends + width/8 (first slope - second slope):
//   at 5:  9.5 + 10/8 (0 + 0.3)    = 9.875
//   at 15: 4.5 + 10/8 (-0.3 + 1.3) = 5.75
TEST(NtcTable, LimitsItsSlopesAsWorkedByHand) {
  const profile::TableNtc table{{{0, std::exp(10.0)}, {10, std::exp(9.0)}, {20, 1}}};
  EXPECT_NEAR(std::log(NtcOhm(table, 5)), 9.875, 1e-12);
  EXPECT_NEAR(std::log(NtcOhm(table, 15)), 5.75, 1e-12);
}

// Property: whatever the falling table, the curve falls, and its inverse is its inverse.
TEST(NtcTable, FallsBetweenTheRoughestPoints) {
  Random random(20241, 0);
  for (int round = 0; round < 200; ++round) {
    profile::TableNtc table;
    double degc = -40;
    double ohm = 1e6;
    for (int i = 0; i < 12; ++i) {
      table.ohm_at_degc.emplace_back(degc, ohm);
      degc += 0.5 + 30 * random.Uniform();
      ohm *= std::exp(-1e-4 - 3 * std::pow(random.Uniform(), 6));  // flat stretches and cliffs
    }
    double previous = 2e6;
    for (double t = -40; t <= degc; t += 0.21) {
      const double now = NtcOhm(table, t);
      ASSERT_LE(now, previous * (1 + 1e-14)) << "round " << round << " at " << t;
      ASSERT_NEAR(NtcOhm(table, NtcDegc(table, now)) / now, 1, 1e-11);
      previous = now;
    }
  }
}

}  // namespace
}  // namespace drycrank::sensor
