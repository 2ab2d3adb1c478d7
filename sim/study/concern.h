// SPDX-License-Identifier: Apache-2.0
//
// Which failures a break may have had a part in: in the moments in which something failed, what would have
// been reported with it open, set against what failed there and what was met at the same time.
#ifndef DRYCRANK_STUDY_CONCERN_H_
#define DRYCRANK_STUDY_CONCERN_H_

#include <cstddef>
#include <set>
#include <vector>

#include "check/checker.h"
#include "study/counterfactual.h"
#include "study/failures.h"
#include "study/moments.h"
#include "study/requirements.h"

namespace drycrank::study {

// What a break would have violated in the moments of the failures (expectations): of what failed, and of
// what was met. `open`: what failed, and nothing met at the same time clears the break.
struct Touch {
  std::set<int> failed, met, open;

  void Add(const Touch& other) {
    failed.insert(other.failed.begin(), other.failed.end());
    met.insert(other.met.begin(), other.met.end());
    open.insert(other.open.begin(), other.open.end());
  }
};

class Concern {
 public:
  // All outlive it.
  Concern(const std::vector<check::Verdict>& verdicts, const std::vector<Moment>& moments,
          const std::vector<Failure>& failures, const Requirements& requirements,
          const KnownQuiet& quiet, Counterfactual& what_if)
      : verdicts_(verdicts),
        moments_(moments),
        failures_(failures),
        requirements_(requirements),
        quiet_(quiet),
        what_if_(what_if) {}

  // REQUIRES: the moments were prepared.
  Touch Of(const profile::Fault& open, const std::vector<std::size_t>& moments) const;

  // Of the changes, what would be heard.
  struct Heard {
    std::vector<const diagnose::Change*> changes;  // of the vector given
    bool silent = false;                           // the controller says nothing at all
    bool runs = true;                              // and has its supply
  };
  // `runs`: Counterfactual::Trial::Runs.
  Heard HeardOf(const std::vector<diagnose::Change>& changes, bool runs) const;
  // Expectations that were met while that failed, and would not have been.
  std::set<int> MetDuring(const Failure& failure, const Heard& heard) const;
  // A controller that would be silent was not.
  bool IsRuledOut(const Failure& failure, const Heard& heard) const;

 private:
  bool IsMet(int expectation) const;
  void AddPlayed(Counterfactual::Trial& trial, std::size_t m,
                 std::vector<diagnose::Change>& changes) const;
  void AddMoment(std::size_t m, const Heard& heard, Touch& touch) const;
  bool IsViolated(int expectation, std::size_t m, const Heard& heard) const;
  bool MayBe(const Failure& failure, const Heard& heard) const;

  const std::vector<check::Verdict>& verdicts_;
  const std::vector<Moment>& moments_;
  const std::vector<Failure>& failures_;
  const Requirements& requirements_;
  const KnownQuiet& quiet_;
  Counterfactual& what_if_;
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_CONCERN_H_
