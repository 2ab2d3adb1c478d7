// SPDX-License-Identifier: Apache-2.0
//
// Sensors of a bench (bench.h). A new kind is added here and to the variant; the compiler then leads
// to its keys (keys_sensors.h), its reader (load_sensors.cc), its leads (device_leads.cc), its curve
// (sensor/sensor.cc) and its branch of the network (harness/topology.cc).
#ifndef DRYCRANK_PROFILE_SENSORS_H_
#define DRYCRANK_PROFILE_SENSORS_H_

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "profile/pressure_reference.h"
#include "profile/triggers.h"
#include "types/diagnostic.h"
#include "types/points.h"
#include "types/written_at.h"

namespace drycrank::profile {

// Below, `supply`, `ground`, `signal`, `plus`, `minus` are terminals.
struct BetaNtc {
  double r25_ohm = 10000;
  double beta_k = 3977;
};
struct SteinhartHartNtc {
  double a = 0, b = 0, c = 0;
};
struct TableNtc {
  Points ohm_at_degc;
};  // (degC, ohm), ohm strictly falling

struct NtcSensor {
  static constexpr const char* kWord = "ntc";
  std::string plus, minus;
  std::variant<BetaNtc, SteinhartHartNtc, TableNtc> curve;
};
struct PlatinumSensor {  // IEC 60751
  static constexpr const char* kWord = "platinum";
  std::string plus, minus;
  double r0_ohm = 100;
};
struct TypeKSensor {  // NIST Monograph 175; plus is the positive leg
  static constexpr const char* kWord = "type_k";
  std::string plus, minus;
  double cold_junction_degc = 25;  // at the far end of the thermocouple's own leads
  double loop_ohm = 5;
};
// Output is a fraction of the voltage between supply and ground, through output_ohm.
struct RatiometricSensor {
  static constexpr const char* kWord = "ratiometric";
  std::string supply, ground, signal;
  double low_value = 0, high_value = 100;  // in the stimulus' unit; pressures: in `reference`
  double low_fraction = 0.1, high_fraction = 0.9;
  double min_fraction = 0.02, max_fraction = 0.98;  // the output stage saturates here
  PressureReference reference = PressureReference::kAbsolute;
  double output_ohm = 50;
  double supply_ohm = 1000;  // current drawn, as a resistance
  double min_supply_v = 3.5;
};
// Output is a voltage of its own against ground, from a broken line (value, V).
struct VoltageSensor {
  static constexpr const char* kWord = "voltage";
  std::string supply, ground, signal;
  Points volts_at_value;
  double output_ohm = 100;
  double supply_ohm = 1000;
  double min_supply_v = 6;
};
struct SwitchSensor {
  static constexpr const char* kWord = "switch";
  std::string plus, minus;
  double closed_at = 0.5;    // closes when the stimulus is at or above this
  bool closed_above = true;  // false: closes at or below
  double closed_ohm = 0.1;
  double open_ohm = 10e6;
};
// Open-collector pulse train: frequency from a straight line hz = hz_at_zero + hz_per_unit * value.
struct FrequencySensor {
  static constexpr const char* kWord = "frequency";
  HallPickup output;
  double hz_at_zero = 0;
  double hz_per_unit = 1;  // wheel speed: teeth / (3.6 * circumference_m) for km/h
  // Share of the period at which the output is low, unless a width stimulus gives the low time:
  double low_fraction = 0.5;
  int width_stimulus = -1;  // fuel composition sensor: fuel temperature (degC) ...
  double width_ms_at_low = 1, width_low_degc = -40;  // ... with two points of its published scale
  double width_ms_at_high = 5, width_high_degc = 125;
};

using SensorModel = std::variant<NtcSensor, PlatinumSensor, TypeKSensor, RatiometricSensor,
                                 VoltageSensor, SwitchSensor, FrequencySensor>;

struct Sensor {
  std::string name;
  std::string label;
  int stimulus = 0;  // what it measures
  double min = 0;  // range of the quantity it is good for, stimulus unit; outside it holds the end
  double max = 0;
  SensorModel model;
  bool fitted = true;  // false: on paper only, its plug hangs free
  Place place;
  // How far the harness may move its reading, as a difference in stimulus unit; 0: not stated.
  double tolerance = 0;
  WrittenAt written = {};
  std::string housed_with = {};  // another sensor in one housing: they may share pins
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_SENSORS_H_
