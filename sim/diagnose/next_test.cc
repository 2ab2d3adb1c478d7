// SPDX-License-Identifier: Apache-2.0
#include "diagnose/next_test.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "diagnose/electrical.h"
#include "types/unit.h"

namespace drycrank::diagnose {
namespace {

constexpr double kLeastBits = 0.05;
constexpr double kApartZ = 4;

// Answers by likeness: candidates whose outcomes are near each other would show the same.
std::vector<std::vector<std::size_t>> Clusters(const Predictor& predictor, const NextTest& test,
                                               const std::vector<Predictions>& outcomes) {
  std::vector<std::vector<std::size_t>> clusters;
  for (std::size_t c = 0; c < outcomes.size(); ++c) {
    const auto home = std::find_if(clusters.begin(), clusters.end(), [&](const auto& cluster) {
      return Apart(predictor, test, outcomes[cluster[0]], outcomes[c]) < kApartZ;
    });
    if (home == clusters.end()) {
      clusters.push_back({c});
    } else {
      home->push_back(c);
    }
  }
  return clusters;
}

// The reading in which two outcomes differ most.
std::size_t TellingReading(const Predictor& predictor, const Predictions& a, const Predictions& b) {
  std::size_t most = 0;
  double z = -1;
  for (std::size_t r = 0; r < a.size(); ++r) {
    const double here = Apart(predictor.readings()[r], a[r], b[r]);
    if (here > z) {
      z = here;
      most = r;
    }
  }
  return most;
}

std::string Shows(const Predictor& predictor, const NextTest& test, const Predictions& outcome,
                  std::size_t reading) {
  if (test.kind == NextTest::Kind::kVoltage) return fmt::format("{:.2f} V", outcome[0].low());
  const Reading& r = predictor.readings()[reading];
  if (outcome[reading].is_none()) return r.name + " is not sent";
  return r.name + " " + InWords(r, outcome[reading]);
}

class Chooser {
 public:
  Chooser(const profile::Bench& bench, Predictor& predictor, std::span<const Candidate> candidates,
          std::span<const double> shares)
      : bench_(bench),
        predictor_(predictor),
        candidates_(candidates),
        shares_(shares),
        rest_(predictor.situations().empty() ? RestOf(bench) : predictor.situations().front()) {
    for (const Candidate& candidate : candidates) {
      networks_.push_back(HarnessIn(bench, rest_, candidate.hypothesis.faults));
    }
  }

  std::vector<NextTest> Choose(std::size_t most) {
    MeterTests();
    StimulusTests();
    std::stable_sort(tests_.begin(), tests_.end(), [](const NextTest& a, const NextTest& b) {
      return a.information > b.information;
    });
    if (tests_.size() > most) tests_.resize(most);
    return std::move(tests_);
  }

 private:
  void MeterTests() {
    for (const profile::Connector& connector : bench_.connectors) {
      for (const std::string& pin : connector.pins) {
        const std::string terminal = connector.name + "." + pin;
        // The device's side of a plug that is on cannot be reached.
        Meter(terminal + "~", fmt::format("volts at {}, wire side of the plug", terminal));
      }
    }
    for (const std::string& splice : bench_.splices) {
      Meter(splice, fmt::format("volts at splice {}", splice));
    }
  }

  void Meter(const std::string& node, const std::string& what) {
    std::vector<Predictions> outcomes;
    for (const harness::Harness& network : networks_) {
      const double v = network.Voltage(node);
      if (std::isnan(v)) return;
      outcomes.push_back({Prediction::Value(v)});
    }
    NextTest test;
    test.kind = NextTest::Kind::kVoltage;
    test.node = node;
    test.what = what;
    test.situation = rest_;
    Weigh(std::move(test), outcomes);
  }

  void StimulusTests() {
    for (std::size_t i = 0; i < bench_.stimuli.size(); ++i) {
      const profile::Stimulus& stimulus = bench_.stimuli[i];
      for (const double share : {0.1, 0.5, 0.9}) {
        const double value =
            i == 0 ? 600 + share * 3000 : stimulus.min + share * (stimulus.max - stimulus.min);
        NextTest test;
        test.kind = NextTest::Kind::kStimulus;
        test.situation = rest_;
        test.situation.stimuli[i] = value;
        test.situation.name = fmt::format("hold {} at {}", stimulus.name,
                                          WithUnit(fmt::format("{:.4g}", value), stimulus.unit));
        test.what = test.situation.name;
        std::vector<Predictions> outcomes;
        for (const Candidate& candidate : candidates_) {
          outcomes.push_back(predictor_.PredictAt(test.situation, candidate.hypothesis.faults));
        }
        Weigh(std::move(test), outcomes);
      }
    }
  }

  void Weigh(NextTest test, const std::vector<Predictions>& outcomes) {
    const auto clusters = Clusters(predictor_, test, outcomes);
    if (clusters.size() < 2) return;
    double total = 0;
    for (const double share : shares_) total += share;
    const std::size_t reading =
        test.kind == NextTest::Kind::kVoltage
            ? 0
            : TellingReading(predictor_, outcomes[clusters[0][0]], outcomes[clusters[1][0]]);
    for (const auto& cluster : clusters) {
      Answer answer;
      answer.candidates = cluster;
      for (const std::size_t c : cluster) answer.share += shares_[c] / total;
      answer.shows = Shows(predictor_, test, outcomes[cluster[0]], reading);
      if (answer.share > 0) test.information -= answer.share * std::log2(answer.share);
      test.answers.push_back(std::move(answer));
    }
    if (test.information >= kLeastBits) tests_.push_back(std::move(test));
  }

  const profile::Bench& bench_;
  Predictor& predictor_;
  std::span<const Candidate> candidates_;
  std::span<const double> shares_;
  Situation rest_;
  std::vector<harness::Harness> networks_;  // at rest, per candidate
  std::vector<NextTest> tests_;
};

}  // namespace

double Apart(const Predictor& predictor, const NextTest& test, const Predictions& a,
             const Predictions& b) {
  if (test.kind == NextTest::Kind::kVoltage) {
    return std::abs(a[0].low() - b[0].low()) / kMeterV * 2;
  }
  double z = 0;
  for (std::size_t r = 0; r < a.size(); ++r) {
    const Reading& reading = predictor.readings()[r];
    if (reading.turning && test.situation.engine_rpm() <= 0) continue;
    z = std::max(z, Apart(reading, a[r], b[r]));
  }
  return z;
}

Predictions Outcome(const profile::Bench& bench, Predictor& predictor, const NextTest& test,
                    std::span<const profile::Fault> faults) {
  if (test.kind == NextTest::Kind::kStimulus) return predictor.PredictAt(test.situation, faults);
  return {Prediction::Value(HarnessIn(bench, test.situation, faults).Voltage(test.node))};
}

std::vector<NextTest> NextTests(const profile::Bench& bench, Predictor& predictor,
                                std::span<const Candidate> candidates,
                                std::span<const double> shares, std::size_t most) {
  return Chooser(bench, predictor, candidates, shares).Choose(most);
}

}  // namespace drycrank::diagnose
