// SPDX-License-Identifier: Apache-2.0
//
// A bench with a fault, asked as a person would ask it, one test after the other. What a meter shows
// is computed by ngspice, with wires 6 % longer or shorter than drawn, each by its own draw, and noise
// of the meter (0.3 % and 5 mV; 0.1 ohm); what is reported with a plug pulled, a stimulus held or two
// points bridged is played by the run. A plug that is moved lets a bad contact jump in six of ten
// cases, another in none (invented).
#ifndef DRYCRANK_TESTS_DIAGNOSE_ASKED_WORLD_H_
#define DRYCRANK_TESTS_DIAGNOSE_ASKED_WORLD_H_

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "diagnose/narrowed.h"
#include "diagnose/next_test.h"
#include "diagnose/rank.h"
#include "harness/netlist.h"
#include "tests/diagnose/walked.h"
#include "tests/support/ngspice.h"

namespace drycrank::diagnose {

class AskedWorld {
 public:
  AskedWorld(const profile::Bench& drawn, std::vector<profile::Fault> truth, std::uint64_t seed)
      : bench_(OffTheDrawing(drawn, seed)),
        meter_(bench_),
        truth_(std::move(truth)),
        random_(seed, 11) {}

  double Answer(const MeasuredModel& model, const Test& test) {
    if (const auto* probing = std::get_if<Probing>(&test)) return Measure(*probing);
    if (const auto* signal = std::get_if<SignalTest>(&test)) {
      return Report(model, signal->stand)[static_cast<std::size_t>(signal->reading)];
    }
    if (const auto* right = std::get_if<ComesRight>(&test)) return Right(model, right->stand);
    return JumpsAt(std::get<Jumps>(test).plug);
  }

 private:
  static profile::Bench OffTheDrawing(const profile::Bench& drawn, std::uint64_t seed) {
    profile::Bench bench = drawn;
    Random random(seed, 12);
    for (profile::Wire& wire : bench.wires) wire.length_m *= 1 + 0.06 * (2 * random.Uniform() - 1);
    return bench;
  }

  double Measure(const Probing& probing) {
    const Metered metered = meter_.Connect(probing, truth_);
    const auto solved =
        support::RunNgspice(harness::FormatNetlist(metered.topology, metered.values));
    const auto volts = [&](int node) {
      const auto at = solved.node_v.find(fmt::format("n{}", node));
      return node == 0 || at == solved.node_v.end() ? 0.0 : at->second;
    };
    const double shown =
        DialOf(probing.meter, volts(metered.across.plus) - volts(metered.across.minus));
    if (std::isinf(shown)) return shown;
    const double own = probing.meter == Meter::kVolts  ? 0.005
                       : probing.meter == Meter::kOhms ? 0.1
                                                       : 0.002;
    const double noisy = shown * (1 + 0.003 * random_.Gauss()) + own * random_.Gauss();
    return probing.meter == Meter::kVolts ? noisy : std::max(noisy, 0.0);
  }

  // The run, each stimulus held for three seconds.
  std::vector<double> Report(const MeasuredModel& model, const Stand& stand) const {
    profile::Scenario scenario;
    profile::Step step;
    step.name = "held";
    step.for_s = 4;
    for (std::size_t i = 0; i < stand.situation.stimuli.size(); ++i) {
      profile::Drive drive;
      drive.stimulus = static_cast<int>(i);
      drive.to = stand.situation.stimuli[i];
      step.drives.push_back(drive);
    }
    scenario.steps = {step};
    scenario.faults = AsFaults(bench_, stand, truth_);
    run::Runner runner(bench_, scenario, {});
    study::Readings readings(bench_, scenario, runner.timeline());
    runner.AddObserver(&readings);
    runner.Start();
    while (!runner.finished()) runner.RunTo(runner.NextDueNs());
    if (readings.observation().empty()) {
      return std::vector<double>(model.predictor().readings().size(), std::nan(""));
    }
    return readings.observation()[0];
  }

  double Right(const MeasuredModel& model, const Stand& stand) const {
    const std::vector<double> seen = Report(model, stand);
    for (const int r : model.wrong_at_rest()) {
      const auto at = static_cast<std::size_t>(r);
      if (Surprise(model.predictor().readings()[at], seen[at], model.predictor().healthy()[0][at]) >
          kFarZ) {
        return 0;
      }
    }
    return 1;
  }

