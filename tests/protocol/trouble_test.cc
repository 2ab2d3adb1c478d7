// SPDX-License-Identifier: Apache-2.0
#include "protocol/trouble.h"

#include <gtest/gtest.h>

#include "tests/bus/build_signal.h"

namespace drycrank::protocol {
namespace {

using bus::Bytes;
using Text = std::vector<std::uint8_t>;

Text Packed(const Lamps& lamps, const std::vector<SpnTrouble>& troubles) {
  Text out(64);
  out.resize(PackTroubles(lamps, troubles, out));
  return out;
}

// By SAE J1939-73, worked: SPN 110 = 6E 00, FMI 4, once: 6E 00 04 01. Amber lamp: 01 << 2 = 04.
TEST(Trouble, OneCodeFitsAFrame) {
  EXPECT_EQ(Packed({0, 0, 1, 0}, {{110, 4, 1}}), Bytes("04FF6E000401FFFF"));
}

// SPN 520192 = 7F000: 00, F0, top three bits 111 -> E0; FMI 31 = 1F: FF. Count 126 = 7E.
TEST(Trouble, LargeSpnIsSplitOverThreeBytes) {
  EXPECT_EQ(Packed({}, {{0x7F000, 31, 126}}), Bytes("00FF00F0FF7EFFFF"));
}

// J1939-73, when no code is active: 00 00 00 00 in place of one.
TEST(Trouble, NoneIsAllZeros) {
  EXPECT_EQ(Packed({}, {}), Bytes("00FF00000000FFFF"));
  const auto view = ReadTroubles(Bytes("00FF00000000FFFF"));
  ASSERT_TRUE(view.has_value());
  EXPECT_EQ(view->size(), 0u);
}

TEST(Trouble, WhatIsPackedReadsBack) {
  const std::vector<SpnTrouble> troubles = {{110, 4, 1}, {0x7F000, 31, 126}, {100, 3, 2}};
  const Text packed = Packed({1, 2, 3, 0}, troubles);
  EXPECT_EQ(packed.size(), 14u);
  const auto view = ReadTroubles(packed);
  ASSERT_TRUE(view.has_value());
  EXPECT_EQ(view->lamps, (Lamps{1, 2, 3, 0}));
  ASSERT_EQ(view->size(), 3u);
  for (std::size_t i = 0; i < 3; ++i) EXPECT_EQ((*view)[i], troubles[i]);
}

TEST(Trouble, TooShortIsNothing) {
  EXPECT_FALSE(ReadTroubles({}).has_value());
  EXPECT_FALSE(ReadTroubles(Bytes("04FF6E0004")).has_value());
}

}  // namespace
}  // namespace drycrank::protocol
