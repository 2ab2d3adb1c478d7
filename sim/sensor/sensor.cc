// SPDX-License-Identifier: Apache-2.0
#include "sensor/sensor.h"

#include <algorithm>
#include <variant>

#include "profile/sensors.h"
#include "sensor/linear.h"
#include "sensor/ntc.h"
#include "sensor/platinum.h"
#include "sensor/pulse.h"
#include "sensor/type_k.h"
#include "types/unit.h"

namespace drycrank::sensor {
namespace {

// Looking a unit up by name takes longer than the curve itself; nearly every stimulus is in degC.
double ToDegc(double value, const profile::Stimulus& stimulus) {
  return stimulus.unit == "degC" ? value : Convert(value, stimulus.unit, "degC").value_or(value);
}
double FromDegc(double degc, const profile::Stimulus& stimulus) {
  return stimulus.unit == "degC" ? degc : Convert(degc, "degC", stimulus.unit).value_or(degc);
}

struct Forward {
  const profile::Stimulus& stimulus;
  double value;
  double barometric_kpa;
  double width_value;

  Source operator()(const profile::NtcSensor& sensor) const {
    const double degc = ToDegc(value, stimulus);
    return {.value = std::visit([degc](const auto& curve) { return NtcOhm(curve, degc); },
                                sensor.curve)};
  }
  Source operator()(const profile::PlatinumSensor& sensor) const {
    return {.value = PlatinumOhm(sensor.r0_ohm, ToDegc(value, stimulus))};
  }
  Source operator()(const profile::TypeKSensor& sensor) const {
    const double millivolt =
        TypeKMillivolt(ToDegc(value, stimulus)) - TypeKMillivolt(sensor.cold_junction_degc);
    return {.kind = SourceKind::kVoltage, .value = millivolt * 1e-3};
  }
  Source operator()(const profile::RatiometricSensor& sensor) const {
    const double shift =
        ZeroShift(stimulus.reference, sensor.reference, barometric_kpa, stimulus.unit);
    return {.kind = SourceKind::kSupplyFraction,
            .value = RatiometricFraction(sensor, value + shift)};
  }
  Source operator()(const profile::VoltageSensor& sensor) const {
    return {.kind = SourceKind::kVoltage, .value = Interpolate(sensor.volts_at_value, value)};
  }
  Source operator()(const profile::SwitchSensor& sensor) const {
    return {.value = SwitchClosed(sensor, value) ? sensor.closed_ohm : sensor.open_ohm};
  }
  Source operator()(const profile::FrequencySensor& sensor) const {
    const double hz = PulseHz(sensor, value);
    return {.kind = SourceKind::kPulses, .hz = hz, .low_s = PulseLowS(sensor, hz, width_value)};
  }
};

struct Backward {
  const profile::Stimulus& stimulus;
  const Source& source;
  double barometric_kpa;

  double operator()(const profile::NtcSensor& sensor) const {
    const double degc = std::visit(
        [this](const auto& curve) { return NtcDegc(curve, source.value); }, sensor.curve);
    return FromDegc(degc, stimulus);
  }
  double operator()(const profile::PlatinumSensor& sensor) const {
    return FromDegc(PlatinumDegc(sensor.r0_ohm, source.value), stimulus);
  }
  double operator()(const profile::TypeKSensor& sensor) const {
    const double millivolt = source.value * 1e3 + TypeKMillivolt(sensor.cold_junction_degc);
    return FromDegc(TypeKDegc(millivolt), stimulus);
  }
  double operator()(const profile::RatiometricSensor& sensor) const {
    return RatiometricValue(sensor, source.value) -
           ZeroShift(stimulus.reference, sensor.reference, barometric_kpa, stimulus.unit);
  }
  double operator()(const profile::VoltageSensor& sensor) const {
    return InterpolateInverse(sensor.volts_at_value, source.value);
  }
  double operator()(const profile::SwitchSensor& sensor) const { return sensor.closed_at; }
  double operator()(const profile::FrequencySensor& sensor) const {
    return PulseValue(sensor, source.hz);
  }
};

}  // namespace

Source ToSource(const profile::Sensor& sensor, const profile::Stimulus& stimulus, double value,
                double barometric_kpa, double width_value) {
  const double held = std::clamp(value, sensor.min, sensor.max);
  return std::visit(Forward{stimulus, held, barometric_kpa, width_value}, sensor.model);
}

double FromSource(const profile::Sensor& sensor, const profile::Stimulus& stimulus,
                  const Source& source, double barometric_kpa) {
  const double value = std::visit(Backward{stimulus, source, barometric_kpa}, sensor.model);
  return std::clamp(value, sensor.min, sensor.max);
}

}  // namespace drycrank::sensor
