// SPDX-License-Identifier: Apache-2.0
#include "types/format_number.h"

#include <gtest/gtest.h>

namespace drycrank {
namespace {

TEST(FormatNumber, OwnAndOlderOnesAreRead) {
  EXPECT_EQ(WhyNotRead(1, 1), "");
  EXPECT_EQ(WhyNotRead(1, 3), "");
  EXPECT_EQ(WhyNotRead(3, 3), "");
}

TEST(FormatNumber, ANewerOneIsRefusedByName) {
  EXPECT_EQ(WhyNotRead(2, 1), "format 2 is newer than this program reads (1)");
}

TEST(FormatNumber, NumbersBelowOneDoNotExist) {
  EXPECT_EQ(WhyNotRead(0, 1), "format 0 does not exist; formats are counted from 1");
  EXPECT_NE(WhyNotRead(-7, 1), "");
}

}  // namespace
}  // namespace drycrank
