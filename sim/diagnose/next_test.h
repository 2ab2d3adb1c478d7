// SPDX-License-Identifier: Apache-2.0
//
// Which test to make next: the one whose answer is expected to tell most about the candidates that
// remain (expected information; de Kleer & Williams 1987, section 5):
//
//   information = - sum p_k log2 p_k     over the answers k that the candidates predict,
//                                        p_k: share of the candidates that predict answer k
//
// Tests: hold a stimulus at a value and look at what is reported; or measure a voltage against the
// supply's minus with a meter, bench at rest, all plugs on, at a pin from the wire side.
#ifndef DRYCRANK_DIAGNOSE_NEXT_TEST_H_
#define DRYCRANK_DIAGNOSE_NEXT_TEST_H_

#include <span>
#include <string>
#include <vector>

#include "diagnose/predict.h"
#include "diagnose/rank.h"

namespace drycrank::diagnose {

// What one set of candidates would show.
struct Answer {
  std::vector<std::size_t> candidates;  // indices into the candidates asked about
  std::string shows;                    // "4.98 V", "engine_temps.coolant 12 °C"
  double share = 0;
};

struct NextTest {
  enum class Kind { kStimulus, kVoltage };
  Kind kind = Kind::kVoltage;
  std::string what;        // "hold coolant_temperature at 90 °C", "volts at CLT.1, wire side"
  std::string node;        // kVoltage: name of the node (harness.h)
  Situation situation;     // in which it is made
  double information = 0;  // bits
  std::vector<Answer> answers;
};

// Of a voltmeter reading between two candidates: less than this is the same.
inline constexpr double kMeterV = 0.1;

// Candidates of the leading groups, with their share. Best test first, at most `most`; none that
// tells less than a twentieth of a bit.
std::vector<NextTest> NextTests(const profile::Bench& bench, Predictor& predictor,
                                std::span<const Candidate> candidates,
                                std::span<const double> shares, std::size_t most);

// What the test would show under these faults: readings for kStimulus, one voltage for kVoltage.
Predictions Outcome(const profile::Bench& bench, Predictor& predictor, const NextTest& test,
                    std::span<const profile::Fault> faults);

// How far two outcomes of one test are apart, in deviations of its readings.
double Apart(const Predictor& predictor, const NextTest& test, const Predictions& a,
             const Predictions& b);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_NEXT_TEST_H_
