// SPDX-License-Identifier: Apache-2.0
#include "yaml/nearest.h"

#include <gtest/gtest.h>

namespace drycrank::yaml {
namespace {

// Worked by hand: kitten - sitten - sittin - sitting, the usual example of Levenshtein's distance.
TEST(Nearest, CountsEdits) {
  EXPECT_EQ(EditDistance("kitten", "sitting"), 3);
  EXPECT_EQ(EditDistance("", "abc"), 3);
  EXPECT_EQ(EditDistance("abc", "abc"), 0);
}

TEST(Nearest, TwoNeighboursSwappedAreOneEdit) {
  EXPECT_EQ(EditDistance("titel", "title"), 1);
  EXPECT_EQ(EditDistance("ab", "ba"), 1);
}

TEST(Nearest, NamesTheNearestWord) {
  EXPECT_EQ(Suggest("coil_ohms", {"coil_ohm", "peak_v"}), "did you mean 'coil_ohm'?");
}

TEST(Nearest, PartsInAnotherOrderAreOneEdit) {
  EXPECT_EQ(Nearest("gap_spark", {"spark_plug", "spark_gap"}), "spark_gap");
  EXPECT_EQ(Nearest("swap_terminals", {"short_to_ground", "terminals_swapped"}),
            "terminals_swapped");
  EXPECT_EQ(Nearest("swapped_pins", {"bytes_swapped", "terminals_swapped"}), std::nullopt);
  EXPECT_EQ(Nearest("zzz", {"short_to_ground", "terminals_swapped"}), std::nullopt);
}

TEST(Nearest, ListsWhatIsKnownWhenNothingIsNear) {
  EXPECT_EQ(Suggest("zzz", {"coil_ohm", "peak_v"}), "known: coil_ohm, peak_v");
  EXPECT_EQ(Suggest("zzz", {}, "no bus is known"), "no bus is known");
}

}  // namespace
}  // namespace drycrank::yaml
