// SPDX-License-Identifier: Apache-2.0
#include "check/line_state.h"

#include <algorithm>

#include "scenario/timeline.h"
#include "types/limits.h"
#include "types/nth.h"

namespace drycrank::check {
namespace {

using profile::Compare;
using profile::Line;
using profile::LooksAt;

constexpr std::size_t kMostIndices = 256;

Line::Kind KindOf(OutputKind kind) {
  switch (kind) {
    case OutputKind::kCoil:
      return Line::Kind::kCoil;
    case OutputKind::kTrailingCoil:
      return Line::Kind::kTrailingCoil;
    case OutputKind::kInjector:
      return Line::Kind::kInjector;
    case OutputKind::kSwitch:
      break;
  }
  return Line::Kind::kSwitch;
}

}  // namespace

LineState::LineState(const profile::Condition& condition, const Crank& crank)
    : condition_(condition), crank_(crank), on_(kMostIndices, false) {}

bool LineState::IsIts(Line::Kind kind, int index) const {
  if (kind != condition_.line.kind) return false;
  const bool each = kind != Line::Kind::kTrigger && kind != Line::Kind::kSwitch;
  return condition_.line.index == index || (each && condition_.line.index == 0);
}

bool LineState::IsOn() const { return std::ranges::count(on_, true) > 0; }

void LineState::Set(int index, bool on) {
  if (index >= 0 && AsSize(index) < on_.size()) on_[AsSize(index)] = on;
}

void LineState::OnOutput(const OutputEvent& event) {
  if (!IsIts(KindOf(event.kind), event.cylinder)) return;
  Set(event.cylinder, event.on);
  last_ns_ = event.t_ns;
}

void LineState::OnEdge(const Edge& edge) {
  if (IsIts(Line::Kind::kTrigger, edge.channel)) last_ns_ = edge.t_ns;
}

double LineState::Value(TimeNs t_ns) const {
  switch (condition_.looks_at) {
    case LooksAt::kReported:
      return 0;
    case LooksAt::kOutput:
      return IsOn() ? 1 : 0;
    case LooksAt::kAge:
      return ToSeconds(t_ns - last_ns_);
    case LooksAt::kCrank:
      break;
  }
  return crank_.SpeedRpmAt(t_ns) > 0 ? 1 : 0;
}

bool LineState::Holds(TimeNs t_ns) const {
  if (condition_.looks_at != LooksAt::kAge) return scenario::Holds(condition_, Value(t_ns));
  const bool older = t_ns - last_ns_ >= FromSeconds(condition_.value);
  return older == (condition_.compare == Compare::kAbove);
}

TimeNs LineState::FlipNs(TimeNs t_ns) const {
  if (condition_.looks_at != LooksAt::kAge) return kNever;
  const TimeNs flip_ns = last_ns_ + FromSeconds(condition_.value);
  return flip_ns > t_ns ? flip_ns : kNever;
}

}  // namespace drycrank::check
