// SPDX-License-Identifier: Apache-2.0
//
// May a protection act on a value of an analogue channel, in a run of this scenario? Then sparks,
// injections and outputs are not those of a run in which it does not, and nothing of them can be
// predicted. Careful: its delay is passed over, and a step in which the engine once turns fast enough
// counts as a whole.
#ifndef DRYCRANK_STUDY_LIMIT_WATCH_H_
#define DRYCRANK_STUDY_LIMIT_WATCH_H_

#include <cstddef>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"

namespace drycrank::study {

class LimitWatch {
 public:
  // Both must outlive it.
  LimitWatch(const profile::Bench& bench, const profile::Scenario& scenario);

  bool any() const { return !by_channel_.empty(); }
  bool MayAct(std::size_t step, std::size_t channel, double value) const;

 private:
  struct Watched {
    const profile::Protection* protection = nullptr;
    std::vector<bool> fast;  // by step
  };
  std::vector<std::vector<Watched>> by_channel_;  // analogue
};

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_LIMIT_WATCH_H_
