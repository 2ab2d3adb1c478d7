// SPDX-License-Identifier: Apache-2.0
//
// A bench with one fault after the other put in, each through a whole scenario in virtual time with
// stand-ins, and compared with the same run without fault: who would notice, and which reported
// values are wrong (report/campaign.h). Pure: a result is a function of (bench, scenario, seed,
// fault), whichever machine and whichever order.
#ifndef DRYCRANK_STUDY_CAMPAIGN_RUN_H_
#define DRYCRANK_STUDY_CAMPAIGN_RUN_H_

#include <cstdint>
#include <string>
#include <vector>

#include "diagnose/hypothesis.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "report/campaign.h"
#include "study/reported.h"
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

 private:
  struct Outcome {
    Reported reported;
    Sparks sparks;
    std::vector<bool> met;           // per expectation
    std::vector<std::string> codes;  // stored trouble codes
  };
  Outcome Play(const profile::Scenario& scenario) const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  std::uint64_t seed_;
  std::vector<diagnose::Hypothesis> faults_;
  Outcome healthy_;
  std::vector<std::string> failed_when_healthy_;
};

// Indices of faults that part `part` of `parts` has: each parts-th, so that all kinds are in each.
// REQUIRES: 1 <= part <= parts.
std::vector<std::size_t> PartOf(std::size_t faults, std::size_t part, std::size_t parts);

// A short fingerprint of files' contents, in their order; "" and the file when one cannot be read.
std::string HashOfFiles(const std::vector<std::string>& files);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_CAMPAIGN_RUN_H_