  double JumpsAt(const std::string& plug) {
    for (const profile::Fault& f : truth_) {
      const bool contact = f.Is<profile::fault::Open>() || f.Is<profile::fault::SeriesResistance>();
      if (contact && f.at.starts_with(plug + ".")) return random_.Uniform() < 0.6 ? 1 : 0;
    }
    return 0;
  }

  profile::Bench bench_;
  MeterModel meter_;
  std::vector<profile::Fault> truth_;
  Random random_;
};

// Another size than any that is tried beforehand: 0.6 to 1.7 times as many ohms.
inline Hypothesis OffTheGrid(const Hypothesis& listed, std::uint64_t seed) {
  if (listed.quantity != Quantity::kOhm) return listed;
  Random random(seed, 13);
  return WithValue(listed, listed.value * 0.6 * std::pow(1.7 / 0.6, random.Uniform()));
}

// One dialogue from the record's diagnosis to its end.
struct Dialogue {
  bool suspected = false;  // the record's diagnosis has the truth, or one mended by the same work
  bool named = false;      // one repair
  bool right = false;      // and it is the truth's
  bool excluded = false;   // suspected, and an answer was held against it
  int readings = 0;
  std::vector<std::string> said;
  std::vector<std::string> left;     // repairs with their shares
  std::vector<std::string> against;  // what is held against the truth, once for each way to say it
};

inline bool IsTruth(const Candidate& candidate, const Repairs& repairs, const std::string& key) {
  return repairs.Of(candidate.hypothesis).key == key;
}

inline Dialogue Converse(const profile::Bench& bench, Predictor& predictor,
                         const Diagnosis& diagnosis, const Observation& observed,
                         const Hypothesis& truth, std::uint64_t seed) {
  constexpr int kPatience = 12;
  MeasuredModel model(bench, predictor, observed);
  const Repairs repairs(bench);
  const std::string key = repairs.Of(truth).key;
  AskedWorld world(bench, truth.faults, seed);
  Dialogue dialogue;
  std::vector<Answered> answers;
  AtHand at_hand;
  Narrowed narrowed = Narrow(model, repairs, diagnosis, answers);
  dialogue.suspected = std::ranges::any_of(narrowed.suspects, [&](const Suspect& suspect) {
    return IsTruth(*suspect.candidate, repairs, key);
  });
  while (!narrowed.IsNamed() && dialogue.readings < kPatience) {
    const std::vector<NextTest> tests = NextTests(model, narrowed, at_hand, 1);
    if (tests.empty()) break;
    answers.push_back({tests[0].test, world.Answer(model, tests[0].test)});
    at_hand.done.push_back(tests[0].test);
    ++dialogue.readings;
    dialogue.said.push_back(tests[0].what + ": " + model.InWords(answers.back()));
    narrowed = Narrow(model, repairs, diagnosis, answers);
  }
  for (std::size_t i = 0; i < narrowed.repairs.size() && i < 4; ++i) {
    const RepairLeft& left = narrowed.repairs[i];
    dialogue.left.push_back(
        fmt::format("{:.3f} {}: {}", left.share, left.repair.key,
                    Describe(bench, narrowed.suspects[left.suspects[0]].hypothesis)));
  }
  dialogue.left.push_back(fmt::format("healthy {:.3f}, unknown {:.3f}", narrowed.healthy_share,
                                      narrowed.unknown_share));
  dialogue.named = narrowed.IsNamed();
  dialogue.right = dialogue.named && narrowed.repairs[0].repair.key == key;
  const bool spoken_against = std::ranges::none_of(narrowed.suspects, [&](const Suspect& suspect) {
    return IsTruth(*suspect.candidate, repairs, key) && suspect.against.empty();
  });
  dialogue.excluded = dialogue.suspected && spoken_against;
  for (const Suspect& suspect : narrowed.suspects) {
    if (!IsTruth(*suspect.candidate, repairs, key)) continue;
    for (const std::size_t i : suspect.against) {
      const Foretold foretold = model.Foretell(answers[i].test, suspect.hypothesis.faults);
      dialogue.against.push_back(fmt::format(
          "{}: {} is not {}", Describe(bench, suspect.hypothesis), dialogue.said[i],
          model.InWords(answers[i].test, foretold)));
    }
  }
  return dialogue;
}

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_TESTS_DIAGNOSE_ASKED_WORLD_H_
