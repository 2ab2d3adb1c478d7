// SPDX-License-Identifier: Apache-2.0
//
// A diagnosis after answers from the bench: the suspects that the record left, weighed anew.
//
//   share = share by the record x p(answers | fault) / sum        (measured.h)
//
// The sum is over all suspects, a healthy bench, and what is on no list; so the last two may grow. Once
// there are answers, what looks like a healthy bench in the record is a suspect of its own.
// Repairs are what is left to choose among (repair.h).
#ifndef DRYCRANK_DIAGNOSE_NARROWED_H_
#define DRYCRANK_DIAGNOSE_NARROWED_H_

#include <span>
#include <string>
#include <vector>

#include "diagnose/measured.h"
#include "diagnose/rank.h"
#include "diagnose/repair.h"

namespace drycrank::diagnose {

struct Suspect {
  const Candidate* candidate = nullptr;  // of the diagnosis
  Hypothesis hypothesis;                 // the same, with the size that the answers make likeliest
  int repair = 0;                        // index into Narrowed::repairs
  double share = 0;                      // of all, [0, 1]
  double log_like = 0;                   // of the answers
  std::vector<std::size_t> against;      // answers farther off than kFarZ
};

struct RepairLeft {
  Repair repair;
  double share = 0;
  std::vector<std::size_t> suspects;  // likeliest first
};

struct Narrowed {
  std::vector<Suspect> suspects;    // likeliest first
  std::vector<RepairLeft> repairs;  // likeliest first
  double healthy_share = 0, unknown_share = 0;
  // Answers that no suspect gives, healthy neither.
  std::vector<std::size_t> fits_nobody;
  // Answers to the same test, or with the same name, that cannot both be true of a steady fault.
  std::vector<std::pair<std::size_t, std::size_t>> contradict;
  // Each answer fits some suspect, and no suspect gives all.
  bool none_fits_all = false;

  // One repair is left: kNamed of all is its own.
  bool IsNamed() const { return !repairs.empty() && repairs[0].share >= kNamed; }
  static constexpr double kNamed = 0.95;
};

// At most `most` suspects of the record are kept: those with the greatest share.
inline constexpr std::size_t kMostSuspects = 120;
Narrowed Narrow(MeasuredModel& model, const Repairs& repairs, const Diagnosis& diagnosis,
                std::span<const Answered> answers, std::size_t most = kMostSuspects);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_NARROWED_H_
