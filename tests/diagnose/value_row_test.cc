// SPDX-License-Identifier: Apache-2.0
//
// A row of values is what a plain list of them would be, whatever was set and in which order, and
// whether it shares most of them with another or not.
#include "diagnose/value_row.h"

#include <gtest/gtest.h>

#include "types/random.h"

namespace drycrank::diagnose {
namespace {

constexpr std::size_t kFew = 40, kMany = 170;  // no multiples of what is compared at once

Prediction Drawn(Random& random) { return Prediction::Value(static_cast<double>(random.Next() % 3)); }

std::vector<std::size_t> Apart(const ControllerValues& a, const ControllerValues& b) {
  std::vector<std::size_t> apart;
  ControllerValues::WhereApart(a, b, [&](std::size_t value) { apart.push_back(value); });
  return apart;
}

std::vector<std::size_t> ApartInLists(const Predictions& a, const Predictions& b) {
  std::vector<std::size_t> apart;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (!(a[i] == b[i])) apart.push_back(i);
  }
  return apart;
}

// From one base, so many values set.
struct Both {
  ControllerValues row;
  Predictions list;

  void Set(Random& random, std::size_t times) {
    for (std::size_t i = 0; i < times; ++i) {
      const std::size_t at = random.Next() % list.size();
      const Prediction to = Drawn(random);
      row.Set(at, to);
      list[at] = to;
    }
  }
};

TEST(ValueRow, IsAsAListInWhichTheSameWasSet) {
  Random random(1, 1);
  for (int trial = 0; trial < 2000; ++trial) {
    const std::size_t count = trial % 2 == 0 ? kFew : kMany;
    Predictions base;
    for (std::size_t i = 0; i < count; ++i) base.push_back(Drawn(random));
    const ControllerValues shared(base), another(base);
    Both a{shared, base}, b{trial % 3 == 0 ? another : shared, base};
    a.Set(random, random.Next() % 12);
    b.Set(random, random.Next() % 12);
    for (std::size_t i = 0; i < count; ++i) ASSERT_EQ(a.row[i], a.list[i]) << trial << " " << i;
    EXPECT_EQ(Apart(a.row, b.row), ApartInLists(a.list, b.list)) << trial;
    EXPECT_EQ(Apart(a.row, shared), ApartInLists(a.list, base)) << trial;
    EXPECT_EQ(a.row == b.row, a.list == b.list) << trial;
    EXPECT_EQ(a.row.Whole(), a.row) << trial;
    EXPECT_EQ(shared, another) << "what others share was set: " << trial;
  }
}

TEST(ValueRow, OfASilentControllerIsEmptyAndNoOther) {
  EXPECT_TRUE(ControllerValues().empty());
  EXPECT_EQ(ControllerValues(), ControllerValues());
  EXPECT_NE(ControllerValues(), ControllerValues(3, Prediction::Value(0)));
  EXPECT_TRUE(ControllerValues().Whole().empty());
}

}  // namespace
}  // namespace drycrank::diagnose
