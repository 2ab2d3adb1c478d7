// SPDX-License-Identifier: Apache-2.0
//
// What a relay is given in the place of a switch: open where the switch is open or is not there.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>
#include <utility>
#include <vector>

#include "profile/load.h"
#include "profile/output_device.h"
#include "run/output_feed.h"
#include "run/output_wishes.h"
#include "run/runner.h"
#include "tests/profile/scratch.h"

namespace drycrank::run {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Pair;

class SwitchOutputTest : public profile::Scratch {
 protected:
  void Play(const std::string& channel, const std::string& rest) {
    Write("bench.yaml", "include: " DRYCRANK_TESTS_DIR "/bad_profiles/base/wired.yaml\n"
                        "engine: {firing_order: [1], compression_ripple: 0}\n"
                        "sensors:\n"
                        "  oil: {measures: boost_pressure, kind: switch, closed_at: 50, plus: IAT.1, minus: IAT.2}\n"
                        "drives:\n"
                        "  relays: {kind: gpio, chip: chip, channels: {" +
                            channel + ": {line: 0}}}\n");
    loaded_ = profile::LoadScenario(Write(
        "scenario.yaml", "kind: scenario\nname: s\nbench: bench.yaml\nsteps:\n" + rest));
    ASSERT_EQ(Text(loaded_.problems), "");
  }
  std::string Problems() { return Text(OutputProblems(*loaded_.bench, *loaded_.scenario)); }
  // Milliseconds, and whether it is closed.
  std::vector<std::pair<int, bool>> Given(TimeNs until_ns) {
    output::Handover handover;
    OutputFeed feed(*loaded_.bench, *loaded_.scenario, loaded_.bench->drives[0], handover);
    Runner runner(*loaded_.bench, *loaded_.scenario, {});
    runner.AddObserver(&feed);
    runner.Start();
    runner.RunTo(until_ns);
    std::vector<std::pair<int, bool>> given;
    for (; handover.Front() != nullptr; handover.Pop()) {
      const output::Given& at = *handover.Front();
      given.emplace_back(static_cast<int>(at.t_ns / kNsPerMs), std::get<Source>(at.state).value != 0);
    }
    return given;
  }

  profile::LoadedScenario loaded_;
};

TEST_F(SwitchOutputTest, OneThatIsNotThereIsOpen) {
  Play("oil", "  - {name: a, for_s: 1, drive: {boost_pressure: 100}}\n"
              "  - {name: b, for_s: 1, drive: {boost_pressure: 0}}\n"
              "faults:\n  - {name: gone, kind: not_fitted, at: oil, from_s: 0.3, to_s: 0.6}\n");
  EXPECT_EQ(Problems(), "");
  EXPECT_THAT(Given(2 * kNsPerS), ElementsAre(Pair(0, true), Pair(300, false), Pair(600, true),
                                              Pair(1000, false)));
}

// 35 teeth at 60 r/min have 70 edges a second.
TEST_F(SwitchOutputTest, ARelayIsTooSlowForAWheel) {
  Play("crank", "  - {name: a, for_s: 1, drive: {engine_speed: 60}}\n");
  EXPECT_THAT(Problems(), HasSubstr("does not give 70 changes a second (it makes 50)"));
}

}  // namespace
}  // namespace drycrank::run
