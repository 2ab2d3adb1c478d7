// SPDX-License-Identifier: Apache-2.0
//
// Scale, offset, sign, saturation and floats. Expected values worked by hand.
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "bus/layout.h"
#include "tests/bus/build_signal.h"

namespace drycrank::bus {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

profile::Signal Signed(profile::Signal signal) {
  signal.is_signed = true;
  return signal;
}

profile::Signal Float(profile::Signal signal) {
  signal.is_float = true;
  return signal;
}

TEST(LayoutValue, ScalesAndShifts) {
  const profile::Signal temperature = Scaled(Little(0, 8), 1, -40);
  EXPECT_EQ(PhysicalValue(temperature, Bytes("82")), 90);  // 130 - 40
  EXPECT_EQ(BitsFor(temperature, 90), 0x82u);
  const profile::Signal lambda = Scaled(Little(0, 16), 0.001, 0);
  EXPECT_DOUBLE_EQ(PhysicalValue(lambda, Bytes("5203")), 0.85);  // 0x0352 = 850
  EXPECT_EQ(BitsFor(lambda, 0.85), 850u);
}

TEST(LayoutValue, RoundsToTheNearest) {
  const profile::Signal signal = Scaled(Little(0, 8), 0.5, 0);
  EXPECT_EQ(BitsFor(signal, 10.24), 20u);                                   // 20.48
  EXPECT_EQ(BitsFor(signal, 10.26), 21u);                                   // 20.52
  EXPECT_EQ(BitsFor(Scaled(Signed(Little(0, 8)), 0.5, 0), -10.26), 0xEBu);  // -20.52 -> -21 = 0xEB
}

TEST(LayoutValue, SignIsExtended) {
  EXPECT_EQ(RawValue(Signed(Little(0, 12)), Bytes("FF0F")), -1);
  EXPECT_EQ(RawValue(Signed(Little(0, 12)), Bytes("0008")), -2048);
  EXPECT_EQ(RawValue(Signed(Big(7, 16)), Bytes("FFFE")), -2);
  EXPECT_EQ(RawValue(Little(0, 12), Bytes("FF0F")), 4095);
  EXPECT_EQ(RawValue(Signed(Little(0, 64)), Bytes("FFFFFFFFFFFFFFFF")), -1);
  EXPECT_EQ(PhysicalValue(Scaled(Signed(Little(0, 8)), 0.5, 10), Bytes("FE")), 9);  // -2*0.5+10
}

TEST(LayoutValue, SaturatesAtTheRawRange) {
  EXPECT_EQ(BitsFor(Little(0, 8), 300), 0xFFu);
  EXPECT_EQ(BitsFor(Little(0, 8), -1), 0u);
  EXPECT_EQ(BitsFor(Signed(Little(0, 8)), 300), 0x7Fu);
  EXPECT_EQ(BitsFor(Signed(Little(0, 8)), -300), 0x80u);
  EXPECT_EQ(BitsFor(Signed(Little(0, 1)), -5), 1u);  // one signed bit is 0 or -1
  EXPECT_EQ(BitsFor(Signed(Little(0, 1)), 5), 0u);
}

TEST(LayoutValue, SaturatesAt64Bits) {
  EXPECT_EQ(BitsFor(Little(0, 64), 1e30), 0xFFFFFFFFFFFFFFFFu);
  EXPECT_EQ(BitsFor(Little(0, 64), 0x1p63), 0x8000000000000000u);
  EXPECT_EQ(BitsFor(Signed(Little(0, 64)), 1e30), 0x7FFFFFFFFFFFFFFFu);
  EXPECT_EQ(BitsFor(Signed(Little(0, 64)), -1e30), 0x8000000000000000u);
  EXPECT_EQ(PhysicalValue(Little(0, 64), Bytes("0000000000000080")), 0x1p63);
}

TEST(LayoutValue, SaturatesAtTheStatedRange) {
  profile::Signal signal = Scaled(Little(0, 8), 0.4, 0);
  signal.max = 100;
  EXPECT_EQ(BitsFor(signal, 101), 250u);  // 100 / 0.4
  signal.min = 10;
  EXPECT_EQ(BitsFor(signal, -3), 25u);  // 10 / 0.4
}

TEST(LayoutValue, NegativeScaleSaturatesAtTheRightEnd) {
  const profile::Signal signal = Scaled(Little(0, 8), -1, 100);
  EXPECT_EQ(BitsFor(signal, 1000), 0u);
  EXPECT_EQ(BitsFor(signal, -1000), 255u);
}

TEST(LayoutValue, NotANumberAndInfinityHaveDefinedBits) {
  EXPECT_EQ(BitsFor(Signed(Little(0, 16)), std::nan("")), 0u);
  EXPECT_EQ(BitsFor(Little(0, 16), kInfinity), 0xFFFFu);
  EXPECT_EQ(BitsFor(Little(0, 16), -kInfinity), 0u);
}

// IEEE 754: 1.0 is 0x3F800000 and 0x3FF0000000000000; -2.5 = -1.25 * 2^1 is 0xC0200000.
TEST(LayoutValue, FloatsAreIeee754) {
  EXPECT_EQ(BitsFor(Float(Little(0, 32)), 1), 0x3F800000u);
  EXPECT_EQ(BitsFor(Float(Little(0, 64)), 1), 0x3FF0000000000000u);
  EXPECT_EQ(PhysicalValue(Float(Little(0, 32)), Bytes("000020C0")), -2.5);
  EXPECT_EQ(PhysicalValue(Float(Big(7, 32)), Bytes("C0200000")), -2.5);
  EXPECT_EQ(PhysicalValue(Float(Big(7, 64)), Bytes("3FF0000000000000")), 1);
  EXPECT_EQ(BitsFor(Scaled(Float(Little(0, 32)), 2, 1), 3), 0x3F800000u);  // (3 - 1) / 2
}

TEST(LayoutValue, FloatOverflowHoldsTheLargest) {
  EXPECT_EQ(BitsFor(Float(Little(0, 32)), 1e300), 0x7F7FFFFFu);  // largest finite single
  EXPECT_EQ(BitsFor(Float(Little(0, 32)), -1e300), 0xFF7FFFFFu);
}

}  // namespace
}  // namespace drycrank::bus
