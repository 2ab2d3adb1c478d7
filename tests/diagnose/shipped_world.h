// SPDX-License-Identifier: Apache-2.0
//
// A shipped bench, built within its tolerances and not as drawn (outside_truth.h), walked through by
// the real runner with the stand-ins, and diagnosed as drawn. What agrees with the truth is reckoned
// as in outside_world.h; the clean rows are a walk of the bench as drawn.
#ifndef DRYCRANK_TESTS_DIAGNOSE_SHIPPED_WORLD_H_
#define DRYCRANK_TESTS_DIAGNOSE_SHIPPED_WORLD_H_

#include <cstdint>
#include <string>
#include <vector>

#include "diagnose/predict.h"
#include "diagnose/rank.h"
#include "tests/diagnose/outside_runs.h"
#include "tests/diagnose/walked.h"

namespace drycrank::diagnose {

class ShippedWorld {
 public:
  explicit ShippedWorld(const std::string& bench);

  const profile::Bench& bench() const { return walked_.bench(); }
  OutsideRun RunSeries(const std::string& pin, double ohm, std::uint64_t seed);
  // Right: named first, or each member of the first group is mended at the crank's plug.
  OutsideRun RunCrankLeads(std::uint64_t seed);

 private:
  Observation Observe(const profile::Fault& fault, std::uint64_t seed);
  CleanRows Clean(const std::vector<profile::Fault>& faults);
  Truth CrankLeads() const;

  Walked walked_;
  Predictor predictor_;
  Ranker ranker_;
  CleanRows healthy_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_TESTS_DIAGNOSE_SHIPPED_WORLD_H_
