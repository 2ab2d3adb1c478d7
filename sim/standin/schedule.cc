// SPDX-License-Identifier: Apache-2.0
#include "standin/schedule.h"

#include <algorithm>

#include "types/angle.h"

namespace drycrank::standin {
namespace {

constexpr std::size_t kEventCapacity = 4096;

}  // namespace

Schedule::Schedule(const profile::Decoder& decoder)
    : cycle_deg_(decoder.strokes == 2 ? 360.0 : 720.0) {
  const double intake_deg = decoder.strokes == 2 ? 0.0 : 360.0;
  const std::size_t cylinders =
      std::min(decoder.firing_order.size(), decoder.firing_angles_deg.size());
  for (std::size_t i = 0; i < cylinders; ++i) {
    const int cylinder = decoder.firing_order[i];
    const double firing_deg = decoder.firing_angles_deg[i];
    const auto add = [&](OutputKind kind, double end_deg, double duration_ms) {
      if (duration_ms <= 0) return;
      Output output;
      output.kind = kind;
      output.cylinder = cylinder;
      output.end_deg = WrapDeg(end_deg, cycle_deg_);
      output.duration_ns = duration_ms * 1e6;
      outputs_.push_back(output);
    };
    add(OutputKind::kCoil, firing_deg - decoder.advance_deg, decoder.dwell_ms);
    add(OutputKind::kInjector, firing_deg + intake_deg - decoder.injection_end_deg,
        decoder.injection_ms);
  }
  events_.reserve(kEventCapacity);
}

void Schedule::OnPosition(TimeNs t_ns, double cycle_angle_deg, double deg_per_ns) {
  const double ns_per_deg = 1 / deg_per_ns;
  for (Output& output : outputs_) {
    double to_go_deg = output.end_deg - cycle_angle_deg;
    if (to_go_deg < 0) to_go_deg += cycle_deg_;
    Predict(output, t_ns, to_go_deg * ns_per_deg, cycle_deg_ * ns_per_deg);
  }
  FindEarliest();
}

void Schedule::Predict(Output& output, TimeNs t_ns, double to_go_ns, double cycle_ns) const {
  const TimeNs end_ns = t_ns + static_cast<TimeNs>(to_go_ns + 0.5);
  if (output.on) {
    if (output.kind == OutputKind::kInjector) return;  // opens for a time, not an angle
    // Its end jumped to the next cycle: the angle was passed since the last edge.
    const bool passed = static_cast<double>(end_ns - output.off_ns) > cycle_ns / 2;
    output.off_ns = passed ? t_ns : end_ns;
    return;
  }
  const double to_begin_ns = to_go_ns - output.duration_ns;
  if (to_begin_ns >= 0) {
    output.on_ns = t_ns + static_cast<TimeNs>(to_begin_ns + 0.5);
  } else {
    output.on_ns = to_go_ns >= output.duration_ns / 2 ? t_ns : kNever;
  }
  output.off_ns = end_ns;
}

void Schedule::FindEarliest() {
  earliest_ns_ = kNever;
  for (const Output& output : outputs_) {
    earliest_ns_ = std::min(earliest_ns_, output.on ? output.off_ns : output.on_ns);
  }
}

void Schedule::Switch(Output& output, TimeNs t_ns, bool on) {
  output.on = on;
  if (on) output.on_ns = kNever;
  if (output.kind == OutputKind::kCoil ? !on : on) {
    ++(output.kind == OutputKind::kCoil ? ignitions_ : injections_);
  }
  if (events_.size() == events_.capacity()) {
    ++dropped_;
    return;
  }
  events_.push_back({t_ns, output.kind, output.cylinder, on});
}

void Schedule::Advance(TimeNs t_ns) {
  if (t_ns < earliest_ns_) return;
  for (Output& output : outputs_) {
    if (!output.on && output.on_ns <= t_ns) Switch(output, output.on_ns, true);
    if (output.on && output.off_ns <= t_ns) Switch(output, output.off_ns, false);
  }
  FindEarliest();
}

void Schedule::Cancel() {
  for (Output& output : outputs_) {
    if (!output.on) output.on_ns = kNever;
  }
  FindEarliest();
}

void Schedule::SwitchOff(TimeNs t_ns) {
  Cancel();
  for (Output& output : outputs_) {
    if (output.on) Switch(output, t_ns, false);
  }
  FindEarliest();
}

}  // namespace drycrank::standin
