// SPDX-License-Identifier: Apache-2.0
//
// Lists of 40 elements, more than two of kAtOnce and no multiple of it; what differs is put there by
// hand.
#include "types/apart.h"

#include <gtest/gtest.h>

namespace drycrank {
namespace {

std::vector<std::size_t> ApartIn(const std::vector<double>& a, const std::vector<double>& b) {
  std::vector<std::size_t> apart;
  WhereApart(a, b, [&](std::size_t i) { apart.push_back(i); });
  return apart;
}

TEST(Apart, NamesEachElementThatDiffersInOrder) {
  const std::vector<double> a(40, 1.5);
  std::vector<double> b = a;
  b[0] = b[15] = b[16] = b[39] = 2;
  EXPECT_EQ(ApartIn(a, b), (std::vector<std::size_t>{0, 15, 16, 39}));
}

TEST(Apart, NamesNoneOfEqualLists) {
  EXPECT_TRUE(ApartIn(std::vector<double>(40, 1.5), std::vector<double>(40, 1.5)).empty());
  EXPECT_TRUE(ApartIn({}, {}).empty());
}

// Other bytes, the same number.
TEST(Apart, TakesBothZerosForOne) {
  std::vector<double> a(40, 0.0), b = a;
  b[20] = -0.0;
  EXPECT_FALSE(SameBytes(a, b, 16));
  EXPECT_TRUE(ApartIn(a, b).empty());
}

TEST(Apart, LooksNoFartherThanTheElementsAskedFor) {
  std::vector<double> a(40, 0.0), b = a;
  b[16] = 1;
  EXPECT_TRUE(SameBytes(a, b, 0));
  EXPECT_FALSE(SameBytes(a, b, 16));
  EXPECT_TRUE(SameBytes(a, b, 32));
}

}  // namespace
}  // namespace drycrank
