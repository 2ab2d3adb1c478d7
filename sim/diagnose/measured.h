// SPDX-License-Identifier: Apache-2.0
//
// A test at the bench and what it gave; how likely that is under each fault.
//
//   meter         volts, ohms, amperes                      N(y; predicted, sigma) (meter.h)
//   signal        what the bus reports while a plug is off, a stimulus held, two points bridged
//                                                           e^-cost(z) of that reading (rank.h)
//   comes right   two points bridged: is what was wrong at rest right now?   yes or no
//   jumps         a plug moved by hand: does a value jump?                   yes or no
//
// Each is mixed with a share of slips: the probe was on the next pin, the eye on the wrong line. So
// one answer that fits nobody leaves all as they were, and "not on the list" gains by it.
//
//   p = (1 - slips) p(given | fault) + slips / length of the scale          slips = 2 %
//
// A fault with a size (ohms in a contact) was fitted to the bus, which may not know it well: its
// likelihood is averaged over sizes about that (sized_answers.h). All of these shares are common
// practice, no source.
#ifndef DRYCRANK_DIAGNOSE_MEASURED_H_
#define DRYCRANK_DIAGNOSE_MEASURED_H_

#include <map>
#include <span>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "diagnose/hypothesis.h"
#include "diagnose/meter.h"
#include "diagnose/predict.h"

namespace drycrank::diagnose {

// How the bench is made to stand before anything is read.
struct Stand {
  std::vector<std::string> pulled;  // plugs
  std::string bridge_a, bridge_b;   // terminals (wire side) or splices; empty: none
  Situation situation;              // named as the step, or as what is held

  friend bool operator==(const Stand& a, const Stand& b) {
    return a.pulled == b.pulled && a.bridge_a == b.bridge_a && a.bridge_b == b.bridge_b &&
           a.situation.stimuli == b.situation.stimuli;
  }
};
struct SignalTest {
  Stand stand;
  int reading = 0;  // of the predictor

  friend bool operator==(const SignalTest&, const SignalTest&) = default;
};
struct ComesRight {
  Stand stand;
  friend bool operator==(const ComesRight&, const ComesRight&) = default;
};
struct Jumps {
  std::string plug;
  friend bool operator==(const Jumps&, const Jumps&) = default;
};
using Test = std::variant<Probing, SignalTest, ComesRight, Jumps>;

// A meter's reading in V, ohm, A; a signal's value (NaN: it is not sent); 1 for yes, 0 for no.
struct Answered {
  Test test;
  double value = 0;
};

// What one candidate would show. Of yes and no: how likely yes is.
struct Foretold {
  Prediction signal = {};
  Spread meter;
  double yes = 0;
};

inline constexpr double kSlips = 0.02;
inline constexpr double kFarZ = 4;  // a reading farther off than this contradicts

class MeasuredModel {
 public:
  // All must outlive it. `observed`: of the record; what "comes right" is judged by.
  MeasuredModel(const profile::Bench& bench, Predictor& predictor,
                const std::vector<std::vector<double>>& observed);

  Foretold Foretell(const Test& test, std::span<const profile::Fault> faults);
  // All readings there.
  Predictions PredictOn(const Stand& stand, std::span<const profile::Fault> faults);
  // log p of one answer, slips included.
  double LogLikelihood(const Answered& answered, const Foretold& foretold) const;
  // The part of it that is left to an answer that does not fit at all.
  double LogLikelihoodOfSlip(const Answered& answered) const;
  // How far the answer is from what was foretold, in deviations.
  double Off(const Answered& answered, const Foretold& foretold) const;
  // How far apart two candidates' answers would be.
  double Apart(const Test& test, const Foretold& a, const Foretold& b) const;
  // If anything at all may be wrong: half as on the healthy bench, half anywhere on the scale.
  double LogLikelihoodOfUnknown(std::span<const Answered> answers);
  // "0.72 V", "engine_temps.coolant 12 °C", "yes"
  std::string InWords(const Test& test, const Foretold& foretold) const;
  std::string InWords(const Answered& answered) const;
  // Readings that are not as on a healthy bench, in the record's first situation.
  const std::vector<int>& wrong_at_rest() const { return wrong_; }

  const profile::Bench& bench() const { return bench_; }
  const Predictor& predictor() const { return predictor_; }
  const MeterModel& meter() const { return meter_; }
  const Situation& rest() const { return rest_; }

 private:
  Foretold ForetellOf(const Probing& test, std::span<const profile::Fault> faults);
  Foretold ForetellOf(const SignalTest& test, std::span<const profile::Fault> faults);
  Foretold ForetellOf(const ComesRight& test, std::span<const profile::Fault> faults);
  Foretold ForetellOf(const Jumps& test, std::span<const profile::Fault> faults);

  const profile::Bench& bench_;
  Predictor& predictor_;
  MeterModel meter_;
  Situation rest_;
  std::vector<int> wrong_;
};

// The bench with these plugs pulled and this bridge, as faults beside the others.
std::vector<profile::Fault> AsFaults(const profile::Bench& bench, const Stand& stand,
                                     std::span<const profile::Fault> faults);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_MEASURED_H_
