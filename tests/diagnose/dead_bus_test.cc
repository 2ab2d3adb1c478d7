// SPDX-License-Identifier: Apache-2.0
//
// A bus on which nothing at all is heard, on the hill climb car's bench: what may be wrong with its
// pair, and what speaks against the rest. Ohms by hand, with the battery off and all plugs on: two
// terminations of 120 ohm, 60 across the pair; 0 where its wires touch.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <set>
#include <string>
#include <vector>

#include "diagnose/meter.h"
#include "diagnose/narrowed.h"
#include "diagnose/rank.h"
#include "profile/load.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

namespace fault = profile::fault;
using profile::Fault;
using testing::Contains;
using testing::Not;

Fault Make(const profile::FaultKind& kind, const std::string& at, const std::string& with = "") {
  Fault fault;
  fault.kind = kind;
  fault.name = at;
  fault.at = at;
  fault.with = with;
  return fault;
}

class DeadBus : public testing::Test {
 protected:
  // As after a walk that failed.
  Diagnosis Diagnose(const Fault& truth) {
    observed_ = walked_.Observe({truth}, 0);
    for (const auto& row : observed_) {
      for (const double value : row) EXPECT_TRUE(std::isnan(value));
    }
    EXPECT_TRUE(walked_.cycle_failed());
    return ranker_.Rank(observed_, {.doubles = false, .fired = &walked_.fired()});
  }
  static std::set<std::string> First(const Diagnosis& diagnosis) {
    std::set<std::string> all;
    for (const Candidate& member : diagnosis.groups.at(0).members) {
      const Fault& f = member.hypothesis.faults[0];
      all.insert(member.hypothesis.kind + " " + f.at + (f.with.empty() ? "" : " " + f.with));
    }
    return all;
  }
  // Repairs left after ohms across the pair, all plugs on.
  Narrowed After(const Diagnosis& diagnosis, double ohm) {
    MeasuredModel model(walked_.bench(), predictor_, observed_);
    const Repairs repairs(walked_.bench());
    const Probing across{Meter::kOhms, "DSP.3~", "DSP.4~", {}, RestOf(walked_.bench())};
    return Narrow(model, repairs, diagnosis, std::vector{Answered{across, ohm}});
  }

  Walked walked_{"hill_climb"};
  Predictor predictor_{walked_.bench(), walked_.situations()};
  Ranker ranker_{walked_.bench(), predictor_};
  Observation observed_;
};

TEST_F(DeadBus, ItsWiresTouchingEachOtherOrAPoleAreSuspects) {
  const Diagnosis diagnosis = Diagnose(Make(fault::ShortTogether{0.05}, "DSP.3", "DSP.4"));
  const std::set<std::string> first = First(diagnosis);
  for (const char* fault :
       {"neighbours shorted DSP.3 DSP.4", "neighbours shorted ECU.33 ECU.34",
        "short to ground DSP.3", "short to supply DSP.3", "short to supply DSP.4",
        "terminals swapped DSP.3 DSP.4", "terminals swapped ECU.33 ECU.34"}) {
    EXPECT_THAT(first, Contains(fault));
  }
  // CAN-L at ground: the pair still differs by enough (by hand: 3.6 V drive it high).
  EXPECT_THAT(first, Not(Contains("short to ground DSP.4")));
}

TEST_F(DeadBus, NoOhmLeavesThePairTouching) {
  const Diagnosis diagnosis = Diagnose(Make(fault::ShortTogether{0.05}, "DSP.3", "DSP.4"));
  for (const double ohm : {0.0, 0.2}) {
    const Narrowed left = After(diagnosis, ohm);
    ASSERT_FALSE(left.repairs.empty());
    EXPECT_GT(left.repairs[0].share, 0.9) << left.repairs[0].repair.words;
    const Hypothesis& named = left.suspects[0].candidate->hypothesis;
    EXPECT_EQ(named.kind, "neighbours shorted");
    const std::set<std::string> pins = {named.faults[0].at, named.faults[0].with};
    EXPECT_TRUE((pins == std::set<std::string>{"DSP.3", "DSP.4"}) ||
                (pins == std::set<std::string>{"ECU.33", "ECU.34"}));
  }
}

// Sparks were seen: it had its supply.
TEST_F(DeadBus, AControllerThatFiresHasItsSupply) {
  const Diagnosis diagnosis = Diagnose(Make(fault::TerminalsSwapped{}, "DSP.3", "DSP.4"));
  const std::set<std::string> first = First(diagnosis);
  EXPECT_THAT(first, Contains("terminals swapped DSP.3 DSP.4"));
  for (const char* fault :
       {"wire open supply", "wire open ground", "contact open BAT.1", "contact open BAT.2",
        "contact open ECU.1", "terminals swapped BAT.1 BAT.2"}) {
    EXPECT_THAT(first, Not(Contains(fault)));
  }
}

// And none were: it has not.
TEST_F(DeadBus, OneThatFiresNothingMayHaveNone) {
  const std::set<std::string> first = First(Diagnose(Make(fault::Open{}, "BAT.1")));
  EXPECT_THAT(first, Contains("wire open supply"));
  EXPECT_THAT(first, Contains("contact open BAT.1"));
  EXPECT_THAT(first, Not(Contains("terminals swapped DSP.3 DSP.4")));
}

// Half a volt less is too little: of 3.6 V, with 24 ohm in either driver and 60 across, 1000 ohm
// leave far less. Only the display says so: its own contacts count as well as the controller's.
TEST_F(DeadBus, AResistanceBeforeTheDisplayIsASuspect) {
  observed_ = walked_.Observe({Make(fault::SeriesResistance{1000}, "DSP.3")}, 0);
  const Diagnosis diagnosis = ranker_.Rank(observed_, {.doubles = false});
  const std::set<std::string> first = First(diagnosis);
  EXPECT_THAT(first, Contains("series resistance DSP.3"));
  EXPECT_THAT(first, Contains("series resistance DSP.4"));
  EXPECT_THAT(first, Contains("contact open DSP.3"));
}

// With the display's CAN-H in the cavity of its ground, the meter at the cavities DSP.3 and DSP.4 has
// its 120 ohm before it, the other 120 beyond the display itself (40 ohm) and the controller.
TEST_F(DeadBus, TheKeyOffHoldsNoPairUp) {
  const MeterModel meter(walked_.bench());
  const Probing across{Meter::kOhms, "DSP.3~", "DSP.4~", {}, RestOf(walked_.bench())};
  const auto ohms = [&](const std::vector<Fault>& faults) {
    return FromScale(Meter::kOhms, meter.Expect(across, faults).y);
  };
  const double healthy = ohms({});
  EXPECT_NEAR(healthy, 60, 1);
  EXPECT_NEAR(ohms({Make(fault::ShortToGround{0.05}, "DSP.3")}), 60, 1);
  EXPECT_NEAR(ohms({Make(fault::ShortTogether{0.05}, "DSP.3", "DSP.4")}), 0, 0.1);
  EXPECT_GT(ohms({Make(fault::TerminalsSwapped{}, "DSP.2", "DSP.3")}), 60);
  EXPECT_LT(ohms({Make(fault::TerminalsSwapped{}, "DSP.2", "DSP.3")}), 121);
  // A contact loses volts only while amperes flow.
  EXPECT_NEAR(ohms({Make(fault::GroundOffset{-2}, "DSP.3")}), healthy, 1);
}

}  // namespace
}  // namespace drycrank::diagnose
