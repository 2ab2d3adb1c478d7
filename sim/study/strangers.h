// SPDX-License-Identifier: Apache-2.0
//
// Frames of a run that are no message of the bench and no talk of a tester with it: which identifiers,
// and how often while they came.
#ifndef DRYCRANK_STUDY_STRANGERS_H_
#define DRYCRANK_STUDY_STRANGERS_H_

#include <cstdint>
#include <map>
#include <set>
#include <span>
#include <tuple>
#include <vector>

#include "bus/frame.h"
#include "check/checker.h"
#include "diagnose/strange.h"
#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::study {

class Strangers {
 public:
  explicit Strangers(const profile::Bench& bench);

  void OnFrame(const bus::TimedFrame& frame);
  // Those that came often enough to be somebody's, the most frequent first.
  std::vector<diagnose::Stranger> Heard() const;

 private:
  using Key = std::tuple<int, std::uint32_t, bool>;
  struct Course {
    int length_bytes = 0;
    TimeNs last_ns = 0;
    TimeNs sum_ns = 0;  // from one to the next, while it came
    int count = 0;
  };
  std::set<Key> known_;
  std::map<Key, Course> strange_;
};

// Who may have a part in what failed: all that should not be there, else those that fill the bus.
std::vector<diagnose::Stranger> InvolvedStrangers(std::vector<diagnose::Stranger> heard,
                                                  const profile::Scenario& scenario,
                                                  std::span<const check::Verdict> verdicts);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_STRANGERS_H_
