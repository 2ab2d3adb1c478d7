// SPDX-License-Identifier: Apache-2.0
//
// Terminations of a bus as suspects. Ohms across the pair: 60 as built, 120 with one missing
// (tests/reference/can_bus.yaml); 40 with a third, 107 with 1 kohm for one of 120, by hand. The
// transceivers' 25 kohm to each side take up to half an ohm of it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "diagnose/hypothesis.h"
#include "diagnose/meter.h"
#include "diagnose/next_test.h"
#include "diagnose/repair.h"
#include "diagnose/unheard.h"
#include "profile/load.h"

namespace drycrank::diagnose {
namespace {

using profile::Fault;
using testing::HasSubstr;
namespace fault = profile::fault;

profile::Bench Load(const std::string& name) {
  return *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/" + name + ".yaml").bench;
}

Fault Termination(const std::string& at, double ohm) {
  Fault fault;
  fault.kind = fault::Termination{ohm};
  fault.at = at;
  return fault;
}

class Terminations : public testing::Test {
 protected:
  double Ohms(const std::vector<Fault>& faults, std::vector<std::string> pulled = {}) const {
    const Probing probing{Meter::kOhms, "KEYPAD.3~", "KEYPAD.4~", std::move(pulled),
                          RestOf(bench_)};
    return FromScale(Meter::kOhms, model_.Expect(probing, faults).y);
  }
  std::vector<std::string> Described(const std::string& kind) const {
    std::vector<std::string> all;
    for (const Hypothesis& h : SingleFaults(bench_)) {
      if (h.kind == kind) all.push_back(Describe(bench_, h));
    }
    return all;
  }

  profile::Bench bench_ = Load("buggy");
  MeterModel model_{bench_};
};

TEST_F(Terminations, TheMeterTellsThem) {
  const std::string bus = bench_.buses[0].name;
  EXPECT_NEAR(Ohms({}), 60, 1);
  EXPECT_NEAR(Ohms({Termination(bus + ".ecu", 0)}), 120, 1.5);
  EXPECT_NEAR(Ohms({Termination(bus + ".display", 0)}), 120, 1.5);
  EXPECT_NEAR(Ohms({Termination(bus + ".keypad", 120)}), 40, 1);
  EXPECT_NEAR(Ohms({Termination(bus + ".display", 1000)}), 107, 1.5);
  // Which of two is missing: with the display's plug off, the controller's 120 ohm are there or
  // nothing is but the transceivers' 25 kohm to each side, of controller and keypad: 25 kohm.
  EXPECT_NEAR(Ohms({Termination(bus + ".display", 0)}, {"DISPLAY"}), 120, 1.5);
  EXPECT_NEAR(Ohms({Termination(bus + ".ecu", 0)}, {"DISPLAY"}), 25e3, 500);
}

TEST_F(Terminations, EachIsASuspectWithItsPins) {
  const std::string bus = bench_.buses[0].name;
  EXPECT_THAT(Described("termination missing"),
              testing::ElementsAre(HasSubstr(bus + ".ecu (ECA.30 to ECA.31"),
                                   HasSubstr(bus + ".display (DISPLAY.3 to DISPLAY.4")));
  EXPECT_THAT(Described("termination too many"),
              testing::ElementsAre(HasSubstr("of 120 Ω at " + bus + ".keypad")));
  EXPECT_THAT(Described("termination wrong"),
              testing::Contains(HasSubstr("has 1 kΩ and should have 120 Ω")).Times(2));
  EXPECT_EQ(Described("terminations all missing").size(), 1u);
}

TEST_F(Terminations, WithoutAnyNothingIsHeardAndWithOneAllIs) {
  const std::string bus = bench_.buses[0].name;
  const Unheard unheard(bench_);
  const Fault ecu = Termination(bus + ".ecu", 0), display = Termination(bus + ".display", 0);
  EXPECT_TRUE(unheard.KeepsAny(std::vector{ecu, display}));
  EXPECT_FALSE(unheard.KeepsAny(std::vector{ecu}));
  EXPECT_FALSE(unheard.KeepsAny(std::vector{Termination(bus + ".ecu", 1000)}));
  EXPECT_FALSE(unheard.KeepsAny(std::vector{Termination(bus + ".keypad", 120)}));
  // 1 ohm, 60 in parallel: 3.6 V * 1 / 49 is not 0.9 V.
  EXPECT_TRUE(unheard.KeepsAny(std::vector{Termination(bus + ".ecu", 1)}));
}

TEST_F(Terminations, TheRepairIsToMeasureAndFitIt) {
  const Repairs repairs(bench_);
  Hypothesis missing;
  missing.faults = {Termination(bench_.buses[0].name + ".ecu", 0)};
  const Repair repair = repairs.Of(missing);
  EXPECT_THAT(repair.words, HasSubstr("fit what the bench says"));
}

}  // namespace
}  // namespace drycrank::diagnose
