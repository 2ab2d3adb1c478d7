// SPDX-License-Identifier: Apache-2.0
//
// A diagnosis that can be believed: sizes off any grid, a supply that is not what the bench says,
// sensors that are off, all from the bench of stand-ins. "Right" is as a fitter would have it: the
// first group holds the truth or another place in the same current's path, or health, where nothing
// that was read tells the two apart. Values are drawn or given, never computed here.
#include <gtest/gtest.h>

#include <algorithm>
#include <memory>
#include <set>

#include "diagnose/rank.h"
#include "profile/triggers.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Fault;

Fault Make(const profile::FaultKind& kind, const std::string& at, const std::string& with = "") {
  Fault made;
  made.kind = kind;
  made.name = at;
  made.at = at;
  made.with = with;
  return made;
}

class Bench {
 public:
  explicit Bench(const std::string& shipped)
      : walked_(shipped),
        predictor_(walked_.bench(), walked_.situations()),
        ranker_(walked_.bench(), predictor_) {}

  Diagnosis Diagnose(const std::vector<Fault>& faults, std::uint64_t seed) {
    return ranker_.Rank(walked_.Observe(faults, seed), {.doubles = false});
  }
  const profile::Bench& bench() const { return walked_.bench(); }

 private:
  Walked walked_;
  Predictor predictor_;
  Ranker ranker_;
};

bool Names(const Group& group, const std::string& place) {
  return std::ranges::any_of(group.members, [&](const Candidate& member) {
    return std::ranges::any_of(member.hypothesis.faults,
                               [&](const Fault& f) { return f.at == place || f.with == place; });
  });
}

std::string First(const Bench& bench, const Diagnosis& diagnosis) {
  if (diagnosis.groups.empty()) return "nothing";
  return Describe(bench.bench(), diagnosis.groups[0].members[0].hypothesis);
}

class CorrodedPin : public testing::TestWithParam<const char*> {};

// 1 to 25 ohm in the controller's own supply or ground: with its 30 ohm between them that is 0.4 V
// to 6 V less. What a weak supply would
// do as well is named beside health.
TEST_P(CorrodedPin, IsNamedOrWithinWhatASupplyMayBeOff) {
  Bench bench(GetParam());
  const auto& controller = *bench.bench().controller;
  int right = 0, runs = 0;
  for (const std::string& pin : {controller.supply, controller.ground}) {
    for (const double ohm : {1.0, 2.3, 5.0, 11.0, 25.0}) {
      const Diagnosis d = bench.Diagnose({Make(fault::SeriesResistance{ohm}, pin)}, 11);
      const bool listed = std::ranges::any_of(d.like_healthy, [&](const Candidate& like) {
        return like.hypothesis.faults[0].at == pin;
      });
      const bool healthy = d.healthy && (ohm < 2 || listed);
      const bool named = !d.healthy && Names(d.groups[0], pin);
      ++runs;
      right += healthy || named;
      EXPECT_TRUE(healthy || named || d.groups[0].share < 0.95)
          << pin << " " << ohm << " ohm taken for " << First(bench, d);
    }
  }
  EXPECT_GE(right, runs - 1);
}
INSTANTIATE_TEST_SUITE_P(Shipped, CorrodedPin,
                         testing::Values("hill_climb", "boat_v8", "generator", "kart"));

class SupplyOff : public testing::TestWithParam<const char*> {};

TEST_P(SupplyOff, WithinItsToleranceAccusesNobody) {
  Bench bench(GetParam());
  for (const double volts : {-0.8, -0.65, 0.65, 0.8}) {
    const std::string& supply = bench.bench().supplies[0].name;
    const Diagnosis d = bench.Diagnose({Make(fault::SupplyOff{volts}, supply)}, 5);
    EXPECT_TRUE(d.healthy) << volts << " V: " << First(bench, d);
  }
}
INSTANTIATE_TEST_SUITE_P(Shipped, SupplyOff,
                         testing::Values("hill_climb", "boat_v8", "generator", "kart"));

