// SPDX-License-Identifier: Apache-2.0
#include "study/readings.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "bus/layout.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

// A situation counts when nothing has moved for so long before its end ...
constexpr TimeNs kRestNs = 900 * kNsPerMs;
// ... and a reading when its message came within so many periods, at least half a second.
constexpr double kPeriods = 3;
constexpr TimeNs kLeastAgeNs = 500 * kNsPerMs;

// A state that changed so shortly before the end comes and goes.
constexpr TimeNs kUnsettledNs = 500 * kNsPerMs;

}  // namespace

Readings::Readings(const profile::Bench& bench, const profile::Scenario& scenario,
                   const scenario::Timeline& timeline)
    : bench_(bench),
      scenario_(scenario),
      timeline_(timeline),
      readings_(diagnose::ReadingsOf(bench)),
      last_(readings_.size(), 0),
      last_ns_(readings_.size(), -1),
      before_(readings_.size(), 0),
      changed_ns_(readings_.size(), -1),
      fires_(bench.engine.cycle_deg()),
      turns_(bench, kRestNs),
      strangers_(bench) {}

void Readings::OnFrame(const bus::TimedFrame& frame) {
  strangers_.OnFrame(frame);
  for (std::size_t r = 0; r < readings_.size(); ++r) {
    const profile::SignalRef& ref = readings_[r].signal;
    if (ref.bus != frame.bus) continue;
    const profile::Message& message = profile::MessageAt(bench_, {ref.bus, ref.message});
    if (!bus::Matches(message, frame.frame)) continue;
    const auto value = bus::Decode(message, ref.signal, frame.frame);
    if (!value) continue;
    if (last_ns_[r] >= 0 && last_[r] != *value) {
      before_[r] = last_[r];
      changed_ns_[r] = frame.t_ns;
    }
    last_[r] = *value;
    last_ns_[r] = frame.t_ns;
  }
}

// The timeline has begun the new step already: what the step before drove is known from its begin.
void Readings::OnStep(std::size_t step, TimeNs t_ns) {
  if (step_ >= 0) EndStep(t_ns);
  step_ = static_cast<int>(step);
  step_begin_ns_ = t_ns;
  fires_.OnStep();
  tracks_.clear();
  for (std::size_t i = 0; i < bench_.stimuli.size(); ++i) {
    tracks_.push_back(timeline_.track(static_cast<int>(i)));
  }
}

void Readings::OnFinish(TimeNs t_ns) {
  if (step_ >= 0) EndStep(t_ns);
  step_ = -1;
}

bool Readings::AtRest(TimeNs t_ns) const {
  if (t_ns - step_begin_ns_ < kRestNs) return false;
  for (const scenario::Track& track : tracks_) {
    const scenario::Range range = track.Extremes(t_ns - kRestNs, t_ns);
    if (range.high - range.low > 1e-9 * std::max(1.0, std::abs(range.high))) return false;
  }
  return true;
}

// Of the two last the one that is no good: less of a state of synchronisation, more of a fault.
double Readings::StateAt(std::size_t reading, TimeNs t_ns) const {
  const bool comes_and_goes = readings_[reading].discrete && changed_ns_[reading] >= 0 &&
                              t_ns - changed_ns_[reading] < kUnsettledNs;
  if (!comes_and_goes) return last_[reading];
  return readings_[reading].carries == "sync_state" ? std::min(last_[reading], before_[reading])
                                                    : std::max(last_[reading], before_[reading]);
}

void Readings::EndStep(TimeNs t_ns) {
  if (!AtRest(t_ns)) return;
  diagnose::Situation situation;
  situation.name = Nth(scenario_.steps, step_).name;
  for (const scenario::Track& track : tracks_) situation.stimuli.push_back(track.Value(t_ns));
  situations_.push_back(std::move(situation));
  diagnose::Values values(readings_.size(), std::numeric_limits<double>::quiet_NaN());
  for (std::size_t r = 0; r < readings_.size(); ++r) {
    const profile::SignalRef& ref = readings_[r].signal;
    const double period_ms = profile::MessageAt(bench_, {ref.bus, ref.message}).period_ms;
    const TimeNs oldest_ns = t_ns - std::max(kLeastAgeNs, FromMs(kPeriods * period_ms));
    if (last_ns_[r] >= oldest_ns && last_ns_[r] >= 0) values[r] = StateAt(r, t_ns);
  }
  observation_.push_back(std::move(values));
  fired_.push_back(fires_.Since(t_ns - kRestNs));
  edges_.push_back(turns_.Between(t_ns - kRestNs, t_ns));
}

diagnose::EdgesSeen Readings::edges() const {
  const auto any = [](const diagnose::EdgesAt& at) {
    return std::ranges::any_of(at, [](const diagnose::InputSeen& seen) {
      return !seen.places.empty() || seen.strays[0] + seen.strays[1] > 0;
    });
  };
  return std::ranges::any_of(edges_, any) ? edges_ : diagnose::EdgesSeen();
}

}  // namespace drycrank::study
