// SPDX-License-Identifier: Apache-2.0
//
// Diagnoses of worlds drawn by seeds, counted: a table for each kind of truth, and how often what was
// called so sure was right.
#ifndef DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_RUNS_H_
#define DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_RUNS_H_

#include <cstdint>
#include <string>
#include <vector>

#include "tests/diagnose/outside_judge.h"
#include "tests/support/nodal_network.h"

namespace drycrank::diagnose {

struct OutsideRun {
  std::uint64_t seed = 0;
  TruthGroup group = TruthGroup::kHealthy;
  std::string kind, truth;  // in words
  bool effect = false;      // it moves something
  Answered answered;
  double processor_s = 0;  // of the diagnosis, without what is made once for a bench

  bool is_wrong_and_sure() const { return !answered.right && answered.share >= 0.95; }
};

// The bench of that seed, with what is wrong with it drawn from the same.
OutsideRun RunOutside(std::uint64_t seed, support::SolvedBy by = support::SolvedBy::kGauss,
                      With with = With::kWires);

// A line for each group, then for each kind; the first line has the words.
std::string TruthTable(const std::vector<OutsideRun>& runs);
// Called >= 99.9, 99 to 99.9, 90 to 99, 50 to 90 and below 50 %: runs, what was said on the mean, right.
std::string ReliabilityTable(const std::vector<OutsideRun>& runs);

// Of those that `is_one` keeps, the share that is right; 1 of none.
template <class Keep>
double ShareRight(const std::vector<OutsideRun>& runs, const Keep& is_one) {
  int all = 0, right = 0;
  for (const OutsideRun& run : runs) {
    if (!is_one(run)) continue;
    ++all;
    right += run.answered.right;
  }
  return all == 0 ? 1 : static_cast<double>(right) / all;
}

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_TESTS_DIAGNOSE_OUTSIDE_RUNS_H_
