// SPDX-License-Identifier: Apache-2.0
//
// What was solved before is told again as it was: in any order, with supply and gains.
#include "diagnose/held_wiring.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <vector>

#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

class HeldWiringTest : public testing::TestWithParam<const char*> {
 protected:
  static profile::Fault Fault(profile::FaultKind kind, const std::string& at) {
    profile::Fault fault;
    fault.kind = std::move(kind);
    fault.at = at;
    return fault;
  }
  // The situation's devices with each combination of the switching ones: bit by bit.
  harness::DeviceValues With(const Electrical& at, unsigned conducting) const {
    harness::DeviceValues values = DevicesIn(walked_.bench(), situation_, {});
    for (std::size_t r = 0; r < at.reaches.size(); ++r) {
      if (at.reaches[r].coil) continue;
      values[static_cast<std::size_t>(at.reaches[r].device)] = (conducting >> r) & 1;
    }
    return values;
  }
  struct Seen {
    std::vector<double> input_v, gains;
    double supply_v = 0;
    bool operator==(const Seen&) const = default;
  };
  template <class Wiring>
  Seen Ask(Wiring& wiring, const Electrical& at, unsigned conducting) const {
    Seen seen;
    seen.input_v.resize(at.input_v.size());
    wiring.Solve(With(at, conducting), seen.input_v);
    seen.supply_v = wiring.ControllerSupply();
    std::vector<double> gain(at.input_v.size());
    for (const Reach& reach : at.reaches) {
      if (!reach.coil) continue;
      wiring.Transfer(reach.device, gain);
      seen.gains.insert(seen.gains.end(), gain.begin(), gain.end());
    }
    return seen;
  }

  Walked walked_{GetParam()};
  Situation situation_ = walked_.situations().back();
  HealthyElectrical healthy_{walked_.bench(), walked_.situations()};
};

TEST_P(HeldWiringTest, AnswersAsTheModelDoes) {
  const std::string ground = walked_.bench().controller->ground;
  for (const profile::Fault& fault : {Fault(profile::fault::Open{}, ground),
                                      Fault(profile::fault::SeriesResistance{2}, ground)}) {
    ElectricalModel model(walked_.bench(), healthy_, {{fault}});
    ElectricalModel other(walked_.bench(), healthy_, {{fault}});
    const Electrical& at = other.SolveIn(situation_);
    HeldWiring held(walked_.bench(), model);
    for (const unsigned conducting : {0u, 1u, 3u, 1u, 0u, 2u, 3u, 7u, 0u, 7u, 2u}) {
      EXPECT_EQ(Ask(held, at, conducting), Ask(other, at, conducting)) << conducting;
    }
  }
}

// The twin: combinations do differ, so that a wrong one would be seen.
TEST_P(HeldWiringTest, CombinationsDiffer) {
  ElectricalModel model(walked_.bench(), healthy_, {});
  const Electrical at = model.SolveIn(situation_);
  HeldWiring held(walked_.bench(), model);
  int differ = 0;
  for (std::size_t r = 0; r < at.reaches.size(); ++r) {
    if (!at.reaches[r].coil) differ += Ask(held, at, 1u << r) == Ask(held, at, 0) ? 0 : 1;
  }
  EXPECT_GT(differ, 0);
}

INSTANTIATE_TEST_SUITE_P(Benches, HeldWiringTest,
                         testing::Values("hill_climb", "boat_v8", "kart", "generator"));

}  // namespace
}  // namespace drycrank::diagnose
