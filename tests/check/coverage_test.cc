// SPDX-License-Identifier: Apache-2.0
#include "tests/check/table.h"

namespace drycrank::check {
namespace {

using profile::Compare;
using ::testing::ElementsAre;
using ::testing::IsEmpty;

class CoverageTest : public Table {
 protected:
  CoverageTest() {
    AddStep("run", 1);
    for (const char* circuit : {"crank", "coolant", "crank", "spare"}) {
      profile::Wire wire;
      wire.circuit = circuit;
      bench_.wires.push_back(wire);
    }
  }
  void ExpectState(double state, std::vector<std::string> proves) {
    auto& e = Expect<expect::Always>();
    e.condition = SyncIs(Compare::kEqual, state);
    expectation().proves = std::move(proves);
  }
  std::vector<CircuitCoverage> Run() {
    Begin(0, 0);
    Sync(S(0.5), 3);
    Finish(S(1));
    return checker_->coverage();
  }
};

TEST_F(CoverageTest, CircuitIsProvenByAMetExpectation) {
  ExpectState(3, {"crank"});
  const auto circuits = Run();
  ASSERT_EQ(circuits.size(), 3u);  // each once, in the order of the wires
  EXPECT_EQ(circuits[0].circuit, "crank");
  EXPECT_TRUE(circuits[0].proven);
  EXPECT_THAT(circuits[0].by, ElementsAre(0));
  EXPECT_EQ(circuits[2].circuit, "spare");
  EXPECT_FALSE(circuits[2].proven);  // nothing speaks of it
  EXPECT_THAT(circuits[2].by, IsEmpty());
}

TEST_F(CoverageTest, OneFailureAmongItsExpectationsLeavesItUnproven) {
  ExpectState(3, {"crank", "coolant"});
  ExpectState(1, {"crank"});
  const auto circuits = Run();
  EXPECT_FALSE(circuits[0].proven);
  EXPECT_THAT(circuits[0].by, ElementsAre(0, 1));
  EXPECT_THAT(circuits[0].failed, ElementsAre(1));
  EXPECT_THAT(circuits[0].met, ElementsAre(0));
  EXPECT_TRUE(circuits[1].proven);
}

TEST_F(CoverageTest, NotObservedProvesNothing) {
  ExpectState(3, {"crank"});
  std::get<expect::Always>(scenario_.expectations[0].kind).condition.signal = {0, kTemps, 0};
  EXPECT_FALSE(Run()[0].proven);
}

}  // namespace
}  // namespace drycrank::check
