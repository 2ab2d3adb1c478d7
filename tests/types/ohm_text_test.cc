// SPDX-License-Identifier: Apache-2.0
//
// Units and prefixes: SI brochure, 9th edition, table 7 (kilo 1000, mega 1,000,000); rounded by hand.
#include "types/ohm_text.h"

#include <gtest/gtest.h>

namespace drycrank {
namespace {

TEST(OhmText, HasThreeDigitsAndTheUnitThatFitsThem) {
  EXPECT_EQ(OhmText(0), "0 Ω");
  EXPECT_EQ(OhmText(47.52), "47.5 Ω");
  EXPECT_EQ(OhmText(999.4), "999 Ω");
  EXPECT_EQ(OhmText(999.6), "1 kΩ");
  EXPECT_EQ(OhmText(2934), "2.93 kΩ");
  EXPECT_EQ(OhmText(999.6e3), "1 MΩ");
  EXPECT_EQ(OhmText(1e6), "1 MΩ");
  EXPECT_EQ(OhmText(1.234e6), "1.23 MΩ");
}

}  // namespace
}  // namespace drycrank
