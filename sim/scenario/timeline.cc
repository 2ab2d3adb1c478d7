// SPDX-License-Identifier: Apache-2.0
#include "scenario/timeline.h"

#include <algorithm>
#include <cassert>

#include "types/nth.h"

namespace drycrank::scenario {
namespace {

Track TrackOf(const profile::Drive& drive, double value_now, TimeNs t_ns) {
  Track track;
  track.kind = drive.kind;
  track.begin_ns = t_ns;
  track.from = value_now;
  track.to = drive.to;
  track.over_s = drive.over_s;
  track.amplitude = drive.amplitude;
  track.period_s = drive.period_s;
  if (drive.kind == profile::DriveKind::kPoints) track.points = &drive.points;
  return track;
}

}  // namespace

Timeline::Timeline(const profile::Bench& bench, const profile::Scenario& scenario)
    : bench_(&bench), scenario_(&scenario), integral_(bench.stimuli.size(), 0.0) {
  for (const profile::Stimulus& stimulus : bench_->stimuli) {
    Track track;
    track.from = track.to = stimulus.initial;
    tracks_.push_back(track);
  }
}

std::size_t Timeline::step_count() const { return scenario_->steps.size(); }

void Timeline::Replace(int stimulus, const Track& track) {
  Nth(integral_, stimulus) += Nth(tracks_, stimulus).Integral(track.begin_ns);
  Nth(tracks_, stimulus) = track;
}

void Timeline::BeginStep(std::size_t index, TimeNs t_ns) {
  assert(index < step_count() && index >= step_ && t_ns >= step_begin_ns_);
  step_ = index;
  step_begin_ns_ = t_ns;
  step_end_ns_ = t_ns + FromSeconds(scenario_->steps[index].for_s);
  for (const profile::Drive& drive : scenario_->steps[index].drives) {
    Replace(drive.stimulus, TrackOf(drive, Value(drive.stimulus, t_ns), t_ns));
  }
}

bool Timeline::Observe(const profile::SignalRef& signal, double value) const {
  if (step_ >= step_count()) return false;
  const auto& wait_for = scenario_->steps[step_].wait_for;
  if (!wait_for) return false;
  const profile::SignalRef& awaited = wait_for->signal;
  return awaited.bus == signal.bus && awaited.message == signal.message &&
         awaited.signal == signal.signal && Holds(*wait_for, value);
}

double Timeline::Value(int stimulus, TimeNs t_ns) const { return track(stimulus).Value(t_ns); }

const Track& Timeline::track(int stimulus) const { return Nth(tracks_, stimulus); }

double Timeline::Integral(int stimulus, TimeNs t_ns) const {
  return Nth(integral_, stimulus) + track(stimulus).Integral(t_ns);
}

void Timeline::Override(int stimulus, double value, double over_s, TimeNs t_ns) {
  Track track;
  track.kind = over_s > 0 ? profile::DriveKind::kRamp : profile::DriveKind::kHold;
  track.begin_ns = t_ns;
  track.from = over_s > 0 ? Value(stimulus, t_ns) : value;
  track.to = value;
  track.over_s = over_s;
  Replace(stimulus, track);
}

void Timeline::Crank(double rpm, TimeNs t_ns) {
  Track track;
  track.kind = profile::DriveKind::kCrank;
  track.begin_ns = t_ns;
  track.from = track.to = rpm;
  Replace(0, track);
}

// Where its time, and with it its coming and going, began. REQUIRES: it has begun
TimeNs Timeline::FaultBeginNs(const profile::Fault& fault) const {
  return fault.during.empty() ? FromSeconds(fault.from_s.value_or(0)) : step_begin_ns_;
}

bool Timeline::IsInItsTime(const profile::Fault& fault, TimeNs t_ns) const {
  if (!fault.during.empty()) {
    return step_ < step_count() &&
           std::ranges::count(fault.during, scenario_->steps[step_].name) > 0;
  }
  return (!fault.from_s || t_ns >= FromSeconds(*fault.from_s)) &&
         (!fault.to_s || t_ns < FromSeconds(*fault.to_s));
}

std::vector<int> Timeline::FaultsAt(TimeNs t_ns) const {
  std::vector<int> in_force;
  for (std::size_t i = 0; i < scenario_->faults.size(); ++i) {
    const profile::Fault& fault = scenario_->faults[i];
    if (!IsInItsTime(fault, t_ns)) continue;
    const bool gone = fault.every_s && (t_ns - FaultBeginNs(fault)) % FromSeconds(*fault.every_s) >=
                                           FromSeconds(*fault.for_s);
    if (!gone) in_force.push_back(static_cast<int>(i));
  }
  return in_force;
}

TimeNs Timeline::NextFaultChangeNs(TimeNs t_ns) const {
  TimeNs next_ns = kNever;
  for (const profile::Fault& fault : scenario_->faults) {
    if (fault.every_s && IsInItsTime(fault, t_ns)) {
      const TimeNs every_ns = FromSeconds(*fault.every_s), for_ns = FromSeconds(*fault.for_s);
      const TimeNs since_ns = (t_ns - FaultBeginNs(fault)) % every_ns;
      next_ns = std::min(next_ns, t_ns - since_ns + (since_ns < for_ns ? for_ns : every_ns));
    }
    if (!fault.during.empty()) continue;
    for (const auto& change_s : {fault.from_s, fault.to_s}) {
      if (!change_s) continue;
      const TimeNs change_ns = FromSeconds(*change_s);
      if (change_ns > t_ns) next_ns = std::min(next_ns, change_ns);
    }
  }
  return next_ns;
}

}  // namespace drycrank::scenario
