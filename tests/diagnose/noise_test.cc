// SPDX-License-Identifier: Apache-2.0
#include "diagnose/noise.h"

#include <gtest/gtest.h>

#include <cmath>
#include <utility>
#include <vector>

#include "diagnose/solve.h"

namespace drycrank::diagnose {
namespace {

// Two numbers 1 and 0 off, each with an error of its own of 1 and a common one of 1. By hand:
// S = [2 1; 1 2], det S = 3, S^-1 = [2 -1; -1 2] / 3, r'S^-1 r = 2/3, and so
// log L = -1/2 (2/3 + ln 3 + 2 ln 2 pi) = -1/2 (0.666667 + 1.098612 + 3.675754) = -2.720517.
constexpr double kByHand = -2.720517;

TEST(Noise, WhatABlockHasInCommonIsOneDraw) {
  BlockSums sums(std::vector{1.0});
  sums.Add(0, 1, 1);
  sums.Add(0, 0, 1);
  EXPECT_NEAR(LogLikelihood(sums, Sensitivities(Eigen::MatrixXd(1, 0))), kByHand, 1e-6);
}

TEST(Noise, ClearedItKeepsNothing) {
  BlockSums sums(std::vector{1.0, 0.0});
  sums.Raise(0, 7);
  sums.Add(0, 5, 3);
  sums.Add(1, 2, 1);
  sums.Clear();
  sums.Add(0, 1, 1);
  sums.Add(0, 0, 1);
  EXPECT_NEAR(LogLikelihood(sums, Sensitivities(Eigen::MatrixXd(2, 0))), kByHand, 1e-6);
}

TEST(Noise, WhatBlocksShareIsTheSameOneDraw) {
  BlockSums sums(std::vector{0.0, 0.0});
  sums.Add(0, 1, 1);
  sums.Add(1, 0, 1);
  Eigen::VectorXd shared;
  EXPECT_NEAR(LogLikelihood(sums, Sensitivities(Eigen::MatrixXd::Ones(2, 1)), &shared), kByHand,
              1e-6);
  // The likeliest n: (A'A + 1) n = A'r, 3 n = 1.
  EXPECT_NEAR(shared[0], 1.0 / 3, 1e-9);
}

// Columns that move nothing cost nothing, wherever the one that does stands: by hand as above.
TEST(Noise, AColumnThatIsKeptWeighsAsOneThatIsHeldWhole) {
  BlockSums sums(std::vector{0.0, 0.0});
  sums.Add(0, 1, 1);
  sums.Add(1, 0, 1);
  for (const Eigen::Index column : {0, 1, 2, 3}) {
    Eigen::MatrixXd a = Eigen::MatrixXd::Zero(2, 4);
    a.col(column).setOnes();
    Eigen::VectorXd shared;
    EXPECT_NEAR(LogLikelihood(sums, Sensitivities(a), &shared), kByHand, 1e-6);
    EXPECT_NEAR(shared[column], 1.0 / 3, 1e-9);
  }
}

// A row of four: det(1 + a'a) = 1 + 4 and a n' of 1 / 5 each, for a number 1 off with an error of 1:
// log L = -1/2 (1 - 4/5 + ln 5 + ln 2 pi) = -1/2 (0.2 + 1.609438 + 1.837877) = -1.823658.
TEST(Noise, ColumnsThatShareABlockAreWeighedTogether) {
  BlockSums sums(std::vector{0.0});
  sums.Add(0, 1, 1);
  Eigen::VectorXd shared;
  const Sensitivities a(Eigen::MatrixXd::Ones(1, 4));
  EXPECT_NEAR(LogLikelihood(sums, a, &shared), -1.823658, 1e-6);
  for (const double n : shared) EXPECT_NEAR(n, 0.2, 1e-9);
  EXPECT_NEAR(a.Times(shared)[0], 0.8, 1e-9);
}

// The twin: apart, they cost 1/2 (1 + 2 ln 2 pi) = 2.337877.
TEST(Noise, ApartTheyCostLessAndMeanMore) {
  BlockSums sums(std::vector{0.0, 0.0});
  sums.Add(0, 1, 1);
  sums.Add(1, 0, 1);
  EXPECT_NEAR(LogLikelihood(sums, Sensitivities(Eigen::MatrixXd::Zero(2, 1))), -2.337877, 1e-6);
}

TEST(LogArea, OfASizeThatDoesNotMatterIsNothingPaid) {
  EXPECT_NEAR(LogArea({{0, -3}, {1, -3}}, 0, 1), 0, 1e-9);
}

// exp(-200 |x - 1/2|) over [0, 1] has the area 2 / 200: ln 0.01 = -4.605170.
TEST(LogArea, OfASizeThatMustBeExactIsPaidFor) {
  EXPECT_NEAR(LogArea({{0, -100}, {0.5, 0}, {1, -100}}, 0, 1), -4.605170, 1e-6);
}

}  // namespace
}  // namespace drycrank::diagnose
