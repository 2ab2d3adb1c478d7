// SPDX-License-Identifier: Apache-2.0
//
// A bench with one fault after the other put in, each through a whole scenario in virtual time with
// stand-ins, and compared with the same run without fault: who would notice, and which reported
// values are wrong (report/campaign.h). Pure: a result is a function of (bench, scenario, seed,
// fault), whichever machine and whichever order.
//
// Most are predicted (remake.h), not played. Faults behind which the trigger and frequency inputs
// see the same edges, and the parties on the buses hear each other alike, make a class:
//
//   as on the healthy bench    all of them are predicted from the healthy run
//   another                    the first of the schedule is played, the others predicted from it
//   none                       wheels, pulses, messages, unsettled networks: each is played
//
// One in ten of the predicted ones, drawn by the seed and its number, is played as well.
#ifndef DRYCRANK_STUDY_CAMPAIGN_RUN_H_
#define DRYCRANK_STUDY_CAMPAIGN_RUN_H_

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "diagnose/hypothesis.h"
#include "plant/hearing.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "report/campaign.h"
#include "study/remake.h"
#include "study/tape.h"

namespace drycrank::study {

class CampaignRun {
 public:
  // Plays the healthy run. REQUIRES: bench.controller, scenario without faults; both must outlive
  // it.
  CampaignRun(const profile::Bench& bench, const profile::Scenario& scenario, std::uint64_t seed,
              bool play_all = true);
  ~CampaignRun();

  const std::vector<diagnose::Hypothesis>& faults() const { return faults_; }
  // Expectations that the healthy run does not meet: they tell nothing about a fault.
  const std::vector<std::string>& failed_when_healthy() const { return failed_when_healthy_; }

  // These faults in portions that are best tried together.
  std::vector<std::vector<std::size_t>> Portions(const std::vector<std::size_t>& faults) const;

  // The next two may be called from several threads at once. One portion, in its order.
  std::vector<report::FaultResult> TryPortion(const std::vector<std::size_t>& portion) const;
  // Played.
  report::FaultResult Try(std::size_t index) const;

 private:
  static constexpr std::size_t kNoClass = static_cast<std::size_t>(-1), kHealthy = 0;

  Outcome Play(const profile::Scenario& scenario, Tape* tape) const;
  void Classify();
  std::vector<plant::Hearing> HearingBehind(const std::vector<profile::Fault>& faults) const;
  bool MayBePredicted(const diagnose::Hypothesis& fault) const;
  report::FaultResult ResultOf(std::size_t index, const Outcome& outcome) const;
  report::FaultResult Predicted(std::size_t index, const Base& base) const;
  Outcome PlayFault(std::size_t index, Tape* tape) const;

  const profile::Bench& bench_;
  const profile::Scenario& scenario_;
  std::uint64_t seed_;
  std::vector<diagnose::Hypothesis> faults_;
  Tape tape_;  // of the healthy run
  Outcome healthy_;
  std::vector<std::string> failed_when_healthy_;
  std::unique_ptr<diagnose::PinStates> pins_;  // null: all are played
  std::optional<diagnose::PinStates::Rows> rows_;
  std::unique_ptr<Base> base_;  // the healthy run
  std::unique_ptr<Remake> remake_;
  std::vector<std::size_t> classes_;   // of each the first fault; the healthy one has none
  std::vector<std::size_t> class_of_;  // per fault
};

// Indices of faults that part `part` of `parts` has: each parts-th, so that all kinds are in each.
// REQUIRES: 1 <= part <= parts.
std::vector<std::size_t> PartOf(std::size_t faults, std::size_t part, std::size_t parts);

// A short fingerprint of files' contents, in their order; "" and the file when one cannot be read.
std::string HashOfFiles(const std::vector<std::string>& files);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_CAMPAIGN_RUN_H_
