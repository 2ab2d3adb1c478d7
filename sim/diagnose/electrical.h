// SPDX-License-Identifier: Apache-2.0
//
// Volts at the controller's inputs in one situation, and what each switching or swinging device
// makes of them.
#ifndef DRYCRANK_DIAGNOSE_ELECTRICAL_H_
#define DRYCRANK_DIAGNOSE_ELECTRICAL_H_

#include <optional>
#include <span>
#include <vector>

#include "diagnose/reading.h"
#include "harness/harness.h"
#include "harness/variants.h"
#include "plant/sources.h"
#include "profile/fault.h"
#include "types/source.h"

namespace drycrank::diagnose {

// How far a device that does not hold still reaches: a Hall pickup, a pulse sensor (on_v), a coil
// (gain). Devices as in harness.h.
struct Reach {
  int device = 0;
  bool coil = false;
  std::vector<double> on_v;  // at each input while it conducts, all others off
  std::vector<double> gain;  // at each input per volt of EMF
};

struct Electrical {
  double supply_v = 0;
  std::vector<double> reference_v;
  std::vector<double> input_v;  // all outputs off, coils at rest
  std::vector<Reach> reaches;
};

// What the devices of a bench do in a situation, all outputs off: harness::DeviceValues.
harness::DeviceValues DevicesIn(const profile::Bench& bench, const Situation& situation,
                                plant::Faults faults);

class ElectricalModel;

// The healthy bench in given situations, solved once for all faults that are tried on it.
class HealthyElectrical {
 public:
  // Situations differ from the first by a device or two, or more slowly.
  HealthyElectrical(const profile::Bench& bench, std::span<const Situation> situations);

  const harness::Variants& variants() const { return variants_; }
  const Situation& situation(std::size_t situation) const { return situations_[situation]; }
  const harness::DeviceValues& devices(std::size_t situation) const { return devices_[situation]; }
  const Electrical& at(std::size_t situation) const { return rows_[situation]; }
  // As the network itself holds it; nothing where no states agree.
  const std::optional<harness::Variant::Held>& held(std::size_t situation) const {
    return held_[situation];
  }

 private:
  std::vector<Situation> situations_;
  harness::Variants variants_;
  std::vector<harness::DeviceValues> devices_;
  std::vector<Electrical> rows_;
  std::vector<std::optional<harness::Variant::Held>> held_;
};

// A difference below this is none: far below what a controller resolves.
inline constexpr double kSameV = 1e-6;
// Is input `i` as it is in the other, at rest and under every device that reaches it?
bool SameAt(int input, const Electrical& a, const Electrical& b);

class ElectricalModel {
 public:
  // `healthy` must outlive it. Faults that have no form as an edit get a network of their own.
  ElectricalModel(const profile::Bench& bench, const HealthyElectrical& healthy,
                  std::span<const profile::Fault> faults);
  ElectricalModel(const profile::Bench& bench, const HealthyElectrical& healthy);
  // These faults, and no others; what it solved before means nothing any more.
  void PutIn(std::span<const profile::Fault> faults);
  ElectricalModel(const ElectricalModel&) = delete;
  ElectricalModel& operator=(const ElectricalModel&) = delete;

  const Electrical& SolveIn(const Situation& situation);
  // In a situation of `healthy`, by its number. What a device makes of the inputs is found anew
  // only where the fault changes it.
  const Electrical& SolveIn(std::size_t situation);
  plant::Faults faults() const { return pointers_; }
  // What a sensor gives, faults of the sensor included; of pulses, off.
  Source SourceIn(int sensor, const Situation& situation) const;

  // Volts for these values of the devices, as harness::Harness; then of that solve, the next three.
  void Solve(std::span<const double> values, std::span<double> input_v);
  void Transfer(int device, std::span<double> gain);
  double ControllerSupply() const;
  double Reference(int index) const;
  // Through the first fault, of the last solve, when it is a short or a leak; else 0.
  double ShortAmperes() const;

 private:
  friend class HealthyElectrical;
  ElectricalModel(const profile::Bench& bench, const harness::Variants& variants);

  void Shape();
  void FindMovedSensors();
  bool HasForm() const { return !harness_; }
  void SolveOn(Reach& reach);
  void SolveRest();
  void SetSupplies();
  void SolveAll();
  void MarkShifts(std::size_t situation);
  bool SolveShifted(std::size_t situation);
  void FindMoved(const Electrical& healthy);

  const profile::Bench& bench_;
  const HealthyElectrical* healthy_ = nullptr;
  std::vector<profile::Fault> faults_;
  std::vector<const profile::Fault*> pointers_;  // to them
  bool edits_ = false;                           // changes the network or a sensor
  std::vector<int> moved_sensors_;
  const harness::Variants& variants_;
  harness::Variant variant_;
  std::optional<harness::Harness> harness_;  // of faults that have no form as an edit
  harness::DeviceValues values_;
  std::vector<bool> moved_;  // per reach: the fault changes what it makes of the inputs
  bool moves_reach_ = false;  // any of them
  Electrical answer_;
};

// Volts at all nodes of a bench with faults, the controller fed or not (unfed.h).
harness::Harness HarnessIn(const profile::Bench& bench, const Situation& situation,
                           std::span<const profile::Fault> faults);

}  // namespace drycrank::diagnose

#endif  // DRYCRANK_DIAGNOSE_ELECTRICAL_H_
