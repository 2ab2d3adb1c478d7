// SPDX-License-Identifier: Apache-2.0
//
// Every single fault of the shipped benches, as a change of low rank and as a network of its own:
// the same volts at every input. The network itself is held to ngspice (tests/harness).
#include "diagnose/electrical.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

#include "diagnose/hypothesis.h"
#include "diagnose/suspects.h"
#include "tests/diagnose/large_bench.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {
namespace {

constexpr double kAlikeV = 1e-4;
// Where a fault was seen to leave a source's steps as they are, within a millivolt, they are taken
// from the healthy bench in other situations too.
constexpr double kShortCutV = 5e-3;

constexpr double kNone = 1e-300;

// Largest difference at any input, all outputs off and each alone on.
double DifferenceOn(const profile::Bench& bench, const Hypothesis& h, const Situation& situation,
                    const Electrical& found) {
  harness::Harness network = HarnessIn(bench, situation, h.faults);
  std::vector<const profile::Fault*> pointers;
  for (const profile::Fault& fault : h.faults) pointers.push_back(&fault);
  harness::DeviceValues values = DevicesIn(bench, situation, pointers);
  std::vector<double> input_v(found.input_v.size());
  double worst = 0;
  const auto compare = [&](const std::vector<double>& volts) {
    for (std::size_t n = 0; n < volts.size(); ++n) {
      worst = std::max(worst, std::abs(volts[n] - input_v[n]));
    }
  };
  for (const Reach& reach : found.reaches) {
    if (reach.coil) {
      network.Transfer(reach.device, input_v);
      compare(reach.gain);
      continue;
    }
    values[static_cast<std::size_t>(reach.device)] = 1;
    network.Solve(values, input_v);
    compare(reach.on_v);
    values[static_cast<std::size_t>(reach.device)] = 0;
    network.Solve(values, input_v);
  }
  network.Solve(values, input_v);
  compare(found.input_v);
  return std::max({worst, std::abs(found.supply_v - network.ControllerSupply()), kNone});
}

class ElectricalTest : public testing::TestWithParam<const char*> {
 protected:
  double Difference(const Hypothesis& h, const Situation& situation, const Electrical& found) {
    return DifferenceOn(walked_.bench(), h, situation, found);
  }

  Walked walked_{GetParam()};
  HealthyElectrical healthy_{walked_.bench(), walked_.situations()};
};

TEST_P(ElectricalTest, EveryFaultGivesTheVoltsOfItsOwnNetwork) {
  const std::vector<Situation>& situations = walked_.situations();
  int tried = 0;
  std::vector<Hypothesis> all = SingleFaults(walked_.bench());
  const std::vector<Hypothesis> more = Suspects(walked_.bench());
  all.insert(all.end(), more.begin(), more.end());
  for (const Hypothesis& h : all) {
    ElectricalModel model(walked_.bench(), healthy_, h.faults);
    for (const std::size_t s : {situations.size() / 2, std::size_t{0}, situations.size() - 1}) {
      const std::string what = Describe(walked_.bench(), h) + " while " + situations[s].name;
      EXPECT_LT(Difference(h, situations[s], model.SolveIn(s)), kShortCutV) << what;
      EXPECT_LT(Difference(h, situations[s], model.SolveIn(situations[s])), kAlikeV) << what;
      ++tried;
    }
  }
  EXPECT_GT(tried, 1000);
}

// The twin: another fault is another network.
TEST_P(ElectricalTest, AnotherFaultGivesOtherVolts) {
  const Situation& rest = walked_.situations().front();
  profile::Fault open;
  open.kind = profile::fault::Open{};
  open.at = walked_.bench().controller->ground;
  ElectricalModel faulty(walked_.bench(), healthy_, {{open}}),
      healthy(walked_.bench(), healthy_, {});
  EXPECT_LT(faulty.SolveIn(rest).supply_v, 1);
  EXPECT_GT(healthy.SolveIn(rest).supply_v, 11);
}

INSTANTIATE_TEST_SUITE_P(Benches, ElectricalTest,
                         testing::Values("hill_climb", "boat_v8", "kart", "generator"));

// The boat's three sensors of one 5 V output, 15 mA of 40 (invented): what a short draws is what is left,
// and a change of the healthy network knows it as the network of its own does.
TEST(ElectricalOfALimitedReference, EveryFaultGivesTheVoltsOfItsOwnNetwork) {
  profile::Bench bench = *profile::LoadBench(DRYCRANK_PROFILES_DIR "/benches/boat_v8.yaml").bench;
  bench.controller->references[0].limit_ma = 40;
  const Walked walked(bench);
  const std::size_t middle = walked.situations().size() / 2;
  const HealthyElectrical healthy(walked.bench(), walked.situations());
  int limited = 0;
  std::vector<Hypothesis> all = SingleFaults(walked.bench());
  const std::vector<Hypothesis> more = Suspects(walked.bench());
  all.insert(all.end(), more.begin(), more.end());
  for (const Hypothesis& h : all) {
    ElectricalModel model(walked.bench(), healthy, h.faults);
    const Electrical found = model.SolveIn(walked.situations()[middle]);
    EXPECT_LT(DifferenceOn(walked.bench(), h, walked.situations()[middle], found), kAlikeV)
        << Describe(walked.bench(), h);
    if (found.reference_v[0] < 4.9) ++limited;
    for (const std::size_t s : {std::size_t{0}, middle, walked.situations().size() - 1}) {
      EXPECT_LT(DifferenceOn(walked.bench(), h, walked.situations()[s], model.SolveIn(s)), kShortCutV)
          << Describe(walked.bench(), h) << " by what it shifts, " << s;
    }
  }
  EXPECT_GT(limited, 10);
}

// Of so many devices that what an ampere does is put together of what it does at single nodes.
TEST(ElectricalOfALargeBench, EveryFaultGivesTheVoltsOfItsOwnNetwork) {
  const LargeBench large(200);
  const HealthyElectrical healthy(large.bench(), large.situations());
  ASSERT_GE(healthy.variants().device_count(), 64);
  const std::vector<Hypothesis> all = Suspects(large.bench());
  for (std::size_t i = 0; i < all.size(); i += 29) {
    ElectricalModel model(large.bench(), healthy, all[i].faults);
    const std::size_t last = large.situations().size() - 1;
    for (const std::size_t s : {std::size_t{0}, std::size_t{5}, last / 2, last}) {
      EXPECT_LT(DifferenceOn(large.bench(), all[i], large.situations()[s], model.SolveIn(s)), kAlikeV)
          << Describe(large.bench(), all[i]);
    }
  }
}

}  // namespace
}  // namespace drycrank::diagnose
