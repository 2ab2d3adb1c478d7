// SPDX-License-Identifier: Apache-2.0
//
// A 5 V reference with a limit, against ngspice decks written by hand (small_bench.h): the limit in
// them is a source of current that falls off at once, within 0.1 mV and 1 mA. Draws have a fixed seed.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "harness/variants.h"
#include "tests/harness/small_bench.h"
#include "tests/support/ngspice.h"

namespace drycrank::harness {
namespace {

namespace fault = profile::fault;

constexpr double kToleranceV = 1e-4, kToleranceA = 1e-3;
constexpr double kFraction = 0.6;

// MAP at ECU.6; OIL at a reference of its own, ECU.8.
profile::Bench LimitedBench(double limit_ma) {
  support::BenchBuilder b = SmallBench();
  AddThreeWires(b, "MAP", "ECU.6");
  b.Connector("OIL", 3).Wire("OIL_supply", "ECU.8", "OIL.1").Wire("OIL_ground", "OIL.2", "S_GND");
  b.Wire("OIL_signal", "OIL.3", "ECU.9").Reference("ECU.6").Reference("ECU.8");
  b.Sensor("pressure", support::Ratiometric("MAP")).Input("ECU.7");
  b.Sensor("oil", support::Ratiometric("OIL")).Input("ECU.9");
  profile::Bench bench = b.Build();
  for (profile::ReferenceOutput& output : bench.controller->references) output.limit_ma = limit_ma;
  return bench;
}

profile::Fault ShortAt(const std::string& at, double ohm) {
  profile::Fault f;
  f.kind = fault::ShortToGround{ohm};
  f.at = at;
  f.name = "short";
  return f;
}

struct Solved {
  explicit Solved(double limit_ma, const profile::Fault& f)
      : faults{&f}, harness(LimitedBench(limit_ma), faults) {
    harness.Solve(std::vector<double>{kFraction, kFraction}, input_v);
  }
  // Out of the controller, by the contact of 5 mohm.
  double Amperes(const std::string& pin) const {
    return (harness.Voltage(pin) - harness.Voltage(pin + "~")) / 0.005;
  }
  std::vector<const profile::Fault*> faults;
  Harness harness;
  std::vector<double> input_v = std::vector<double>(2);
};

// Up to its limit 5 V behind 0.2 ohm, beyond it as many amperes as that. A sensor below 3.5 V drives
// nothing: 1 Mohm.
std::string Deck(double limit_a, double short_ohm) {
  std::string deck = R"(* hand-written
.options reltol=1e-7 vntol=1e-9 abstol=1e-14 gmin=1e-15 itl1=500
Vbat cell 0 12
Rbat cell bp 20m
Rplus bp ep 49m
Rminus 0 eg 49m
Recu ep eg 30
Rinside eg sg 20m
Rground sg s 44m
)";
  for (const char* n : {"1", "2"}) {
    deck += fmt::format(R"(
B{0} eg out{0} I = V(out{0},eg) < {1} ? {2} : (5 - V(out{0},eg)) / 0.2
Rplug{0} out{0} wire{0} 5m
Rhalf{0} wire{0} end{0} 39m
Rpin{0} end{0} ms{0} 5m
Rdraw{0} ms{0} mg{0} 1000
Rback{0} mg{0} s 44m
Bout{0} mo{0} mg{0} I = V(ms{0},mg{0}) >= 3.5 ? (V(mo{0},mg{0}) - {3} * V(ms{0},mg{0})) / 50 : V(mo{0},mg{0}) / 1meg
Rwire{0} mo{0} in{0} 49m
Rin{0} in{0} eg 1meg
)",
                        n, 5 - 0.2 * limit_a, limit_a, kFraction);
  }
  return deck + fmt::format("Rshort end1 0 {}\n.op\n.end\n", short_ohm);
}

TEST(LimitedReference, AgreesWithNgspiceInDrawsOfShortAndLimit) {
  std::mt19937 random(20260907);
  std::uniform_real_distribution<double> exponent(-1, 3), limit(50, 250);
  int limited = 0;
  for (int i = 0; i < 60; ++i) {
    const double ohm = std::pow(10, exponent(random)), limit_ma = limit(random);
    SCOPED_TRACE(fmt::format("{} ohm, {} mA", ohm, limit_ma));
    const profile::Fault f = ShortAt("MAP.1", ohm);
    const Solved solved(limit_ma, f);
    EXPECT_EQ(solved.harness.unsettled_count(), 0);
    const support::NgspiceResult spice = support::RunNgspice(Deck(limit_ma * 1e-3, ohm));
    ASSERT_TRUE(spice.node_v.contains("out1")) << spice.log;
    const auto v = [&](const char* a, const char* b) {
      return spice.node_v.at(a) - spice.node_v.at(b);
    };
    EXPECT_NEAR(solved.harness.Reference(0), v("out1", "eg"), kToleranceV);
    EXPECT_NEAR(solved.harness.Reference(1), v("out2", "eg"), kToleranceV);
    EXPECT_NEAR(solved.input_v[0], v("in1", "eg"), kToleranceV);
    EXPECT_NEAR(solved.input_v[1], v("in2", "eg"), kToleranceV);
    EXPECT_NEAR(solved.Amperes("ECU.6"), v("out1", "wire1") / 0.005, kToleranceA);
    EXPECT_NEAR(solved.Amperes("ECU.8"), v("out2", "wire2") / 0.005, kToleranceA);
    if (solved.harness.Reference(0) < 4.9) ++limited;
  }
  EXPECT_GT(limited, 10);
  EXPECT_LT(limited, 50);
}

