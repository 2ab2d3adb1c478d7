// SPDX-License-Identifier: Apache-2.0
//
// Disturbances on a pickup's signal. A switching output is the other way round while one lasts, as a
// line that is pulled over; at a coil it adds to the EMF, in the middle of a lobe too.
#include <algorithm>

#include "plant/plant.h"
#include "plant/switch_wave.h"
#include "types/nth.h"

namespace drycrank::plant {
namespace {

// What is left of a lobe at t_ns: from its voltage now on, through its voltage half the way, to its end.
Wave RestOf(const Wave& lobe, TimeNs t_ns) {
  if (lobe.end_ns == kNever || lobe.end_ns <= t_ns) return {t_ns, kNever, 0, 0, 0};
  Wave rest{t_ns, lobe.end_ns, lobe.At(t_ns), lobe.end_v, 0};
  rest.peak_v = lobe.At(t_ns + (lobe.end_ns - t_ns) / 2) - (rest.begin_v + rest.end_v) / 2;
  return rest;
}

}  // namespace

TimeNs Plant::NoiseDueNs() const {
  TimeNs due_ns = kNever;
  if (!is_disturbed_) return due_ns;
  for (const Disturbances& one : disturbed_) due_ns = std::min(due_ns, one.next_ns());
  return due_ns;
}

double Plant::DisturbanceV(int coil) const {
  return Nth(disturbed_, Nth(coil_devices_, coil)).volts();
}

// By the faults in force. A capture's trace has the noise of its own engine.
void Plant::SetNoise(TimeNs t_ns) {
  is_disturbed_ = false;
  for (std::size_t i = 0; i < disturbed_.size(); ++i) {
    const NoiseLaw law = is_fed_[i] ? NoiseLaw{} : pickup_faults_[i].noise;
    const bool ended = disturbed_[i].Set(t_ns, law);
    is_disturbed_ = is_disturbed_ || law.rate_hz > 0;
    if (ended) EmitDisturbed(i, t_ns);
  }
}

void Plant::TakeNoise() {
  const auto first = std::ranges::min_element(disturbed_, {}, &Disturbances::next_ns);
  const TimeNs t_ns = first->next_ns();
  first->Take();
  EmitDisturbed(AsSize(first - disturbed_.begin()), t_ns);
}

// A disturbance has begun or ended.
void Plant::EmitDisturbed(std::size_t trigger, TimeNs t_ns) {
  if (const int coil = coil_of_trigger_[trigger]; coil >= 0) {
    EmitCoil(coil, t_ns, RestOf(Nth(lobes_, coil), t_ns));
    return;
  }
  SetHall(trigger, triggers_.metal(static_cast<int>(trigger)));
  sink_.OnEmf(static_cast<int>(trigger), SwitchWave(on_[trigger], t_ns));
  EmitLevels(t_ns);
}

}  // namespace drycrank::plant
