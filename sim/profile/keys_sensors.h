// SPDX-License-Identifier: Apache-2.0
//
// Keys of sensors, by kind (key.h).
#ifndef DRYCRANK_PROFILE_KEYS_SENSORS_H_
#define DRYCRANK_PROFILE_KEYS_SENSORS_H_

#include <algorithm>
#include <array>
#include <string_view>
#include <tuple>
#include <variant>

#include "profile/keys_bench.h"
#include "profile/keys_triggers.h"
#include "profile/kinds.h"
#include "profile/sensors.h"

namespace drycrank::profile {

// All kinds by their words, and the other word of one: a frequency sensor of fuel.
inline constexpr auto kSensorKindWords = [] {
  std::array<std::string_view, std::variant_size_v<SensorModel> + 1> words;
  std::copy(kWordsOf<SensorModel>.begin(), kWordsOf<SensorModel>.end(), words.begin());
  words.back() = "fuel_composition";
  return words;
}();

// Before the keys of the kind, and after them.
inline constexpr Field<Sensor> kSensorKeys[] = {
    {"label", To<&Sensor::label>, kText, "What reports call it.", {}, "its name"},
    {"measures",
     {},
     NameOf("a stimulus"),
     "The stimulus that it senses.",
     "measures: coolant_temperature"},
    {"kind",
     {},
     OneOf(kSensorKindWords),
     "How it turns the quantity into something electrical.",
     "kind: ntc"},
    {"fitted", To<&Sensor::fitted>, kTruth,
     "false: on paper only, not on the bench; its plug hangs free."},
    {"housed_with", {}, NameOf("a sensor"),
     "A sensor above it in the file with which it is in one housing, as the two tracks of a "
     "throttle: they may share pins.",
     {}, "alone"},
};
inline constexpr Field<Sensor> kSpanKeys[] = {
    {"min",
     To<&Sensor::min>,
     Number("of the stimulus"),
     "The lowest value it can sense; below, it stays there.",
     {},
     "by its kind"},
    {"max",
     To<&Sensor::max>,
     Number("of the stimulus"),
     "The highest value it can sense; above, it stays there.",
     {},
     "by its kind"},
    {"tolerance",
     To<&Sensor::tolerance>,
     Difference("of the stimulus", 1e-6, 1e9),
     "By how much wires and contacts may move its reading before somebody should care.",
     {},
     "not stated"},
};

inline constexpr Field<NtcSensor> kNtcKeys[] = {
    {"plus", To<&NtcSensor::plus>, kTerminal, "One lead; which one does not matter.",
     "plus: CLT.1"},
    {"minus", To<&NtcSensor::minus>, kTerminal, "The other lead, to sensor ground.",
     "minus: CLT.1"},
    {"beta",
     {},
     Section("beta"),
     "Its curve by two numbers of the data sheet. One of beta, steinhart_hart, ohm_at_degc."},
    {"steinhart_hart",
     {},
     Section("steinhart_hart"),
     "Its curve by the three coefficients of Steinhart and Hart. One of beta, steinhart_hart, "
     "ohm_at_degc."},
    {"ohm_at_degc",
     {},
     PointsOf({"degC", -273, 1000}, {"ohm", 0.1, 1e9}),
     "Its curve as rows of the data sheet, [[-40, 336103], [25, 10000], ...]; the resistance falls "
     "from row to row. One of beta, steinhart_hart, ohm_at_degc."},
};
inline constexpr Field<BetaNtc> kBetaKeys[] = {
    {"r25_ohm", To<&BetaNtc::r25_ohm>, Number("ohm", 1, 1e8), "Resistance at 25 °C."},
    {"beta_k", To<&BetaNtc::beta_k>, Number("", 500, 10000),
     "The data sheet's B between 25 and 85 °C, in kelvin: how steeply the resistance falls."},
};
inline constexpr Field<SteinhartHartNtc> kSteinhartHartKeys[] = {
    // b > 0 and c >= 0: else 1/T does not rise with ln R everywhere, and the curve has no inverse.
    {"a", To<&SteinhartHartNtc::a>, Number("", -0.1, 0.1), "Of 1/T = a + b ln R + c (ln R)^3.",
     "a: 1.129148e-3"},
    {"b", To<&SteinhartHartNtc::b>, Number("", 1e-6, 0.01), "Of the same equation; T in kelvin.",
     "b: 2.34125e-4"},
    {"c", To<&SteinhartHartNtc::c>, Number("", 0, 1e-4), "Of the same equation; R in ohm.",
     "c: 8.76741e-8"},
};

inline constexpr Field<PlatinumSensor> kPlatinumKeys[] = {
    {"plus", To<&PlatinumSensor::plus>, kTerminal, "One lead; which one does not matter.",
     "plus: CLT.1"},
    {"minus", To<&PlatinumSensor::minus>, kTerminal, "The other lead.", "minus: CLT.1"},
    {"r0_ohm", To<&PlatinumSensor::r0_ohm>, Number("ohm", 1, 1e5),
     "Resistance at 0 °C: 100 for a Pt100, 1000 for a Pt1000 (IEC 60751)."},
};

inline constexpr Field<TypeKSensor> kTypeKKeys[] = {
    {"plus", To<&TypeKSensor::plus>, kTerminal,
     "The positive leg. The legs swapped, and it reads colder the hotter it gets.", "plus: CLT.1"},
    {"minus", To<&TypeKSensor::minus>, kTerminal, "The negative leg.", "minus: CLT.1"},
    {"cold_junction_degc", To<&TypeKSensor::cold_junction_degc>, Number("degC", -60, 150),
     "Temperature where its own leads end and copper begins."},
    {"loop_ohm", To<&TypeKSensor::loop_ohm>, Number("ohm", 0.01, 1e5),
     "What a meter reads from leg to leg. Common practice, no source."},
};

inline constexpr Field<RatiometricSensor> kRatiometricKeys[] = {
    {"supply", To<&RatiometricSensor::supply>, kTerminal,
     "The sensor's supply pin, usually at the controller's 5 V.", "supply: CLT.1"},
    {"ground", To<&RatiometricSensor::ground>, kTerminal, "The sensor's ground pin.",
     "ground: CLT.1"},
    {"signal", To<&RatiometricSensor::signal>, kTerminal, "The sensor's output.", "signal: CLT.1"},
    {"reference",
     To<&RatiometricSensor::reference>,
     OneOf<PressureReference>(),
     "Of a pressure: what the sensor itself senses, against vacuum (absolute) or against the air "
     "around (gauge).",
     {},
     "as the stimulus"},
    {"low_value", To<&RatiometricSensor::low_value>, Number("of the stimulus"),
     "Value at which the output is low_fraction of the supply.", "low_value: 0"},
    {"high_value", To<&RatiometricSensor::high_value>, Number("of the stimulus"),
     "Value at which the output is high_fraction of the supply.", "high_value: 100"},
    {"low_fraction", To<&RatiometricSensor::low_fraction>, Number("", 0, 1),
     "Output at low_value, as a share of the supply: 0.1 is 0.5 V of 5 V."},
    {"high_fraction", To<&RatiometricSensor::high_fraction>, Number("", 0, 1),
     "Output at high_value, as a share of the supply: 0.9 is 4.5 V of 5 V."},
    {"min_fraction", To<&RatiometricSensor::min_fraction>, Number("", 0, 1),
     "The output never gets lower. Common practice, no source."},
    {"max_fraction", To<&RatiometricSensor::max_fraction>, Number("", 0, 1),
     "The output never gets higher. Common practice, no source."},
    {"output_ohm", To<&RatiometricSensor::output_ohm>, Number("ohm", 0.01, 1e6),
     "Resistance of the output: with leakage on the signal wire it decides how wrong the reading "
     "gets. Common practice, no source."},
    {"supply_ohm", To<&RatiometricSensor::supply_ohm>, Number("ohm", 1, 1e9),
     "Its own current, as a resistance from supply to ground. Common practice, no source."},
    {"min_supply_v", To<&RatiometricSensor::min_supply_v>, Number("V", 0, 60),
     "With less between supply and ground it gives nothing. Common practice, no source."},
};

inline constexpr Field<VoltageSensor> kVoltageKeys[] = {
    {"supply", To<&VoltageSensor::supply>, kTerminal, "The sensor's supply pin.", "supply: CLT.1"},
    {"ground", To<&VoltageSensor::ground>, kTerminal,
     "The sensor's ground pin; what its ground wire loses is added to the reading.",
     "ground: CLT.1"},
    {"signal", To<&VoltageSensor::signal>, kTerminal, "The sensor's output.", "signal: CLT.1"},
    {"volts_at_value", To<&VoltageSensor::volts_at_value>,
     PointsOf({"of the stimulus"}, {"V", -60, 60}),
     "Its curve as rows (value, V): [[0, 0.5], [100, 4.5]]; straight between them, rising or "
     "falling throughout.",
     "volts_at_value: [[0, 0.5], [100, 4.5]]"},
    {"output_ohm", To<&VoltageSensor::output_ohm>, Number("ohm", 0.01, 1e6),
     "Resistance of the output. Common practice, no source."},
    {"supply_ohm", To<&VoltageSensor::supply_ohm>, Number("ohm", 1, 1e9),
     "Its own current, as a resistance from supply to ground. Common practice, no source."},
    {"min_supply_v", To<&VoltageSensor::min_supply_v>, Number("V", 0, 60),
     "With less between supply and ground it gives nothing. Common practice, no source."},
};

inline constexpr Field<SwitchSensor> kSwitchKeys[] = {
    {"plus", To<&SwitchSensor::plus>, kTerminal, "One contact.", "plus: CLT.1"},
    {"minus", To<&SwitchSensor::minus>, kTerminal, "The other contact.", "minus: CLT.1"},
    {"closed_at", To<&SwitchSensor::closed_at>, Number("of the stimulus"),
     "Value at which it switches."},
    {"closed_above", To<&SwitchSensor::closed_above>, kTruth,
     "true: closed at closed_at and above; false: closed at it and below, as an oil pressure "
     "switch that lights a lamp."},
    {"closed_ohm", To<&SwitchSensor::closed_ohm>, Number("ohm", 1e-3, 1e6),
     "Resistance while it is closed. Common practice, no source."},
    {"open_ohm", To<&SwitchSensor::open_ohm>, Number("ohm", 1, 1e12),
     "Resistance while it is open. Common practice, no source."},
};

// With those of a Hall output, and of a pulse width where there is a width_stimulus.
inline constexpr std::string_view kHzAtZero = "Frequency at a value of 0.";
inline constexpr std::string_view kLowFraction =
    "Share of each period at which the output is low, where no width_stimulus says it.";
inline constexpr Field<FrequencySensor> kFrequencyKeys[] = {
    {"hz_per_unit", To<&FrequencySensor::hz_per_unit>, Number("", -1e5, 1e5),
     "By how many hertz the frequency rises with each unit of the stimulus. A wheel speed in km/h: "
     "teeth / (3.6 · circumference in m).",
     "hz_per_unit: 6.7"},
    {"hz_at_zero", To<&FrequencySensor::hz_at_zero>, Number("Hz", 0, 1e5), kHzAtZero},
    {"low_fraction", To<&FrequencySensor::low_fraction>, Number("", 0.01, 0.99), kLowFraction},
    {"width_stimulus",
     {},
     NameOf("a stimulus"),
     "A temperature that the same sensor sends as the low time of its pulses.",
     {},
     "none"},
};
inline constexpr Field<FrequencySensor> kFuelKeys[] = {
    {"width_stimulus",
     {},
     NameOf("a stimulus"),
     "The fuel's temperature, which the sensor sends as the low time of its pulses.",
     "width_stimulus: fuel_temperature"},
    {"hz_at_zero",
     To<&FrequencySensor::hz_at_zero>,
     Number("Hz", 0, 1e5),
     "Frequency at 0 % ethanol.",
     {},
     "50"},
    {"hz_per_unit", To<&FrequencySensor::hz_per_unit>, Number("", -1e5, 1e5),
     "By how many hertz the frequency rises with each percent."},
    {"low_fraction", To<&FrequencySensor::low_fraction>, Number("", 0.01, 0.99), kLowFraction},
};
inline constexpr Field<FrequencySensor> kWidthKeys[] = {
    {"width_ms_at_low", To<&FrequencySensor::width_ms_at_low>, Number("ms", 0.001, 1000),
     "Low time of a pulse at width_low_degc."},
    {"width_low_degc", To<&FrequencySensor::width_low_degc>, Number("degC", -100, 300),
     "Temperature of the first of two points of the pulse width's straight line."},
    {"width_ms_at_high", To<&FrequencySensor::width_ms_at_high>, Number("ms", 0.001, 1000),
     "Low time of a pulse at width_high_degc."},
    {"width_high_degc", To<&FrequencySensor::width_high_degc>, Number("degC", -100, 300),
     "Temperature of the second point."},
};

// What a kind of sensor is, and its keys. One without them does not compile (device_sections.cc).
template <class Model>
struct OfKind;
template <>
struct OfKind<NtcSensor> {
  static constexpr std::string_view kMeaning =
      "A thermistor: the hotter, the less resistance. Good for -55 to 150 °C unless min and max say "
      "otherwise; a table for its own rows.";
  static constexpr auto kKeys = std::tie(kNtcKeys);
};
template <>
struct OfKind<PlatinumSensor> {
  static constexpr std::string_view kMeaning = "A platinum resistor (IEC 60751), -200 to 850 °C.";
  static constexpr auto kKeys = std::tie(kPlatinumKeys);
};
template <>
struct OfKind<TypeKSensor> {
  static constexpr std::string_view kMeaning =
      "A thermocouple type K (NIST Monograph 175), -270 to 1372 °C.";
  static constexpr auto kKeys = std::tie(kTypeKKeys);
};
template <>
struct OfKind<RatiometricSensor> {
  static constexpr std::string_view kMeaning =
      "Three wires: its output is a share of its supply. Pressures, pedals, throttles.";
  static constexpr auto kKeys = std::tie(kRatiometricKeys);
};
template <>
struct OfKind<VoltageSensor> {
  static constexpr std::string_view kMeaning = "Three wires: its output is a voltage of its own.";
  static constexpr auto kKeys = std::tie(kVoltageKeys);
};
template <>
struct OfKind<SwitchSensor> {
  static constexpr std::string_view kMeaning = "A contact.";
  static constexpr auto kKeys = std::tie(kSwitchKeys);
};
template <>
struct OfKind<FrequencySensor> {
  static constexpr std::string_view kMeaning =
      "Three wires: a train of pulses. Wheel speed, some air flow meters.";
  static constexpr auto kKeys = std::tie(kHallKeys, kFrequencyKeys);
};

}  // namespace drycrank::profile

#endif  // DRYCRANK_PROFILE_KEYS_SENSORS_H_
