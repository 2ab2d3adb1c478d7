// SPDX-License-Identifier: Apache-2.0
#include "standin/firing_plan.h"

#include <algorithm>
#include <utility>

#include "types/angle.h"

namespace drycrank::standin {
namespace {

constexpr std::size_t kEventCapacity = 4096;
constexpr double kSameDeg = 1e-6;  // 469.4 - 360 is a little less than 109.4 in binary

bool OncePerTurn(const profile::Decoder& decoder) {
  return decoder.strokes == 2 || decoder.firing == profile::Firing::kPaired;
}

}  // namespace

FiringPlan::FiringPlan(const profile::Decoder& decoder)
    : cycle_deg_(OncePerTurn(decoder) ? 360.0 : 720.0) {
  const double intake_deg = decoder.strokes == 2 ? 0.0 : 360.0;
  const std::size_t cylinders =
      std::min(decoder.firing_order.size(), decoder.firing_angles_deg.size());
  for (std::size_t i = 0; i < cylinders; ++i) {
    const int cylinder = decoder.firing_order[i];
    const double firing_deg = decoder.firing_angles_deg[i];
    const auto add = [&](OutputKind kind, double end_deg, double duration_ms) {
      if (duration_ms <= 0) return;
      Driver driver;
      driver.kind = kind;
      driver.cylinder = cylinder;
      driver.end_deg = WrapDeg(end_deg, cycle_deg_);
      driver.duration_ns = duration_ms * 1e6;
      drivers_.push_back(driver);
    };
    add(OutputKind::kCoil, firing_deg - decoder.advance_deg, decoder.dwell_ms);
    if (decoder.trailing_deg) {
      add(OutputKind::kTrailingCoil, firing_deg - decoder.advance_deg + *decoder.trailing_deg,
          decoder.dwell_ms);
    }
    add(OutputKind::kInjector, firing_deg + intake_deg - decoder.injection_end_deg,
        decoder.injection_ms);
  }
  events_.reserve(kEventCapacity);
}

void FiringPlan::OnPosition(TimeNs t_ns, double cycle_angle_deg, double deg_per_ns,
                            double to_next_deg) {
  const double ns_per_deg = 1 / deg_per_ns;
  if (cycle_angle_deg >= cycle_deg_) cycle_angle_deg -= cycle_deg_;  // in which turn is not known
  double turned_deg = WrapDeg(cycle_angle_deg - last_angle_deg_, cycle_deg_);
  if (turned_deg < kSameDeg) turned_deg = cycle_deg_;  // one tooth in a cycle
  last_angle_deg_ = cycle_angle_deg;
  const Ahead ahead{t_ns, to_next_deg * ns_per_deg, cycle_deg_ * ns_per_deg};
  earliest_ns_ = kNever;
  for (Driver& driver : drivers_) {
    driver.rest_deg -= turned_deg;
    driver.off_before_ns = driver.off_ns;
    double to_go_deg = driver.end_deg - cycle_angle_deg;
    if (to_go_deg < 0) to_go_deg += cycle_deg_;
    Predict(driver, ahead, to_go_deg * ns_per_deg);
    earliest_ns_ = std::min(earliest_ns_, driver.on ? driver.off_ns : driver.on_ns);
  }
}

// The begin a cycle after the one that ends then, where no edge comes before it.
TimeNs FiringPlan::BeginAfter(const Driver& driver, const Ahead& ahead, TimeNs end_ns) {
  if (ahead.cycle_ns - driver.duration_ns >= ahead.to_next_ns) return kNever;  // of most wheels
  const double to_begin_ns =
      static_cast<double>(end_ns - ahead.t_ns) + ahead.cycle_ns - driver.duration_ns;
  if (to_begin_ns < 0 || to_begin_ns >= ahead.to_next_ns) return kNever;
  return ahead.t_ns + static_cast<TimeNs>(to_begin_ns + 0.5);
}

void FiringPlan::Predict(Driver& driver, const Ahead& ahead, double to_go_ns) const {
  const TimeNs t_ns = ahead.t_ns;
  const TimeNs end_ns = t_ns + static_cast<TimeNs>(to_go_ns + 0.5);
  if (driver.on) {
    // An injector opens for a time, not an angle. A coil's end that jumped to the next cycle: the
    // angle was passed since the last edge.
    if (IsCoil(driver.kind)) {
      const bool passed = static_cast<double>(end_ns - driver.off_ns) > ahead.cycle_ns / 2;
      driver.off_ns = passed ? t_ns : end_ns;
    }
    driver.again_ns = BeginAfter(driver, ahead, driver.off_ns);
    return;
  }
  const bool was_due = driver.on_ns != kNever;
  const bool missed =  // its end lies behind this edge, and it has not begun
      was_due && static_cast<double>(end_ns - driver.off_ns) > ahead.cycle_ns / 2;
  driver.off_ns = end_ns;
  driver.again_ns = BeginAfter(driver, ahead, end_ns);
  const double to_begin_ns = to_go_ns - driver.duration_ns;
  // By angle, not by time: within a cycle the speed may change many times over.
  if (driver.rest_deg > 0 || IsCut(driver.kind)) {
    driver.on_ns = kNever;
  } else if (missed) {
    driver.on_ns = t_ns;
    driver.off_ns = t_ns + static_cast<TimeNs>(driver.duration_ns / 2);
  } else if (to_begin_ns >= 0) {
    driver.on_ns = t_ns + static_cast<TimeNs>(to_begin_ns + 0.5);
  } else if (to_go_ns >= driver.duration_ns / 2 || was_due) {
    driver.on_ns = t_ns;
    driver.off_ns = std::max(end_ns, t_ns + static_cast<TimeNs>(driver.duration_ns / 2));
  } else {
    driver.on_ns = std::exchange(driver.again_ns, kNever);
    if (driver.on_ns == kNever) return;
    driver.off_ns = driver.on_ns + static_cast<TimeNs>(driver.duration_ns + 0.5);
  }
}

void FiringPlan::FindEarliest() {
  earliest_ns_ = kNever;
  for (const Driver& driver : drivers_) {
    earliest_ns_ = std::min(earliest_ns_, driver.on ? driver.off_ns : driver.on_ns);
  }
}

void FiringPlan::Switch(Driver& driver, TimeNs t_ns, bool on) {
  driver.on = on;
  if (on) {
    driver.on_ns = kNever;
  } else {
    driver.rest_deg = cycle_deg_ / 2;
    if (driver.again_ns != kNever && !IsCut(driver.kind)) {
      driver.on_ns = driver.again_ns;
      driver.off_ns = driver.on_ns + static_cast<TimeNs>(driver.duration_ns + 0.5);
    }
    driver.again_ns = kNever;
  }
  if (driver.kind == OutputKind::kCoil && !on) ++ignitions_;
  if (driver.kind == OutputKind::kInjector && on) ++injections_;
  Add({t_ns, driver.kind, driver.cylinder, on});
}

void FiringPlan::Add(const OutputEvent& event) {
  if (events_.size() == events_.capacity()) {
    ++dropped_;
    return;
  }
  events_.push_back(event);
}

void FiringPlan::SwitchOutput(TimeNs t_ns, int output, bool on) {
  Add({t_ns, OutputKind::kSwitch, output, on});
}

void FiringPlan::Cut(OutputKind kind, bool is_cut) {
  (IsCoil(kind) ? no_sparks_ : no_injections_) = is_cut;
  if (!is_cut) return;
  for (Driver& driver : drivers_) {
    if (IsCoil(driver.kind) == IsCoil(kind) && !driver.on) driver.on_ns = kNever;
  }
  FindEarliest();
}

// In the order of time, also where one tooth a turn lets many wait.
void FiringPlan::Advance(TimeNs t_ns) {
  while (earliest_ns_ <= t_ns && earliest_ns_ != kNever) {
    const auto next = std::ranges::find_if(drivers_, [this](const Driver& driver) {
      return (driver.on ? driver.off_ns : driver.on_ns) == earliest_ns_;
    });
    Switch(*next, earliest_ns_, !next->on);
    FindEarliest();
  }
}

void FiringPlan::Cancel() {
  for (Driver& driver : drivers_) {
    driver.rest_deg = 0;  // whatever comes next, the place is found anew
    driver.again_ns = kNever;
    if (!driver.on) driver.on_ns = kNever;
  }
  FindEarliest();
}

// An end of the same cycle that still lies ahead.
void FiringPlan::TakeBack(TimeNs t_ns) {
  for (Driver& driver : drivers_) {
    const TimeNs before_ns = std::exchange(driver.off_before_ns, kNever);
    const double later_ns = static_cast<double>(before_ns - driver.off_ns);
    if (driver.on && IsCoil(driver.kind) && before_ns > t_ns && later_ns < driver.duration_ns) {
      driver.off_ns = before_ns;
    }
  }
}

void FiringPlan::SwitchOff(TimeNs t_ns) {
  Cancel();
  for (Driver& driver : drivers_) {
    if (driver.on) Switch(driver, t_ns, false);
  }
  FindEarliest();
}

}  // namespace drycrank::standin
