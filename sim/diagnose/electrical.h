// SPDX-License-Identifier: Apache-2.0
//
// Volts at the controller's inputs in one situation, and what each switching or swinging source
// makes of them.
#ifndef DRYCRANK_DIAGNOSE_ELECTRICAL_H_
#define DRYCRANK_DIAGNOSE_ELECTRICAL_H_

#include <span>
#include <vector>

#include "diagnose/reading.h"
#include "harness/harness.h"
#include "profile/fault.h"

namespace drycrank::diagnose {

// A device that does not hold still: a Hall pickup, a pulse sensor (on_v), a coil (gain). Devices
// as in harness.h.
struct Source {
  int device = 0;
  bool coil = false;
  std::vector<double> on_v;  // at each input while it conducts, all others off
  std::vector<double> gain;  // at each input per volt of EMF
};

struct Electrical {
  double supply_v = 0;
  std::vector<double> reference_v;
  std::vector<double> input_v;  // all outputs off, coils at rest
  std::vector<Source> sources;
};

// Frequency and low time of a pulse sensor, s; zero hz: stands still.
struct Pulses {
  double hz = 0;
  double low_s = 0;
};

class ElectricalModel {
 public:
  ElectricalModel(const profile::Bench& bench, std::span<const profile::Fault> faults);

  const Electrical& Solve(const Situation& situation);
  // Of sensor `sensor`, faults of the sensor included.
  Pulses PulsesOf(int sensor, const Situation& situation) const;
  // Any node by name, of the last Solve (harness.h).
  double Voltage(std::string_view node) const { return harness_.Voltage(node); }

 private:
  double Quantity(const profile::Sensor& sensor, const Situation& situation) const;

  const profile::Bench& bench_;
  std::vector<profile::Fault> faults_;
  std::vector<const profile::Fault*> pointers_;
  harness::Harness harness_;
  harness::DeviceValues values_;
  Electrical answer_;
};

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_ELECTRICAL_H_
