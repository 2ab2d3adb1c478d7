// SPDX-License-Identifier: Apache-2.0
//
// On the shipped kart (invented): a thermistor on a pull-up of 2.2 kohm to 5 V, Hall pickups at the
// crank.
#include "diagnose/pin_states.h"

#include <gtest/gtest.h>

#include <cstdlib>

#include "profile/load.h"
#include "standin/conversion.h"
#include "walk/walk.h"

namespace drycrank::diagnose {
namespace {

class PinStatesOfKart : public testing::Test {
 protected:
  PinStatesOfKart()
      : loaded_(profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/kart.yaml")),
        bench_(*loaded_.bench),
        scenario_(walk::MakeWalk(bench_).scenario) {
    TimeNs begin_ns = 0;
    for (const profile::Step& step : scenario_.steps) {
      begins_ns_.push_back(begin_ns);
      begin_ns += FromSeconds(step.for_s);
    }
    begins_ns_.push_back(begin_ns);
    pins_.emplace(bench_, scenario_, begins_ns_, 1);
  }

  PinStates::Rows With(const profile::FaultKind& kind, const std::string& at) const {
    profile::Fault fault;
    fault.kind = kind;
    fault.at = at;
    return *pins_->Solve({&fault, 1});
  }
  int InputOf(const std::string& channel) const {
    const auto& analog = bench_.controller->analog;
    const int at = profile::IndexOf(analog, channel);
    return standin::InputIndex(*bench_.controller,
                               analog.at(static_cast<std::size_t>(at)).terminal);
  }

  profile::LoadedBench loaded_;
  const profile::Bench& bench_;
  profile::Scenario scenario_;
  std::vector<TimeNs> begins_ns_;
  std::optional<PinStates> pins_;
};

// 10 ms between samples, over the whole walk.
TEST_F(PinStatesOfKart, EachSampleHasAState) {
  EXPECT_EQ(pins_->samples(), static_cast<std::size_t>(begins_ns_.back() / (10 * kNsPerMs)));
  for (std::size_t i = 0; i < pins_->samples(); ++i) ASSERT_LT(pins_->StateAt(i), pins_->states());
}

// Nothing is left to pull against but the input's own megohm: 5 V * 1 Mohm / (1 Mohm + 2.2 kohm).
TEST_F(PinStatesOfKart, AnOpenThermistorReadsThePullUpsSupplyInEachState) {
  const PinStates::Rows rows = With(profile::fault::Open{}, "head_signal");
  for (std::size_t s = 0; s < pins_->states(); ++s) {
    EXPECT_NEAR(rows.input_v(s, InputOf("head_temperature")), 5 / 1.0022, 1e-4);
  }
}

TEST_F(PinStatesOfKart, AThermistorsWireLeavesTheEdgesAsTheyAre) {
  const PinStates::Rows healthy = *pins_->Solve({});
  const PinStates::Rows open = With(profile::fault::Open{}, "head_signal");
  EXPECT_EQ(pins_->EdgeKey(open, healthy), pins_->EdgeKey(healthy, healthy));
  EXPECT_FALSE(pins_->SameAt(InputOf("head_temperature"), open, healthy));
  // What it no longer draws moves the shared ground, and all else by less than a millivolt.
  for (std::size_t i = 0; i < pins_->states(); ++i) {
    const int throttle = InputOf("throttle");
    EXPECT_NEAR(open.input_v(i, throttle), healthy.input_v(i, throttle), 1e-3);
    EXPECT_NEAR(open.reference_v(i)[0], healthy.reference_v(i)[0], 1e-3);
  }
}

TEST_F(PinStatesOfKart, EachEndOfOneTriggerWireBreaksAlike) {
  const PinStates::Rows healthy = *pins_->Solve({});
  const auto& terminal = bench_.controller->triggers.at(0).terminal;
  const auto open = pins_->EdgeKey(With(profile::fault::Open{}, terminal), healthy);
  EXPECT_NE(open, pins_->EdgeKey(healthy, healthy));
  for (const profile::Wire& wire : bench_.wires) {
    if (wire.from != terminal && wire.to != terminal) continue;
    EXPECT_EQ(pins_->EdgeKey(With(profile::fault::Open{}, wire.circuit), healthy), open);
  }
}

}  // namespace
}  // namespace drycrank::diagnose
