// SPDX-License-Identifier: Apache-2.0
//
// A bench with one fault after the other put in, each through a whole scenario in virtual time with
// stand-ins, and compared with the same run without fault: who would notice, and which reported
// values are wrong (report/campaign.h). Pure: a result is a function of (bench, scenario, seed,
// fault), whichever machine and whichever order.
//
// Of faults that no run can tell apart (same_effect.h) the first is played, and what leaves all volts
// as they are is not. A tenth of the others, drawn from the seed, is played all the same: what differs
// from its prediction is counted, and stands in the table as it was played.
#ifndef DRYCRANK_STUDY_CAMPAIGN_RUN_H_
#define DRYCRANK_STUDY_CAMPAIGN_RUN_H_

#include <atomic>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "diagnose/hypothesis.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "report/campaign.h"
#include "study/reported.h"
#include "study/same_effect.h"
#include "study/sparks.h"

namespace drycrank::study {

class CampaignRun {
 public:
  // Plays the healthy run. REQUIRES: bench.controller, scenario without faults; both must outlive
  // it.
  CampaignRun(const profile::Bench& bench, const profile::Scenario& scenario, std::uint64_t seed);

  const std::vector<diagnose::Hypothesis>& faults() const { return faults_; }
  // Expectations that the healthy run does not meet: they tell nothing about a fault.
  const std::vector<std::string>& failed_when_healthy() const { return failed_when_healthy_; }

  // May be called from several threads at once.
  report::FaultResult Try(std::size_t index) const;
  // Played, whatever is predicted.
  report::FaultResult PlayFault(std::size_t index) const;
  // Is it played for itself, or by what it is predicted to be like?
  bool IsPredicted(std::size_t index) const;
  bool IsProof(std::size_t index) const;  // predicted, and played all the same

  // Of the faults tried so far.
  struct Proof {
    std::size_t predicted = 0, played_too = 0, differed = 0;
  };
  Proof proof() const { return {predicted_, played_too_, differed_}; }

 private:
  struct Outcome {
    Reported reported;
    Sparks sparks;
    std::vector<bool> met;           // per expectation
    std::vector<std::string> codes;  // stored trouble codes
  };
  Outcome Play(const profile::Scenario& scenario) const;
  report::FaultResult ResultOf(std::size_t index, const Outcome& outcome) const;
  report::FaultResult Predicted(std::size_t index) const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  std::uint64_t seed_;
  std::vector<diagnose::Hypothesis> faults_;
  Outcome healthy_;
  std::vector<std::string> failed_when_healthy_;
  SameEffect same_;
  // Of each fault that is played for others too, once.
  struct Shared {
    std::once_flag played;
    report::FaultResult result;
  };
  std::vector<std::unique_ptr<Shared>> shared_;
  mutable std::atomic<std::size_t> predicted_ = 0, played_too_ = 0, differed_ = 0;
};

// Indices of faults that part `part` of `parts` has: each parts-th, so that all kinds are in each.
// REQUIRES: 1 <= part <= parts.
std::vector<std::size_t> PartOf(std::size_t faults, std::size_t part, std::size_t parts);

// A short fingerprint of files' contents, in their order; "" and the file when one cannot be read.
std::string HashOfFiles(const std::vector<std::string>& files);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_CAMPAIGN_RUN_H_
