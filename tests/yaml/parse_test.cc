// SPDX-License-Identifier: Apache-2.0
#include "yaml/parse.h"

#include <gtest/gtest.h>

namespace drycrank::yaml {
namespace {

const std::string kFile = "a.yaml";

TEST(YamlParse, KeepsOrderPlaceAndText) {
  Problems problems;
  const auto root = ParseYaml("b: 1\na:\n  - x\n  - {c: 'y z'}\n", kFile, problems);
  ASSERT_TRUE(root && problems.empty());
  ASSERT_EQ(root->entries.size(), 2u);
  EXPECT_EQ(root->entries[0].key, "b");
  EXPECT_EQ(root->entries[1].key_spot.Where(), (Place{"a.yaml", 2, 1}));
  const Node& list = root->entries[1].value;
  EXPECT_EQ(list.items[0].Where(), (Place{"a.yaml", 3, 5}));
  EXPECT_EQ(list.items[1].Find("c")->text, "y z");
  EXPECT_EQ(CountNodes(*root), 6u);  // root, 1, list, x, inner mapping, y z
}

TEST(YamlParse, UnfoldsAliases) {
  Problems problems;
  const auto root = ParseYaml("a: &x {k: 1}\nb: *x\n", kFile, problems);
  ASSERT_TRUE(root && problems.empty());
  EXPECT_EQ(root->Find("b")->Find("k")->text, "1");
}

TEST(YamlParse, KeepsTheFirstOfTwoEqualKeys) {
  Problems problems;
  const auto root = ParseYaml("a: {x: 1, y: {x: 3}, x: 2}\nx: 4\n", kFile, problems);
  ASSERT_TRUE(root);
  EXPECT_EQ(problems.size(), 1u);
  EXPECT_EQ(root->Find("a")->Find("x")->text, "1");
}

}  // namespace
}  // namespace drycrank::yaml
