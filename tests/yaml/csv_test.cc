// SPDX-License-Identifier: Apache-2.0
#include "yaml/csv.h"

#include <gtest/gtest.h>

namespace drycrank::yaml {
namespace {

Points Read(const std::string& text, Problems& problems) {
  return ReadCsvPoints(problems, "a.csv", text, {"t_s", {"s.yaml", 3, 5}}, {"v", {"s.yaml", 3, 9}},
                       {"s", 0, 100}, {"kPa", 0, 500});
}

TEST(Csv, TakesTwoColumnsByName) {
  Problems problems;
  const Points points =
      Read("v,other,t_s\r\n10,x,0\r\n# a remark\r\n\r\n1 bar,y,\"2.5\"\r\n", problems);
  EXPECT_TRUE(problems.empty());
  EXPECT_EQ(points, (Points{{0, 10}, {2.5, 100}}));  // 1 bar = 100 kPa
}

TEST(Csv, NamesLineAndColumnOfItsOwn) {
  Problems problems;
  Read("t_s,v\n0,10\n1,abc\n2,20\n", problems);
  const Diagnostics said = problems.Sorted({"a.csv"});
  ASSERT_EQ(said.size(), 1u);
  EXPECT_EQ(said[0].place, (Place{"a.csv", 3, 3}));
}

TEST(Csv, SaysThatColumnsAreSeparatedByCommas) {
  Problems problems;
  Read("t_s;v\n0;10\n1;12\n", problems);
  EXPECT_EQ(problems.size(), 2u);
  EXPECT_NE(problems.Sorted({})[0].remedy.find("by commas"), std::string::npos);
}

}  // namespace
}  // namespace drycrank::yaml