// 2 ohm before what the controller draws, and a battery within its tolerance look the same: nobody
// is accused, and the contact is named among what would look the same.
TEST(ACorrodedPinWithinTheTolerance, IsNamedBesideHealth) {
  Bench bench("hill_climb");
  const std::string pin = bench.bench().controller->supply;
  const Diagnosis d = bench.Diagnose({Make(fault::SeriesResistance{2}, pin)}, 5);
  ASSERT_TRUE(d.healthy);
  EXPECT_TRUE(std::ranges::any_of(d.like_healthy, [&](const Candidate& like) {
    return like.hypothesis.faults[0].Is<fault::SeriesResistance>() &&
           like.hypothesis.faults[0].at == pin;
  }));
}

// The twin: what no supply may be off by is said, and where.
TEST(SupplyOffByMore, IsNamed) {
  Bench bench("hill_climb");
  const Diagnosis d = bench.Diagnose({Make(fault::SupplyOff{-3.5}, "battery")}, 5);
  ASSERT_FALSE(d.healthy);
  EXPECT_TRUE(Names(d.groups[0], "battery")) << First(bench, d);
}

TEST(SensorOff, IsNamedAndNotTheControllersTable) {
  Bench bench("hill_climb");
  const Diagnosis d = bench.Diagnose({Make(fault::SensorOffset{10}, "coolant")}, 4);
  ASSERT_FALSE(d.healthy);
  EXPECT_TRUE(Names(d.groups[0], "coolant")) << First(bench, d);
}

TEST(SensorStuck, IsNamed) {
  Bench bench("hill_climb");
  const Diagnosis d = bench.Diagnose({Make(fault::SensorStuck{37}, "throttle")}, 4);
  ASSERT_FALSE(d.healthy);
  EXPECT_TRUE(Names(d.groups[0], "throttle")) << First(bench, d);
}

TEST(DisplayByteOrder, IsFirstAndNotAnotherScale) {
  Bench bench("hill_climb");
  fault::Layout layout;
  layout.byte_order = profile::ByteOrder::kLittle;
  layout.start_bit = 0;
  const Diagnosis d = bench.Diagnose({Make(layout, "engine_pressures.manifold")}, 4);
  ASSERT_FALSE(d.healthy);
  EXPECT_EQ(d.groups[0].members[0].hypothesis.kind, "display byte order") << First(bench, d);
  EXPECT_GT(d.groups[0].share, 0.9);
}

class LeadsSwapped : public testing::TestWithParam<const char*> {};

// The two leads of the crank's coil in each other's place: mended at that plug, or where its wires
// come out.
TEST_P(LeadsSwapped, IsFirst) {
  Bench bench(GetParam());
  const auto& coil = std::get<profile::VariableReluctancePickup>(bench.bench().triggers[0].pickup);
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const Diagnosis d =
        bench.Diagnose({Make(fault::TerminalsSwapped{}, coil.plus, coil.minus)}, seed);
    ASSERT_FALSE(d.groups.empty());
    EXPECT_FALSE(d.healthy);
    EXPECT_TRUE(Names(d.groups[0], coil.plus)) << seed << ": " << First(bench, d);
  }
}
INSTANTIATE_TEST_SUITE_P(Shipped, LeadsSwapped, testing::Values("hill_climb", "boat_v8"));

TEST(BilgeSwitch, NoFaultOfItIsNothing) {
  Bench bench("boat_v8");
  const std::vector<Fault> faults = {
      Make(fault::Open{}, "BS.1"), Make(fault::ShortToGround{0.1}, "BS.1"),
      Make(fault::NotFitted{}, "bilge"), Make(fault::SensorStuck{1}, "bilge"),
      Make(fault::Open{}, "bilge_ground")};
  for (const Fault& f : faults) {
    const Diagnosis d = bench.Diagnose({f}, 6);
    EXPECT_FALSE(d.healthy) << f.name;
    ASSERT_FALSE(d.groups.empty()) << f.name;
    EXPECT_TRUE(Names(d.groups[0], f.at)) << f.name << " taken for " << First(bench, d);
  }
}

// A pair is in the race though a single fault is there too, and pays for both.
TEST(Healthy, AccusesNobodyWithSensorErrorsAndSupplyOff) {
  Bench bench("hill_climb");
  Random random(17, 3);
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    const double volts = 2 * random.Uniform() - 1;
    const Diagnosis d = bench.Diagnose({Make(fault::SupplyOff{volts}, "battery")}, seed);
    EXPECT_TRUE(d.healthy) << seed << ", " << volts << " V: " << First(bench, d);
  }
}

}  // namespace
}  // namespace drycrank::diagnose