// 100 mA through 1.5 ohm and 44 mohm are 0.154 V, less what the controller's 0.4 A lift its ground:
// 19.6 mV, and 4.9 mV by the 100 mA. Without a limit 5 V / (0.2 + 0.044 + 1.5 + 0.049 ohm) = 2.8 A.
TEST(LimitedReference, AShortPullsDownItsOwnAndNoOther) {
  const profile::Fault f = ShortAt("MAP.1", 1.5);
  const Solved limited(100, f), free(0, f);
  EXPECT_NEAR(limited.Amperes("ECU.6"), 0.1, 1e-5);
  EXPECT_NEAR(limited.harness.Reference(0), 0.1544 - 0.0196 + 0.0049, 0.002);
  EXPECT_NEAR(limited.harness.Reference(1), 5 - 0.2 * 0.005, 1e-3);
  EXPECT_NEAR(free.Amperes("ECU.6"), 2.8, 0.05);
}

TEST(LimitedReference, BelowItsLimitItIsAsWithout) {
  const profile::Fault f = ShortAt("MAP.1", 100);  // 50 mA
  const Solved limited(100, f), free(0, f);
  for (int i : {0, 1}) {
    EXPECT_NEAR(limited.harness.Reference(i), free.harness.Reference(i), 1e-9);
    EXPECT_NEAR(limited.input_v[static_cast<std::size_t>(i)],
                free.input_v[static_cast<std::size_t>(i)], 1e-9);
  }
}

// 12 V on it: what it takes in is not limited.
TEST(LimitedReference, TakesInWithoutLimit) {
  profile::Fault f = ShortAt("MAP.1", 10);
  f.kind = fault::ShortToSupply{10};
  const Solved limited(100, f), free(0, f);
  EXPECT_NEAR(limited.harness.Reference(0), free.harness.Reference(0), 1e-9);
  EXPECT_LT(limited.Amperes("ECU.6"), -0.6);  // (12 - 5) / 10.3
}

// A source that is off by some volts keeps its limit.
TEST(LimitedReference, OffByAVoltItKeepsItsLimit) {
  profile::Fault low = ShortAt("ECU.6", 0), f = ShortAt("MAP.1", 1.5);
  low.kind = fault::SupplyOff{-1};
  const std::vector<const profile::Fault*> both{&low, &f};
  const profile::Bench bench = LimitedBench(100);
  Harness harness(bench, both);
  std::vector<double> input_v(2);
  harness.Solve(std::vector<double>{kFraction, kFraction}, input_v);
  EXPECT_NEAR((harness.Voltage("ECU.6") - harness.Voltage("ECU.6~")) / 0.005, 0.1, 1e-5);
  EXPECT_FALSE(EditOf(bench, MakeTopology(bench, {}), std::vector<profile::Fault>{low}));
}

// What diagnosis tries by the thousand (variants.h) is what the network above is.
TEST(LimitedReference, ChangesOfTheHealthyNetworkAreTheSame) {
  const profile::Bench bench = LimitedBench(80);
  const std::vector<double> values{kFraction, kFraction};
  const Variants base(bench, values);
  Variant variant(base);
  for (const double ohm : {0.1, 1.5, 20.0, 61.0, 63.0, 200.0, 5000.0}) {
    const profile::Fault f = ShortAt("MAP.1", ohm);
    const auto edit = EditOf(bench, base.topology(), {&f, 1});
    ASSERT_TRUE(edit);
    variant.Put(*edit);
    EXPECT_TRUE(variant.Solve(values));
    const Solved solved(80, f);
    for (int i : {0, 1}) {
      EXPECT_NEAR(variant.Reference(i), solved.harness.Reference(i), 1e-6) << ohm;
      EXPECT_NEAR(variant.InputVoltage(i), solved.input_v[static_cast<std::size_t>(i)], 1e-6)
          << ohm;
    }
    EXPECT_LT(std::abs(variant.FirstPortAmperes()), 0.0801);
  }
}

}  // namespace
}  // namespace drycrank::harness
