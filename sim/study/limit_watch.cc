// SPDX-License-Identifier: Apache-2.0
#include "study/limit_watch.h"

#include <algorithm>

#include "profile/protection.h"
#include "scenario/timeline.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

constexpr int kEngineSpeed = 0;
constexpr double kMeasuredHigh = 0.9;  // a ripple of the speed may be measured as so much more

// By step, with each as long as it can be.
std::vector<double> FastestRpm(const profile::Bench& bench, const profile::Scenario& scenario) {
  scenario::Timeline timeline(bench, scenario);
  std::vector<double> fastest;
  TimeNs t_ns = 0;
  for (std::size_t step = 0; step < scenario.steps.size(); ++step) {
    timeline.BeginStep(step, t_ns);
    const TimeNs end_ns = t_ns + FromSeconds(scenario.steps[step].for_s);
    fastest.push_back(timeline.track(kEngineSpeed).Extremes(t_ns, end_ns).high);
    t_ns = end_ns;
  }
  return fastest;
}

}  // namespace

LimitWatch::LimitWatch(const profile::Bench& bench, const profile::Scenario& scenario) {
  if (bench.protections.empty() || !bench.controller) return;
  const std::vector<double> fastest = FastestRpm(bench, scenario);
  by_channel_.resize(bench.controller->analog.size());
  for (const profile::Protection& p : bench.protections) {
    const int channel = profile::IndexOf(bench.controller->analog, p.watches);
    if (channel < 0) continue;
    Watched watched{&p, {}};
    for (const double rpm : fastest) {
      watched.fast.push_back(rpm >= kMeasuredHigh * p.needs_above_rpm);
    }
    Nth(by_channel_, channel).push_back(std::move(watched));
  }
}

bool LimitWatch::MayAct(std::size_t step, std::size_t channel, double value) const {
  if (channel >= by_channel_.size()) return false;
  return std::ranges::any_of(by_channel_[channel], [&](const Watched& watched) {
    return watched.fast[step] && watched.protection->IsBeyond(value, watched.protection->limit);
  });
}

}  // namespace drycrank::study
