// SPDX-License-Identifier: Apache-2.0
#include "check/wanted.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "check/value_words.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::check {

Wanted::Wanted(const Subject& subject, const expect::Target& target, std::string unit,
               double tolerance, double period_ms)
    : timeline_(&subject.timeline),
      stimulus_(target.value ? -1 : target.stimulus),
      fixed_(target.value.value_or(0)),
      unit_(std::move(unit)),
      tolerance_(tolerance),
      age_ns_(FromMs(2 * period_ms + kSampleAgeMs)) {
  if (stimulus_ < 0) {
    comparable_ = target.value.has_value();
    return;
  }
  const std::string& from = Nth(subject.bench.stimuli, stimulus_).unit;
  if (unit_.empty()) unit_ = from;
  if (unit_ != from) {
    comparable_ = Convert(0, from, unit_).has_value();
    factor_ = ConvertDifference(1, from, unit_).value_or(1);
    offset_ = Convert(0, from, unit_).value_or(0);
  }
  if (target.absolute) {
    const auto barometer = ConvertDifference(subject.bench.barometric_pressure_kpa, "kPa", unit_);
    comparable_ = comparable_ && barometer.has_value();
    offset_ += barometer.value_or(0);
  }
  now_ = before_ = timeline_->track(stimulus_);
}

void Wanted::Update() {
  if (stimulus_ < 0 || now_ == timeline_->track(stimulus_)) return;
  before_ = now_;
  now_ = timeline_->track(stimulus_);
}

scenario::Range Wanted::StimulusOver(TimeNs first_ns, TimeNs last_ns) const {
  scenario::Range range = now_.Extremes(std::max(first_ns, now_.begin_ns), last_ns);
  if (first_ns < now_.begin_ns) {
    const scenario::Range earlier = before_.Extremes(first_ns, now_.begin_ns);
    range.low = std::min(range.low, earlier.low);
    range.high = std::max(range.high, earlier.high);
  }
  return range;
}

TracePoint Wanted::Compare(TimeNs t_ns, double reported) {
  if (stimulus_ < 0) return {t_ns, reported, fixed_, tolerance_};
  Update();
  const scenario::Range range = StimulusOver(t_ns - age_ns_, t_ns);
  const double low = InUnit(range.low), high = InUnit(range.high);
  return {t_ns, reported, (low + high) / 2, tolerance_ + (high - low) / 2};
}

std::string Wanted::Due(const TracePoint& point, int decimals, double rounding) const {
  const auto text = [&](double value) { return NumberText(value, decimals, unit_); };
  const std::string due = fmt::format("{} ± {}", text(point.wanted), text(point.tolerance));
  const double smallest_shown = 0.5 * std::pow(10.0, -decimals);
  const double moves = point.tolerance - tolerance_;
  std::string parts;
  if (rounding > 0) parts += fmt::format(" + {} for the last digit shown", text(rounding));
  if (moves >= smallest_shown) {
    parts += fmt::format(" + {} for changes while the message was under way", text(moves));
  }
  if (parts.empty()) return due;
  return fmt::format("{} ({} tolerance{})", due, text(tolerance_ - rounding), parts);
}

double ToleranceIn(const profile::Bench& bench, const expect::Target& target,
                   std::string_view unit) {
  if (target.stimulus < 0 || unit.empty()) return target.tolerance;
  const auto& from = Nth(bench.stimuli, target.stimulus).unit;
  return ConvertDifference(target.tolerance, from, unit).value_or(target.tolerance);
}

double MarginOf(const TracePoint& point) {
  const double margin = point.tolerance - std::abs(point.reported - point.wanted);
  return std::abs(margin) < 1e-9 * std::max(1.0, std::abs(point.wanted)) ? 0 : margin;
}

}  // namespace drycrank::check
