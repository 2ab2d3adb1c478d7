// SPDX-License-Identifier: Apache-2.0
//
// What is built, as the controller's pins see it: devices, wires and input circuits as the bench
// draws them, no fault, every other quantity at its initial value. Nothing that has been set in the
// controller plays a part; its terminals, pull-ups and references do, for they are built too.
#ifndef DRYCRANK_PROOFREAD_PINS_H_
#define DRYCRANK_PROOFREAD_PINS_H_

#include <vector>

#include "harness/harness.h"
#include "profile/bench.h"
#include "profile/sensors.h"
#include "profile/triggers.h"
#include "types/source.h"

namespace drycrank::proofread {

struct Span {
  double low = 0, high = 0;
  double At(double share) const { return low + share * (high - low); }
};

class Pins {
 public:
  // REQUIRES: bench.controller; it must outlive this.
  explicit Pins(const profile::Bench& bench);

  // Index into controller.inputs that the signal lead is wired to; of a coil, that one of its leads
  // is. -1: none.
  int InputOfTrigger(int trigger) const;
  int InputOfSensor(int sensor) const;

  // The coil's minus lead is where its plus should be: the input sees the voltage upside down.
  bool LeadsReversed(int trigger, int input);

  // Volts of a switching output at the input, open and conducting.
  struct Levels {
    double open_v = 0, conducting_v = 0;
  };
  Levels LevelsOfTrigger(int trigger, int input) { return LevelsOf(trigger, input); }
  Levels LevelsOfSensor(int sensor, int input) { return LevelsOf(Device(sensor), input); }

  // The sensor's quantity at `value`, in the stimulus' unit; `width_value` of its second quantity.
  struct Volts {
    double at_pin_v = 0;
    double of_reference_v = 0;  // scaled to the reference's nominal voltage: read as a share of it
  };
  Volts VoltsAt(int sensor, double value, int input);
  Source PulsesAt(int sensor, double value, double width_value) const;

 private:
  int Device(int sensor) const { return static_cast<int>(bench_.triggers.size()) + sensor; }
  int InputOf(const std::vector<std::string>& leads) const;
  Levels LevelsOf(int device, int input);
  double SolveWith(int device, double value, int input);

  const profile::Bench& bench_;
  harness::Harness harness_;
  std::vector<double> at_rest_;
};

// Where a sensor's law is stated, in the unit and zero of its stimulus: a ratiometric sensor
// between its two points, a voltage between its first and last, others from `min` to `max`.
Span LawSpan(const profile::Bench& bench, const profile::Sensor& sensor);

// The sensor's own quantity (gauge or absolute, as it senses) for a value of its stimulus.
double Sensed(const profile::Bench& bench, const profile::Sensor& sensor, double value);

}  // namespace drycrank::proofread

#endif  // DRYCRANK_PROOFREAD_PINS_H_
