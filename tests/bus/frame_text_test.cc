// SPDX-License-Identifier: Apache-2.0
//
// The notation is that of can-utils (cansend's and candump -l's own), as read there:
// https://github.com/linux-can/can-utils lib.h. tests/kernel sends such text through the tools.
#include "bus/frame_text.h"

#include <gtest/gtest.h>

#include <string>

namespace drycrank::bus {
namespace {

std::string RoundTrip(const std::string& text) {
  const auto frame = ParseFrameText(text);
  if (!frame) return "not a frame";
  fmt::memory_buffer out;
  AppendFrameText(*frame, out);
  return fmt::to_string(out);
}

TEST(FrameText, KeepsEveryKindOfFrame) {
  for (const char* text : {"123#0102", "123#", "12345678#11223344556677AA", "7FF#R", "123#R4",
                           "321##5112233445566778899AABBCC", "321##4AB", "20000040#0000000000000000"}) {
    EXPECT_EQ(RoundTrip(text), text);
  }
}

TEST(FrameText, ReadsTheFields) {
  const auto frame = ParseFrameText("1ABCDEF0##7AA");
  ASSERT_TRUE(frame);
  EXPECT_EQ(frame->id, 0x1ABCDEF0u);
  EXPECT_TRUE(frame->extended && frame->fd && frame->bit_rate_switch && frame->error_state);
  EXPECT_EQ(frame->length, 1);
  EXPECT_EQ(frame->data[0], 0xAA);
}

TEST(FrameText, RefusesWhatIsNoFrame) {
  for (const char* text : {"", "123", "#00", "1234#00", "12G#00", "123#0", "123#001122334455667788",
                           "800#00", "123##4112233445566778899", "123#R99", "FFFFFFFF#00"}) {
    EXPECT_FALSE(ParseFrameText(text)) << text;
  }
}

}  // namespace
}  // namespace drycrank::bus
