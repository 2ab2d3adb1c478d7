// SPDX-License-Identifier: Apache-2.0
//
// What makes no edges is played once, whatever the level at which it stays. What the controller makes
// of it is what DESIGN says of a crank without a cam: its position is known, but not the cycle's.
#include "diagnose/watch.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "profile/load.h"
#include "standin/controller.h"

namespace drycrank::diagnose {
namespace {

class WatchTest : public testing::Test {
 protected:
  static Situation At(const profile::Bench& bench, double rpm) {
    Situation situation = RestOf(bench);
    situation.stimuli[0] = rpm;
    return situation;
  }
  // Of the state of synchronisation, with this at the cam's input.
  double Synced(std::vector<profile::Fault> faults) {
    ElectricalModel model(*loaded_.bench, healthy_, faults);
    const Electrical& at = model.SolveIn(situation_);
    const auto names = standin::ControllerValueNames(*loaded_.bench->controller);
    const auto state = std::ranges::find(names, "sync_state") - names.begin();
    return watch_.Find(at, model, situation_, {})[static_cast<std::size_t>(state)].low();
  }
  double SyncedWith(profile::FaultKind kind, const std::string& at) {
    profile::Fault fault;
    fault.kind = std::move(kind);
    fault.at = at;
    return Synced({fault});
  }

  profile::LoadedBench loaded_ =
      profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/hill_climb.yaml");
  Situation situation_ = At(*loaded_.bench, 950);
  HealthyElectrical healthy_{*loaded_.bench, {&situation_, 1}};
  Watch watch_{*loaded_.bench};
};

constexpr auto kKnown = static_cast<double>(standin::SyncState::kPositionKnown);
constexpr auto kInStep = static_cast<double>(standin::SyncState::kSynchronised);

TEST_F(WatchTest, PlaysOnceWhatMakesNoEdges) {
  EXPECT_EQ(SyncedWith(profile::fault::ShortToGround{0.1}, "CMP.3"), kKnown);
  EXPECT_EQ(SyncedWith(profile::fault::ShortToSupply{0.1}, "CMP.3"), kKnown);
  EXPECT_EQ(SyncedWith(profile::fault::Open{}, "cam_supply"), kKnown);
  EXPECT_EQ(watch_.played(), 1u);
}

// Other sensors reach the cam's input as well there: by too little for an edge.
TEST_F(WatchTest, WhatStaysOnOneSideMakesNoEdges) {
  EXPECT_EQ(SyncedWith(profile::fault::ShortToSupply{0.1}, "CMP.3"), kKnown);
  EXPECT_EQ(SyncedWith(profile::fault::Open{}, "sensor_ground"), kKnown);
  EXPECT_EQ(watch_.played(), 1u);
}

// The twin: what makes edges, or others, is played for itself.
TEST_F(WatchTest, PlaysEachThatMakesOtherEdges) {
  EXPECT_EQ(Synced({}), kInStep);
  EXPECT_EQ(SyncedWith(profile::fault::ShortToGround{0.1}, "CMP.3"), kKnown);
  EXPECT_NE(SyncedWith(profile::fault::Open{}, "crank_plus"), kKnown);
  EXPECT_EQ(watch_.played(), 3u);
}

}  // namespace
}  // namespace drycrank::diagnose
