// SPDX-License-Identifier: Apache-2.0
#include "profile/kinds.h"

#include <gtest/gtest.h>

#include <set>

#include "profile/expectation.h"
#include "profile/fault.h"
#include "profile/sensors.h"
#include "profile/triggers.h"

namespace drycrank::profile {
namespace {

template <class Kinds>
class KindsTest : public testing::Test {};
using AllKinds = testing::Types<ExpectationKind, FaultKind, SensorModel, Pickup>;
TYPED_TEST_SUITE(KindsTest, AllKinds);

TYPED_TEST(KindsTest, EachHasAWordOfItsOwnAtItsNumber) {
  const std::vector<std::string> words = WordsOf<TypeParam>();
  ASSERT_EQ(words.size(), std::variant_size_v<TypeParam>);
  EXPECT_EQ(std::set<std::string>(words.begin(), words.end()).size(), words.size());
  for (std::size_t i = 0; i < words.size(); ++i) {
    const TypeParam kind = KindAt<TypeParam>(static_cast<int>(i));
    EXPECT_EQ(kind.index(), i);
    EXPECT_EQ(WordOf(kind), words[i]);
  }
}

}  // namespace
}  // namespace drycrank::profile
