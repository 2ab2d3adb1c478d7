// SPDX-License-Identifier: Apache-2.0
#include "study/moments.h"

#include <algorithm>
#include <cmath>

#include "scenario/timeline.h"

namespace drycrank::study {
namespace {

// Nothing has moved for so long before the step's end: longer than filters, range faults, time-outs
// and the slowest common message take.
constexpr TimeNs kRestNs = 400 * kNsPerMs;

bool AtRest(const scenario::Timeline& timeline, int stimulus, TimeNs end_ns) {
  const scenario::Range range = timeline.track(stimulus).Extremes(end_ns - kRestNs, end_ns);
  return range.high - range.low <= 1e-9 * std::max(1.0, std::abs(range.high));
}

bool IsFaulty(const scenario::Timeline& timeline, TimeNs begin_ns, TimeNs end_ns) {
  return !timeline.FaultsAt(begin_ns).empty() || timeline.NextFaultChangeNs(begin_ns) < end_ns;
}

}  // namespace

std::vector<Moment> MomentsOf(const profile::Bench& bench, const profile::Scenario& scenario,
                              const std::vector<report::StepTime>& steps) {
  std::vector<Moment> moments;
  scenario::Timeline timeline(bench, scenario);
  const std::size_t played = std::min(steps.size(), scenario.steps.size());
  for (std::size_t i = 0; i < played; ++i) {
    timeline.BeginStep(i, steps[i].begin_ns);
    Moment moment{i, steps[i].begin_ns, steps[i].end_ns, {scenario.steps[i].name, {}}, false};
    bool at_rest = moment.end_ns - moment.begin_ns >= kRestNs;
    for (std::size_t s = 0; s < bench.stimuli.size(); ++s) {
      const int stimulus = static_cast<int>(s);
      at_rest = at_rest && AtRest(timeline, stimulus, moment.end_ns);
      moment.situation.stimuli.push_back(timeline.Value(stimulus, moment.end_ns));
    }
    moment.faulty = IsFaulty(timeline, moment.begin_ns, moment.end_ns);
    if (at_rest) moments.push_back(std::move(moment));
  }
  return moments;
}

}  // namespace drycrank::study
