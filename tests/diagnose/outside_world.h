// SPDX-License-Identifier: Apache-2.0
//
// A drawn bench (tests/support/random_bench.h) walked through in the tests' own world, with whatever
// is wrong with it: what a diagnosis gets to see, and what its answer is to be judged by.
//
// Clean rows are those of the truth on a bench as drawn: nominal supply, wires, contacts, sensors, no
// noise. A prediction agrees with them when nothing tells the two apart within the noise:
//
//   sum over readings of max over steps (d - E w)^2 / s^2 + (E / 0.4 V)^2 < 6     for some |E| <= 1 V
//
// d: what is predicted less what is clean; w: clean, per volt of supply; E: the supply, which nobody
// knows. s^2: the sensor's class (uniform: half its width / sqrt 3), half a step of the frame, what
// 1.2 mV at the input make, and 0.4 % of what the fault moves. A sensor's error and the rounding of a
// setting are one draw: steps are not summed. A state that differs, or a reading that is missing,
// tells apart whatever else agrees.
#ifndef DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_WORLD_H_
#define DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_WORLD_H_

#include <cstdint>
#include <string>
#include <vector>

#include "diagnose/rank.h"
#include "profile/bench.h"
#include "tests/diagnose/outside_truth.h"
#include "tests/support/nodal_reports.h"
#include "types/random.h"

namespace drycrank::diagnose {

struct CleanRows {
  Observation value, noise, per_volt;  // noise: infinite where nothing is compared
};
bool Agree(const std::vector<Reading>& readings, const CleanRows& truth,
           const PredictedRows& predicted);

// A drawn bench as it is read, plain or with parts between its wires (tests/support/drawn_parts.h).
// Throws what the reader says is wrong.
enum class With { kWires, kParts };
profile::Bench DrawnBench(std::uint64_t seed, With with = With::kWires);

class OutsideWorld {
 public:
  explicit OutsideWorld(const profile::Bench& bench);

  // Steps of the walk that end at rest.
  const std::vector<Situation>& situations() const { return situations_; }
  const std::vector<Reading>& readings() const { return readings_; }

  // 1.2 mV of noise at each input.
  Observation Observe(const Truth& truth, const support::Departure& tolerances, Random& noise,
                      support::SolvedBy by = support::SolvedBy::kGauss) const;
  CleanRows Clean(const Truth& truth) const;
  // Would a short of it carry more than a fuse of 30 A does? Then it is not what stays to be read.
  bool BlowsAFuse(const Truth& truth) const;
  const CleanRows& healthy() const { return healthy_; }

 private:
  support::Volts VoltsIn(std::size_t step, const Truth& truth, support::Departure& departure,
                         support::SolvedBy by) const;
  Values RowOf(const support::Departure& departure, const support::Volts& volts) const;
  double ClassOf(const Reading& reading) const;
  void AddNoise(CleanRows& rows, std::size_t s, const Values& at_more_v) const;

  const profile::Bench& bench_;
  std::vector<Situation> situations_;
  std::vector<Reading> readings_;
  CleanRows healthy_;
};

// As if it had been predicted.
PredictedRows AsPredicted(const Observation& observation);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_WORLD_H_
