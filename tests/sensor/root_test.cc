// SPDX-License-Identifier: Apache-2.0
#include "sensor/root.h"

#include <gtest/gtest.h>

namespace drycrank::sensor {
namespace {

ValueAndSlope Cube(double x) { return {x * x * x, 3 * x * x}; }

TEST(SolveRising, FindsTheCubeRootFromAPoorStart) {
  EXPECT_NEAR(SolveRising(Cube, 27, -10, 10, 0.0), 3, 1e-12);  // slope 0 at the start
  EXPECT_NEAR(SolveRising(Cube, -8, -10, 10, 9), -2, 1e-12);
}

TEST(SolveRising, GivesTheNearerEndOutside) {
  EXPECT_NEAR(SolveRising(Cube, 5000, -10, 10, 0.5), 10, 1e-11);
  EXPECT_NEAR(SolveRising(Cube, -5000, -10, 10, 0.5), -10, 1e-11);
}

}  // namespace
}  // namespace drycrank::sensor
