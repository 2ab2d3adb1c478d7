// SPDX-License-Identifier: Apache-2.0
#include "harness/branch.h"

#include <gtest/gtest.h>

#include "harness/network.h"

namespace drycrank::harness {
namespace {

Branch Transistor() {
  Branch branch;
  branch.kind = BranchKind::kTransistor;
  branch.ohm = 25;
  branch.off_ohm = 5e6;
  branch.min_supply_v = 3.8;
  branch.diode_v = 0.7;
  return branch;
}

TEST(Branch, TransistorConductsOnlyWhenOnAndSupplied) {
  EXPECT_EQ(LawOf(Transistor(), 1, {}), (Law{25, 0, 0}));
  EXPECT_EQ(LawOf(Transistor(), 0, {}), (Law{5e6, 0, 0}));
  EXPECT_EQ(LawOf(Transistor(), 1, {.supplied = false}), (Law{5e6, 0, 0}));
}

// Diode law: above 0.7 V, 1 ohm. At -0.9 V the diode takes 0.2 A and 25 ohm take 36 mA.
TEST(Branch, ReverseDiodeIsBesideTheTransistor) {
  const Law law = LawOf(Transistor(), 1, {.diode = true});
  EXPECT_NEAR((-0.9 - law.emf) / law.ohm, -0.236, 1e-12);
}

TEST(Branch, DiodeConductsAboveItsVoltageInReverse) {
  EXPECT_FALSE(StateAt(Transistor(), {}, -0.69, 12).diode);
  EXPECT_TRUE(StateAt(Transistor(), {}, -0.71, 12).diode);
  EXPECT_FALSE(StateAt(Transistor(), {}, 12, 12).diode);
}

TEST(Branch, LittleOrReverseSupplyIsNone) {
  EXPECT_TRUE(StateAt(Transistor(), {}, 1, 3.81).supplied);
  EXPECT_FALSE(StateAt(Transistor(), {}, 1, 3.79).supplied);
  EXPECT_FALSE(StateAt(Transistor(), {}, 1, -12).supplied);
}

TEST(Branch, OutputsWithoutSupplyFloatAtOneMegohm) {
  Branch branch;
  branch.ohm = 50;
  branch.kind = BranchKind::kFraction;
  EXPECT_EQ(LawOf(branch, 0.4, {}), (Law{50, 0.4, 0}));
  EXPECT_EQ(LawOf(branch, 0.4, {.supplied = false}), (Law{1e6, 0, 0}));
  branch.kind = BranchKind::kVoltage;
  EXPECT_EQ(LawOf(branch, 2.5, {}), (Law{50, 0, 2.5}));
  EXPECT_EQ(LawOf(branch, 2.5, {.supplied = false}), (Law{1e6, 0, 0}));
}

TEST(Branch, ResistanceIsNeverZero) {
  Branch branch;
  branch.kind = BranchKind::kResistor;
  EXPECT_EQ(LawOf(branch, 0, {}).ohm, kLeastOhm);
  EXPECT_EQ(LawOf(branch, 2200, {}).ohm, 2200);
}

}  // namespace
}  // namespace drycrank::harness
