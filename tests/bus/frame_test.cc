// SPDX-License-Identifier: Apache-2.0
#include "bus/frame.h"

#include <gtest/gtest.h>

#include <set>

#include "tests/bus/build_signal.h"

namespace drycrank::bus {
namespace {

// Identifier widths and payload lengths: ISO 11898-1 (11 and 29 bits; classical 0..8 bytes).
TEST(Frame, IdentifierFitsItsKind) {
  EXPECT_TRUE(IsValid(FrameOf(0x7FF, false, "")));
  EXPECT_FALSE(IsValid(FrameOf(0x800, false, "")));
  EXPECT_TRUE(IsValid(FrameOf(0x1FFFFFFF, true, "")));
  EXPECT_FALSE(IsValid(FrameOf(0x20000000, true, "")));
}

// CAN FD payload lengths: ISO 11898-1, DLC 0..15 stands for 0..8, 12, 16, 20, 24, 32, 48, 64 bytes.
TEST(Frame, FdLengthsAreThoseADlcCanName) {
  const std::set<int> legal = {0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64};
  for (int length = 0; length <= 255; ++length) {
    Frame frame = FrameOf(0x123, false, "");
    frame.length = static_cast<std::uint8_t>(length);
    EXPECT_EQ(IsValid(frame), length <= 8) << length;
    frame.fd = true;
    EXPECT_EQ(IsValid(frame), legal.contains(length)) << length;
  }
}

TEST(Frame, FdHasNoRemoteAndClassicalNoFdFlags) {
  Frame frame = FrameOf(0x123, false, "");
  frame.remote = true;
  EXPECT_TRUE(IsValid(frame));
  frame.fd = true;
  EXPECT_FALSE(IsValid(frame));
  frame = FrameOf(0x123, false, "");
  frame.bit_rate_switch = true;
  EXPECT_FALSE(IsValid(frame));
  frame.fd = true;
  EXPECT_TRUE(IsValid(frame));
}

TEST(Frame, ErrorReportIsNotCarried) {
  Frame frame = FrameOf(0x40, true, "0000000000000000");
  frame.error = true;
  EXPECT_FALSE(IsValid(frame));
}

}  // namespace
}  // namespace drycrank::bus
