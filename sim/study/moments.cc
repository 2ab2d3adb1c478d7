// SPDX-License-Identifier: Apache-2.0
#include "study/moments.h"

#include <algorithm>
#include <cmath>

#include "scenario/timeline.h"

namespace drycrank::study {
namespace {

double Moved(const scenario::Timeline& timeline, int stimulus, TimeNs end_ns) {
  const scenario::Range range =
      timeline.track(stimulus).Extremes(end_ns - FromSeconds(kLagS), end_ns);
  const double width = range.high - range.low;
  return width <= 1e-9 * std::max(1.0, std::abs(range.high)) ? 0 : width;
}

bool IsFaulty(const scenario::Timeline& timeline, TimeNs begin_ns, TimeNs end_ns) {
  return !timeline.FaultsAt(begin_ns).empty() || timeline.NextFaultChangeNs(begin_ns) < end_ns;
}

// At t_ns of the step that is on.
Moment At(const profile::Bench& bench, const scenario::Timeline& timeline, std::string step,
          TimeNs t_ns) {
  Moment moment{timeline.step(), timeline.step_begin_ns(), t_ns, {std::move(step), {}}, {}, false};
  for (std::size_t s = 0; s < bench.stimuli.size(); ++s) {
    const int stimulus = static_cast<int>(s);
    moment.situation.stimuli.push_back(timeline.Value(stimulus, t_ns));
    moment.moved.push_back(Moved(timeline, stimulus, t_ns));
  }
  moment.faulty = IsFaulty(timeline, moment.begin_ns, t_ns);
  return moment;
}

bool AtRest(const Moment& moment) {
  return std::ranges::all_of(moment.moved, [](double moved) { return moved == 0; });
}

}  // namespace

std::vector<Moment> MomentsOf(const profile::Bench& bench, const profile::Scenario& scenario,
                              const std::vector<report::StepTime>& steps) {
  std::vector<Moment> moments;
  scenario::Timeline timeline(bench, scenario);
  const std::size_t played = std::min(steps.size(), scenario.steps.size());
  for (std::size_t i = 0; i < played; ++i) {
    timeline.BeginStep(i, steps[i].begin_ns);
    const std::string& name = scenario.steps[i].name;
    if (steps[i].end_ns - steps[i].begin_ns < FromSeconds(kLagS)) continue;
    const Moment end = At(bench, timeline, name, steps[i].end_ns);
    if (!AtRest(end)) {
      moments.push_back(
          At(bench, timeline, name, steps[i].begin_ns + (steps[i].end_ns - steps[i].begin_ns) / 2));
    }
    moments.push_back(end);
  }
  return moments;
}

}  // namespace drycrank::study
