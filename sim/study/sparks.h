// SPDX-License-Identifier: Apache-2.0
//
// When the stand-in fires its coils, against where the crank really is: what no message tells, and
// what destroys an engine when it is wrong. Crank degrees after the cylinder's own firing top dead
// centre; negative is before it.
#ifndef DRYCRANK_STUDY_SPARKS_H_
#define DRYCRANK_STUDY_SPARKS_H_

#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "profile/bench.h"
#include "profile/scenario_file.h"
#include "report/campaign.h"
#include "run/observer.h"
#include "run/runner.h"

namespace drycrank::study {

class Sparks : public run::RunObserver {
 public:
  // Both must outlive the run; what was fired is kept longer.
  Sparks(const profile::Bench& bench, const run::Runner& runner)
      : bench_(bench), runner_(&runner) {}

  void OnStep(std::size_t step, TimeNs t_ns) override;
  void OnOutput(const standin::OutputEvent& event) override;

  struct Fired {
    int count = 0;
    double sine = 0, cosine = 0;  // sums
    // Mean, (-180, 180] or (-360, 360]; nothing: too few of them, or all over the cycle.
    std::optional<double> MeanDeg(double cycle_deg) const;
  };
  struct Where {
    std::size_t step = 0;
    int cylinder = 0;
    bool trailing = false;  // of the second plug
    auto operator<=>(const Where&) const = default;
  };
  // Without the first second of a step.
  const std::map<Where, Fired>& fired() const { return fired_; }

 private:
  const profile::Bench& bench_;
  const run::Runner* runner_;
  std::size_t step_ = 0;
  TimeNs step_begin_ns_ = 0;
  std::map<Where, Fired> fired_;
};

// The largest difference of a mean, or that a cylinder is fired no more; nothing: less than what a
// cam or crank sensor may do by itself.
std::optional<report::Effect> CompareSparks(const profile::Bench& bench,
                                            const profile::Scenario& scenario,
                                            const Sparks& healthy, const Sparks& other);

}  // namespace drycrank::study

#endif  // DRYCRANK_STUDY_SPARKS_H_
