// SPDX-License-Identifier: Apache-2.0
//
// What a run hands to a sound card in the place of a Hall sensor: its transistor, edge by edge. 36-1 at
// 1,000 r/min are 6 degrees of crank a millisecond; teeth of 5 degrees begin at 0, 10, 20, ... 340.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "output/output.h"
#include "profile/load.h"
#include "run/output_feed.h"
#include "run/output_rate.h"
#include "run/output_wishes.h"
#include "run/runner.h"
#include "tests/profile/scratch.h"

namespace drycrank::run {
namespace {

constexpr const char* kBench = R"(
include: )" DRYCRANK_TESTS_DIR R"(/bad_profiles/base/wired.yaml
drives:
  card:
    kind: sound
    device: "hw:0"
    channels: {crank: {output: 1, full_scale_v: 2, corner_hz: 0}}
)";

class SoundChannels : public profile::Scratch {
 protected:
  // "conducts" or "not", and when, in us.
  std::vector<std::pair<std::string, TimeNs>> Edges(const std::string& faults) {
    Write("bench.yaml", kBench);
    const auto loaded = profile::LoadScenario(
        Write("scenario.yaml",
              "kind: scenario\nname: s\nbench: bench.yaml\n"
              "steps:\n  - {name: a, for_s: 1, drive: {engine_speed: 1000}}\n" + faults));
    EXPECT_EQ(Text(loaded.problems), "");
    EXPECT_EQ(Text(OutputProblems(*loaded.bench, *loaded.scenario)), "");
    output::Handover handover;
    OutputFeed feed(*loaded.bench, *loaded.scenario, loaded.bench->drives[0], handover);
    Runner runner(*loaded.bench, *loaded.scenario, {});
    runner.AddObserver(&feed);
    runner.Start();
    runner.RunTo(100 * kNsPerMs);
    std::vector<std::pair<std::string, TimeNs>> edges;
    for (; handover.Front() != nullptr; handover.Pop()) {
      const auto& source = std::get<Source>(handover.Front()->state);
      edges.emplace_back(source.value != 0 ? "conducts" : "not", handover.Front()->t_ns / kNsPerUs);
    }
    return edges;
  }
};

TEST_F(SoundChannels, AHallSensorComesEdgeByEdge) {
  const auto edges = Edges("");
  ASSERT_GT(edges.size(), 100U);
  std::vector<TimeNs> begins, ends;
  for (const auto& [what, at_us] : edges) (what == "not" ? ends : begins).push_back(at_us);
  // The last of these begins is that of tooth 2 of the next turn: tooth 36, at 350 degrees, is missing.
  for (const TimeNs due_us : {1666, 3333, 56'666, 60'000, 61'666}) {
    EXPECT_THAT(begins, testing::Contains(testing::AllOf(testing::Ge(due_us), testing::Le(due_us + 1))));
  }
  EXPECT_THAT(begins, testing::Not(testing::Contains(testing::AllOf(testing::Ge(58'300), testing::Le(58'400)))));
  EXPECT_THAT(ends, testing::Contains(testing::AllOf(testing::Ge(2499), testing::Le(2500))));
}

TEST_F(SoundChannels, OneThatIsNotThereDoesNotConduct) {
  const auto edges = Edges("faults:\n  - {name: gone, kind: not_fitted, at: crank, from_s: 0.05}\n");
  ASSERT_FALSE(edges.empty());
  EXPECT_EQ(edges.back().first, "not");
  EXPECT_LE(edges.back().second, 50'000);
}

// A computer that stands still for a second puts all of it at once: at 18,000 r/min 10,500 teeth, two edges each.
TEST_F(SoundChannels, ASecondOfEdgesHasRoom) {
  Write("bench.yaml", std::string(kBench) + "    rate_hz: 192000\n");
  const auto loaded = profile::LoadScenario(
      Write("scenario.yaml", "kind: scenario\nname: s\nbench: bench.yaml\n"
                             "steps:\n  - {name: a, for_s: 2, drive: {engine_speed: 18000}}\n"));
  ASSERT_EQ(Text(loaded.problems), "");
  const profile::OutputDevice& card = loaded.bench->drives[0];
  output::Handover handover(RoomOf(*loaded.bench, *loaded.scenario, card));
  OutputFeed feed(*loaded.bench, *loaded.scenario, card, handover);
  Runner runner(*loaded.bench, *loaded.scenario, {});
  runner.AddObserver(&feed);
  runner.Start();
  runner.RunTo(kNsPerS);
  EXPECT_EQ(handover.lost(), 0u);
  EXPECT_NE(handover.Waiting(20'000), nullptr);
}

// 35 teeth: at 3,000 r/min 1,750 a second, of four samples each 7,000; at 4,000 r/min 9,333.3.
TEST_F(SoundChannels, TeethThatTheRateDoesNotCarryAreRefused) {
  Write("bench.yaml", std::string(kBench) + "    rate_hz: 8000\n");
  const auto problems_at = [&](int rpm) {
    const auto loaded = profile::LoadScenario(
        Write("scenario.yaml", "kind: scenario\nname: s\nbench: bench.yaml\nsteps:\n"
                               "  - {name: a, for_s: 1, drive: {engine_speed: " +
                                   std::to_string(rpm) + "}}\n"));
    return Text(OutputProblems(*loaded.bench, *loaded.scenario));
  };
  EXPECT_EQ(problems_at(3000), "");
  EXPECT_THAT(problems_at(4000), testing::HasSubstr("bench.yaml:7:"));
  EXPECT_THAT(problems_at(4000), testing::HasSubstr("2333 teeth pass in a second"));
  EXPECT_THAT(problems_at(4000), testing::HasSubstr("a rate_hz of 9334 or more carries them"));
}

}  // namespace
}  // namespace drycrank::run
