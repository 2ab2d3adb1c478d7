// SPDX-License-Identifier: Apache-2.0
#include "study/same_effect.h"

#include <algorithm>
#include <cmath>

#include "diagnose/electrical.h"
#include "profile/devices.h"
#include "scenario/timeline.h"

namespace drycrank::study {
namespace {

using diagnose::Electrical;
using diagnose::Situation;

std::vector<Situation> CornersOf(const profile::Bench& bench, const profile::Scenario& scenario) {
  scenario::Timeline timeline(bench, scenario);
  std::vector<Situation> corners;
  const auto add = [&](const auto& value_of) {
    Situation corner;
    for (std::size_t i = 0; i < bench.stimuli.size(); ++i) {
      corner.stimuli.push_back(value_of(static_cast<int>(i)));
    }
    const auto is_it = [&](const Situation& other) { return other.stimuli == corner.stimuli; };
    if (std::ranges::none_of(corners, is_it)) corners.push_back(std::move(corner));
  };
  TimeNs t_ns = 0;
  for (std::size_t step = 0; step < scenario.steps.size(); ++step) {
    timeline.BeginStep(step, t_ns);
    const TimeNs end_ns = timeline.StepEndNs();
    const auto extremes = [&](int i) { return timeline.track(i).Extremes(t_ns, end_ns); };
    add([&](int i) { return timeline.Value(i, t_ns); });
    add([&](int i) { return timeline.Value(i, end_ns); });
    add([&](int i) { return extremes(i).low; });
    add([&](int i) { return extremes(i).high; });
    t_ns = end_ns;
  }
  return corners;
}

bool IsWiring(const diagnose::Hypothesis& hypothesis) {
  return std::ranges::all_of(hypothesis.faults, [](const profile::Fault& fault) {
    bool harness = false;
    profile::VisitInto<profile::Into::kHarness>(fault, [&](const auto&) { harness = true; });
    return harness || fault.Is<profile::fault::NotFitted>();
  });
}

// All that one fault makes of the volts, one corner after the other.
std::vector<double> VoltsOf(const profile::Bench& bench, const diagnose::HealthyElectrical& healthy,
                            const std::vector<Situation>& corners,
                            const std::vector<profile::Fault>& faults) {
  diagnose::ElectricalModel model(bench, healthy, faults);
  std::vector<double> volts;
  const auto add = [&](const std::vector<double>& more) {
    volts.insert(volts.end(), more.begin(), more.end());
  };
  for (const Situation& corner : corners) {
    const Electrical& at = model.SolveIn(corner);
    volts.push_back(at.supply_v);
    add(at.reference_v);
    add(at.input_v);
    for (const diagnose::Reach& reach : at.reaches) add(reach.coil ? reach.gain : reach.on_v);
    for (std::size_t i = 0; i < bench.sensors.size(); ++i) {
      volts.push_back(model.PulsesOf(static_cast<int>(i), corner).hz);
    }
  }
  return volts;
}

bool AreAlike(const std::vector<double>& a, const std::vector<double>& b) {
  return std::ranges::equal(a, b,
                            [](double x, double y) { return std::abs(x - y) <= diagnose::kSameV; });
}

}  // namespace

SameEffect::SameEffect(const profile::Bench& bench, const profile::Scenario& scenario,
                       std::span<const diagnose::Hypothesis> faults) {
  const std::vector<Situation> corners = CornersOf(bench, scenario);
  const diagnose::HealthyElectrical healthy(bench, corners);
  const std::vector<double> as_healthy = VoltsOf(bench, healthy, corners, {});
  struct Seen {
    std::size_t fault;
    std::vector<double> volts;
  };
  std::vector<Seen> seen;
  for (std::size_t f = 0; f < faults.size(); ++f) {
    first_.push_back(f);
    if (!IsWiring(faults[f])) continue;
    std::vector<double> volts = VoltsOf(bench, healthy, corners, faults[f].faults);
    if (AreAlike(volts, as_healthy)) {
      first_[f].reset();
      continue;
    }
    const auto like =
        std::ranges::find_if(seen, [&](const Seen& other) { return AreAlike(volts, other.volts); });
    if (like == seen.end()) {
      seen.push_back({f, std::move(volts)});
    } else {
      first_[f] = like->fault;
    }
  }
}

}  // namespace drycrank::study
