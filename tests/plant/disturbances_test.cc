// SPDX-License-Identifier: Apache-2.0
//
// Disturbances by chance. Of a Poisson process with rate r over t seconds: mean r t, deviation
// sqrt(r t) (any handbook of statistics).
#include "plant/disturbances.h"

#include <gtest/gtest.h>

#include <cmath>

namespace drycrank::plant {
namespace {

constexpr NoiseLaw kOften{.rate_hz = 200, .width_ns = 50'000, .volts = 3};

// Begins within so many seconds, from t_ns on.
int Begins(Disturbances& noise, TimeNs until_ns) {
  int count = 0;
  while (noise.next_ns() <= until_ns) {
    noise.Take();
    count += noise.on() ? 1 : 0;
  }
  return count;
}

TEST(Disturbances, NoneIsNone) {
  Disturbances noise(1, 0);
  EXPECT_EQ(noise.next_ns(), kNever);
  EXPECT_FALSE(noise.on());
  EXPECT_EQ(noise.volts(), 0);
}

// 200 a second for 50 s: 10,000, deviation 100.
TEST(Disturbances, ComesAsOftenAsTold) {
  Disturbances noise(1, 0);
  noise.Set(0, kOften);
  EXPECT_NEAR(Begins(noise, 50 * kNsPerS), 10'000, 500);
}

TEST(Disturbances, EachLastsAsLongAsToldAndIsOfEitherSign) {
  Disturbances noise(2, 0);
  noise.Set(7, kOften);
  int plus = 0;
  for (int i = 0; i < 1000; ++i) {
    noise.Take();
    const TimeNs begin_ns = noise.next_ns() - kOften.width_ns;
    EXPECT_GE(begin_ns, 7);
    EXPECT_EQ(std::abs(noise.volts()), 3);
    plus += noise.volts() > 0 ? 1 : 0;
    noise.Take();
    EXPECT_EQ(noise.volts(), 0);
    EXPECT_GT(noise.next_ns(), begin_ns + kOften.width_ns);
  }
  EXPECT_NEAR(plus, 500, 80);  // five deviations of 16
}

TEST(Disturbances, IsTheSameForASeedAndAnotherForAnother) {
  Disturbances a(5, 0), again(5, 0), other(6, 0), beside(5, 1);
  for (Disturbances* noise : {&a, &again, &other, &beside}) noise->Set(0, kOften);
  EXPECT_EQ(a.next_ns(), again.next_ns());
  EXPECT_NE(a.next_ns(), other.next_ns());
  EXPECT_NE(a.next_ns(), beside.next_ns());
}

TEST(Disturbances, TheSameLawAgainDoesNotBeginAnew) {
  Disturbances noise(5, 0);
  noise.Set(0, kOften);
  const TimeNs next_ns = noise.next_ns();
  EXPECT_FALSE(noise.Set(1, kOften));
  EXPECT_EQ(noise.next_ns(), next_ns);
}

TEST(Disturbances, OneThatLastsEndsWhenItIsSwitchedOff) {
  Disturbances noise(5, 0);
  noise.Set(0, kOften);
  noise.Take();
  EXPECT_TRUE(noise.Set(noise.next_ns() - 1, {}));
  EXPECT_FALSE(noise.on());
  EXPECT_EQ(noise.next_ns(), kNever);
}

}  // namespace
}  // namespace drycrank::plant
