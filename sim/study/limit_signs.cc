// SPDX-License-Identifier: Apache-2.0
#include "study/limit_signs.h"

#include <algorithm>

#include "bus/layout.h"
#include "study/limit_trial.h"
#include "types/nth.h"

namespace drycrank::study {
namespace {

using profile::ProtectionAction;

constexpr double kMissedAfter = 1.6;  // intervals
constexpr double kDegPerSPerRpm = 6;
constexpr TimeNs kLongestNs = kNsPerS;  // an interval, however slowly the engine turns

double WidestDeg(const profile::Engine& engine) {
  std::vector<double> at = engine.firing_angles_deg;
  std::ranges::sort(at);
  double widest_deg = at.empty() ? engine.cycle_deg() : at[0] + engine.cycle_deg() - at.back();
  for (std::size_t i = 1; i < at.size(); ++i) widest_deg = std::max(widest_deg, at[i] - at[i - 1]);
  return widest_deg;
}

// Both act: from the later of two begins to the earlier of two ends.
std::vector<LimitSigns::Change> Both(const std::vector<LimitSigns::Change>& a,
                                     const std::vector<LimitSigns::Change>& b) {
  std::vector<LimitSigns::Change> both;
  bool in_a = false, in_b = false;
  for (std::size_t i = 0, j = 0; i < a.size() || j < b.size();) {
    const bool take_a = j >= b.size() || (i < a.size() && a[i].t_ns <= b[j].t_ns);
    const LimitSigns::Change& next = take_a ? a[i++] : b[j++];
    (take_a ? in_a : in_b) = next.acts;
    const bool acts = in_a && in_b;
    if (both.empty() || both.back().acts != acts) both.push_back({next.t_ns, acts});
  }
  return both;
}

}  // namespace

LimitSigns::LimitSigns(const profile::Bench& bench, const profile::Protection& protection,
                       const Points& speed_rpm)
    : bench_(bench),
      protection_(protection),
      speed_rpm_(speed_rpm),
      widest_deg_(WidestDeg(bench.engine)) {}

void LimitSigns::OnOutput(const standin::OutputEvent& event) {
  if (event.kind == OutputKind::kSwitch) {
    const bool its_own =
        protection_.action == ProtectionAction::kOutputOff && event.cylinder == protection_.output;
    if (its_own) told_.push_back({event.t_ns, !event.on});
  } else if (event.on) {
    (IsCoil(event.kind) ? sparks_ns_ : fuel_ns_).push_back(event.t_ns);
  }
}

void LimitSigns::OnFrame(const bus::TimedFrame& frame) {
  if (protection_.action != ProtectionAction::kLamp || frame.bus != protection_.lamp.bus) return;
  const profile::Message& message =
      MessageAt(bench_, {protection_.lamp.bus, protection_.lamp.message});
  if (!bus::Matches(message, frame.frame)) return;
  const auto value = bus::Measured(message, protection_.lamp.signal, frame.frame);
  if (!value) return;
  const bool acts = *value != 0;
  if (told_.empty() || told_.back().acts != acts) told_.push_back({frame.t_ns, acts});
}

TimeNs LimitSigns::IntervalNs(TimeNs t_ns) const {
  const double rpm = ValueAt(speed_rpm_, t_ns);
  if (rpm <= 0) return kLongestNs;
  return std::min(kLongestNs, FromSeconds(widest_deg_ / (kDegPerSPerRpm * rpm)));
}

TimeNs LimitSigns::LatenessNs(TimeNs t_ns) const {
  switch (protection_.action) {
    case ProtectionAction::kSparkCut:
    case ProtectionAction::kFuelCut:
    case ProtectionAction::kLimitSpeed:
      return 2 * IntervalNs(t_ns);
    case ProtectionAction::kOutputOff:
      return 0;
    case ProtectionAction::kLamp:
      break;
  }
  const profile::Message& message =
      MessageAt(bench_, {protection_.lamp.bus, protection_.lamp.message});
  return FromMs(1.2 * message.period_ms);
}

std::vector<LimitSigns::Change> LimitSigns::Gaps(const std::vector<TimeNs>& begins_ns,
                                                 TimeNs end_ns) const {
  std::vector<Change> changes;
  if (begins_ns.empty()) return changes;
  changes.push_back({begins_ns[0], false});
  for (std::size_t i = 0; i < begins_ns.size(); ++i) {
    const bool last = i + 1 == begins_ns.size();
    const TimeNs next_ns = last ? end_ns : begins_ns[i + 1];
    const TimeNs interval_ns = IntervalNs(begins_ns[i]);
    if (static_cast<double>(next_ns - begins_ns[i]) <
        kMissedAfter * static_cast<double>(interval_ns))
      continue;
    changes.push_back({begins_ns[i] + interval_ns, true});
    if (!last) changes.push_back({next_ns, false});
  }
  return changes;
}

std::vector<LimitSigns::Change> LimitSigns::Changes(TimeNs end_ns) const {
  switch (protection_.action) {
    case ProtectionAction::kSparkCut:
      return Gaps(sparks_ns_, end_ns);
    case ProtectionAction::kFuelCut:
      return Gaps(fuel_ns_, end_ns);
    case ProtectionAction::kLimitSpeed:
      if (fuel_ns_.empty()) return Gaps(sparks_ns_, end_ns);
      return Both(Gaps(sparks_ns_, end_ns), Gaps(fuel_ns_, end_ns));
    case ProtectionAction::kOutputOff:
    case ProtectionAction::kLamp:
      break;
  }
  return told_;
}

}  // namespace drycrank::study
