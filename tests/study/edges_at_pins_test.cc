// SPDX-License-Identifier: Apache-2.0
//
// A bus that says nothing of the engine's position: what comes to the pins shows the cam's wires all the
// same. The shipped generator (invented), without the signals that carry a position.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <set>
#include <string>

#include "profile/load.h"
#include "study/play.h"
#include "types/clock.h"
#include "walk/walk.h"

namespace drycrank::study {
namespace {

using check::CircuitState;
using testing::IsSupersetOf;

class EdgesAtPins : public testing::Test {
 protected:
  EdgesAtPins() {
    for (profile::Bus& bus : loaded_.bench->buses) {
      for (profile::Message& message : bus.messages) {
        for (profile::Signal& signal : message.signals) {
          const bool position =
              signal.carries.starts_with("sync_") || signal.carries.starts_with("cam_angle.");
          if (position) signal.carries = "nothing";
        }
      }
    }
  }
  void Walk(const std::string& fault = {}) {
    profile::Scenario scenario = walk::MakeWalk(*loaded_.bench).scenario;
    if (!fault.empty()) {
      scenario.faults.push_back(*profile::ParseFault(*loaded_.bench, fault).fault);
    }
    VirtualClock clock;
    PlayOptions options;
    options.clock = &clock;
    options.pictures = false;
    report_ = Play(*loaded_.bench, scenario, options).report;
    for (const auto& c : report_.coverage) in_[c.state].insert(c.circuit);
  }

  profile::LoadedBench loaded_ =
      profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/generator.yaml");
  report::Report report_;
  std::map<CircuitState, std::set<std::string>> in_;
};

TEST_F(EdgesAtPins, ShowTheCamsWires) {
  Walk();
  EXPECT_THAT(in_[CircuitState::kProven], IsSupersetOf({"cam_supply", "cam_ground", "cam_signal"}));
}

TEST_F(EdgesAtPins, AnOpenOneFails) {
  Walk("{kind: open, at: POS.3}");
  EXPECT_EQ(in_[CircuitState::kProven].count("cam_signal"), 0U);
  EXPECT_THAT(in_[CircuitState::kFailed], IsSupersetOf({"cam_signal"}));
  EXPECT_FALSE(in_[CircuitState::kFailed].contains("crank_signal"));
}

}  // namespace
}  // namespace drycrank::study
