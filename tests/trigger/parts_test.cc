// SPDX-License-Identifier: Apache-2.0
//
// Every file of profiles/parts/wheels, loaded as a bench includes it: teeth counted and measured
// against the published geometry (tests/reference/crank_cam.yaml) or the comment of the file.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>

#include "profile/load.h"
#include "profile/triggers.h"
#include "tests/support/scratch_folder.h"
#include "trigger/wheel_edges.h"

namespace drycrank::trigger {
namespace {

const std::string kParts = DRYCRANK_PROFILES_DIR "/parts/wheels";

// What of a bench is needed around one wheel. Invented.
profile::LoadedBench LoadWith(const std::string& part) {
  const ScratchFolder folder;
  const std::string file = folder.Path("wheel.yaml");
  std::ofstream(file)
      << "kind: bench\nname: wheel\ntitle: One wheel\n"
         "engine: {firing_order: [1, 3, 4, 2]}\n"
         "supplies: {battery: {plus: BAT.1, minus: BAT.2, voltage_v: 12 V}}\n"
         "connectors: {BAT: {pins: 2}, S: {pins: 3}}\n"
         "triggers:\n  t:\n    shaft: crank\n    wheel: {include: "
      << kParts << "/" << part
      << ".yaml}\n    pickup: {kind: hall, supply: S.1, ground: S.2, signal: S.3}\n";
  return profile::LoadBench(file);
}

profile::Wheel Load(const std::string& part) {
  const profile::LoadedBench loaded = LoadWith(part);
  for (const Diagnostic& problem : loaded.problems) ADD_FAILURE() << Format(problem);
  return loaded.bench ? loaded.bench->triggers[0].wheel : profile::Wheel();
}

double LastToFirstDeg(const profile::Wheel& wheel) {
  return 360 - wheel.teeth.back().begin_deg + wheel.teeth.front().begin_deg;
}

// Number of teeth by file; a new part needs its line here.
const std::map<std::string, std::size_t> kTeeth = {
    {"12-plus-1-mark", 1}, {"12-plus-1-teeth", 12}, {"24-plus-1-mark", 1}, {"24-plus-1-teeth", 24},
    {"36-1", 35},          {"36-2-2-2", 30},        {"4-unequal", 4},      {"60-2", 58},
    {"8-vane", 8},         {"half-moon", 1}};

TEST(WheelParts, EachHasItsTeeth) {
  std::size_t files = 0;
  for (const auto& file : std::filesystem::directory_iterator(kParts)) {
    const auto known = kTeeth.find(file.path().stem().string());
    ASSERT_NE(known, kTeeth.end()) << file.path();
    EXPECT_EQ(Load(known->first).teeth.size(), known->second) << file.path();
    ++files;
  }
  EXPECT_EQ(files, kTeeth.size());
}

// tests/reference/crank_cam.yaml, wheels: gap 18 deg for 60-2, 20 deg for 36-1.
TEST(WheelParts, GapsHaveThePublishedWidth) {
  EXPECT_DOUBLE_EQ(LastToFirstDeg(Load("60-2")), 18);
  EXPECT_DOUBLE_EQ(LastToFirstDeg(Load("36-1")), 20);
}

// 16 teeth, gap, 13 teeth, gap, 1 tooth, gap: three steps of 30 deg, all others of 10.
TEST(WheelParts, ThreeDoubleGapsAreWhereTheFileSays) {
  const profile::Wheel wheel = Load("36-2-2-2");
  for (std::size_t i = 0; i + 1 < wheel.teeth.size(); ++i) {
    const double step_deg = wheel.teeth[i + 1].begin_deg - wheel.teeth[i].begin_deg;
    EXPECT_NEAR(step_deg, i == 15 || i == 28 ? 30 : 10, 1e-9) << i;
  }
  EXPECT_NEAR(LastToFirstDeg(wheel), 30, 1e-9);
}

// 8 x 45 deg, 0.6 of it vane: 27 deg. Half-moon: half of 360.
TEST(WheelParts, WidthsAreThoseOfTheFile) {
  const profile::Wheel vanes = Load("8-vane");
  for (const Tooth& vane : vanes.teeth) {
    EXPECT_NEAR(vane.end_deg - vane.begin_deg, 27, 1e-9);
  }
  const profile::Wheel moon = Load("half-moon");
  EXPECT_DOUBLE_EQ(moon.teeth[0].end_deg - moon.teeth[0].begin_deg, 180);
}

TEST(WheelParts, MissingPartIsTold) { EXPECT_FALSE(LoadWith("61-2").problems.empty()); }

}  // namespace
}  // namespace drycrank::trigger
