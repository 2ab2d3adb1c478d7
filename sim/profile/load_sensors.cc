// SPDX-License-Identifier: Apache-2.0
//
// Sensors: each kind has its own keys, and a natural range where `min` and `max` are left out.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/keys_sensors.h"
#include "profile/keys_triggers.h"
#include "profile/kinds.h"
#include "profile/load_bench.h"
#include "profile/sensors.h"
#include "profile/table_reader.h"
#include "profile/triggers.h"
#include "types/limits.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

// What a sensor is good for, when the file does not say: in the stimulus' unit.
struct Span {
  double min = 0, max = 0;
};

Span FromDegc(double min_degc, double max_degc, const Stimulus& s) {
  return {Convert(min_degc, "degC", s.unit).value_or(min_degc),
          Convert(max_degc, "degC", s.unit).value_or(max_degc)};
}

void NeedTemperature(Reader& r, const Stimulus& s) {
  CheckUnits(r.problems(), r.PlaceOf("measures"),
             fmt::format("{} measures '{}'", r.title(), s.name), "degC", s.unit);
}

void ReadTable(Reader& r, const Node& node, NtcSensor& ntc) {
  TableNtc table;
  const bool good = ReadPoints(r.problems(), node, "'ohm_at_degc'", {"degC", -273, 1000},
                               {"ohm", 0.1, 1e9}, &table.ohm_at_degc);
  for (std::size_t i = 1; good && i < table.ohm_at_degc.size(); ++i) {
    if (table.ohm_at_degc[i].second < table.ohm_at_degc[i - 1].second) continue;
    r.problems().Add(
        node.items[i].Where(),
        fmt::format("the resistance does not fall at {:g} degC", table.ohm_at_degc[i].first),
        "a thermistor's resistance falls with each row");
  }
  ntc.curve = std::move(table);
}

void ReadSteinhartHart(Problems& problems, const Node& node, NtcSensor& ntc) {
  SteinhartHartNtc curve;
  Reader r(problems, node, "'steinhart_hart'");
  TakeAll(r, kSteinhartHartKeys, curve);
  ntc.curve = curve;
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, NtcSensor& ntc) {
  NeedTemperature(r, s);
  TakeAll(r, kNtcKeys, ntc, &c);
  const Node* beta = r.Find("beta");
  const Node* steinhart_hart = r.Find("steinhart_hart");
  const Node* table = r.Find("ohm_at_degc");
  const int given = (beta != nullptr) + (steinhart_hart != nullptr) + (table != nullptr);
  if (given != 1) {
    c.problems.Add(r.place(), fmt::format("{} has {} curves", r.title(), given),
                   "write one of beta: {r25_ohm, beta_k}, steinhart_hart: {a, b, c}, "
                   "ohm_at_degc: [[-40, 336103], ...]");
  }
  if (table != nullptr) {
    ReadTable(r, *table, ntc);
    const auto* read = std::get_if<TableNtc>(&ntc.curve);
    if (read->ohm_at_degc.empty()) return {};
    return FromDegc(read->ohm_at_degc.front().first, read->ohm_at_degc.back().first, s);
  }
  if (steinhart_hart != nullptr) ReadSteinhartHart(c.problems, *steinhart_hart, ntc);
  if (beta != nullptr) {
    BetaNtc curve;
    Reader keys(c.problems, *beta, "'beta'");
    TakeAll(keys, kBetaKeys, curve);
    ntc.curve = curve;
  }
  return FromDegc(-55, 150, s);
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, PlatinumSensor& platinum) {
  NeedTemperature(r, s);
  TakeAll(r, kPlatinumKeys, platinum, &c);
  return FromDegc(-200, 850, s);  // IEC 60751
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, TypeKSensor& type_k) {
  NeedTemperature(r, s);
  TakeAll(r, kTypeKKeys, type_k, &c);
  return FromDegc(-270, 1372, s);  // NIST Monograph 175
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, RatiometricSensor& m) {
  m.reference = s.reference;
  TableReader t(r, kRatiometricKeys, m, &c);
  if (t.Take("reference")) {
    CheckUnits(c.problems, r.PlaceOf("reference"), "only pressures have a reference", "kPa",
               s.unit);
  }
  t.TakeRest(s.unit);
  if (m.low_value == m.high_value || m.low_fraction == m.high_fraction) {
    r.Complain("high_value", "the output does not change", "write two different points");
    return {};
  }
  if (m.min_fraction >= m.max_fraction) {
    r.Complain("min_fraction", "min_fraction is not below max_fraction", "swap them");
  }
  const auto value_at = [&](double fraction) {
    return std::lerp(m.low_value, m.high_value,
                     (fraction - m.low_fraction) / (m.high_fraction - m.low_fraction));
  };
  const double a = value_at(m.min_fraction);
  const double b = value_at(m.max_fraction);
  return {std::min(a, b), std::max(a, b)};
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, VoltageSensor& v) {
  TakeAll(r, kVoltageKeys, v, &c, s.unit);
  if (v.volts_at_value.empty()) return {};
  const bool rises = v.volts_at_value[1].second > v.volts_at_value[0].second;
  for (std::size_t i = 1; i < v.volts_at_value.size(); ++i) {
    const double step = v.volts_at_value[i].second - v.volts_at_value[i - 1].second;
    if (rises ? step > 0 : step < 0) continue;
    r.Complain("volts_at_value",
               fmt::format("the voltage turns or stands at {:g}", v.volts_at_value[i].first),
               "let it rise, or fall, from row to row");
  }
  return {v.volts_at_value.front().first, v.volts_at_value.back().first};
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, SwitchSensor& w) {
  TakeAll(r, kSwitchKeys, w, &c, s.unit);
  if (w.closed_ohm >= w.open_ohm) {
    r.Complain("closed_ohm", "closed it conducts no better than open",
               "write closed_ohm below open_ohm");
  }
  return {s.min, s.max};
}

void ReadWidth(BenchContext& c, Reader& r, FrequencySensor& f) {
  const auto ref = r.GetRef("width_stimulus");
  if (ref) f.width_stimulus = Resolve(c.problems, *ref, NamesOf(c.bench.stimuli), "stimulus");
  if (f.width_stimulus >= 0) {
    const auto& stimulus = Nth(c.bench.stimuli, f.width_stimulus);
    CheckUnits(c.problems, ref->place, fmt::format("stimulus '{}'", stimulus.name), "degC",
               stimulus.unit);
  }
  TakeAll(r, kWidthKeys, f);
  if (f.width_low_degc >= f.width_high_degc) {
    r.Complain("width_low_degc", "width_low_degc is not below width_high_degc", "swap them");
  }
}

void CheckSlope(Reader& r, const FrequencySensor& f) {
  if (f.hz_per_unit == 0) {
    r.Complain("hz_per_unit", "the frequency does not change", "write hz per unit");
  }
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, FrequencySensor& f) {
  ReadHall(c, r, false, &f.output);
  TakeAll(r, kFrequencyKeys, f);
  CheckSlope(r, f);
  if (r.Has("width_stimulus")) ReadWidth(c, r, f);
  return {s.min, s.max};
}

// A frequency sensor whose pulses say the temperature too; its line is the published one.
Span ReadFuelComposition(BenchContext& c, Reader& r, const Stimulus& s, FrequencySensor& f) {
  ReadHall(c, r, false, &f.output);
  f.hz_at_zero = 50;
  TakeAll(r, kFuelKeys, f);
  CheckUnits(c.problems, r.PlaceOf("measures"), fmt::format("{} measures '{}'", r.title(), s.name),
             "%", s.unit);
  CheckSlope(r, f);
  ReadWidth(c, r, f);
  return {0, 100};
}

// Frequencies that the sensor would give at the ends of its range.
void CheckHz(Reader& r, const Sensor& sensor, const FrequencySensor& f) {
  for (const double value : {sensor.min, sensor.max}) {
    const double hz = f.hz_at_zero + f.hz_per_unit * value;
    if (hz >= 0 && hz <= 1e5) continue;
    r.Complain("hz_per_unit", fmt::format("{:g} Hz at {:g}", hz, value),
               "0 to 100000 Hz is possible between 'min' and 'max'");
  }
}

// `kind`: its number among the kinds and the one kind's other word.
Span ReadModel(BenchContext& c, Reader& r, const Stimulus& s, int kind, SensorModel& model) {
  if (kind == static_cast<int>(std::variant_size_v<SensorModel>)) {
    return ReadFuelComposition(c, r, s, model.emplace<FrequencySensor>());
  }
  model = KindAt<SensorModel>(kind);
  return std::visit([&](auto& of) { return Read(c, r, s, of); }, model);
}

void ReadSpan(BenchContext& c, Reader& r, const Stimulus& s, const Span& natural, Sensor& sensor) {
  sensor.min = natural.min;
  sensor.max = natural.max;
  TableReader t(r, kSpanKeys, sensor);
  const bool given = t.Take("min", s.unit) | t.Take("max", s.unit);
  if (given && sensor.min >= sensor.max) {
    r.Complain("min", fmt::format("min {:g} is not below max {:g}", sensor.min, sensor.max),
               "swap them");
  }
  t.TakeRest(s.unit);
  if (const auto* f = std::get_if<FrequencySensor>(&sensor.model)) CheckHz(r, sensor, *f);
  // The file says what the sensor senses; the structure says it in the stimulus' own terms.
  const auto* m = std::get_if<RatiometricSensor>(&sensor.model);
  if (m == nullptr || m->reference == s.reference) return;
  const double barometric = Convert(c.bench.barometric_pressure_kpa, "kPa", s.unit).value_or(0);
  const double shift = m->reference == PressureReference::kAbsolute ? -barometric : barometric;
  sensor.min += shift;
  sensor.max += shift;
}

// The other sensor's title.
std::string ReadHousing(BenchContext& c, Reader& r, Sensor& sensor) {
  const auto ref = r.GetRef("housed_with");
  if (!ref || Resolve(c.problems, *ref, NamesOf(c.bench.sensors), "sensor above it") < 0) return {};
  sensor.housed_with = ref->text;
  return fmt::format("sensor '{}'", ref->text);
}

Sensor LoadSensor(BenchContext& c, const std::string& name, const Place& place, const Node& node) {
  Sensor sensor;
  sensor.name = name;
  sensor.label = name;
  sensor.place = place;
  Reader r(c.problems, node, fmt::format("sensor '{}'", name), place);
  sensor.written = r.Written();
  TakeAll(r, kSensorKeys, sensor);
  Stimulus
      unknown;  // takes the place of one that is not there, so that the rest is read all the same
  const Stimulus* stimulus = &unknown;
  if (const auto ref = r.GetRef("measures")) {
    const int at = Resolve(c.problems, *ref, NamesOf(c.bench.stimuli), "stimulus");
    if (at >= 0) {
      sensor.stimulus = at;
      stimulus = &Nth(c.bench.stimuli, at);
    }
  }
  const int kind =
      stimulus == &unknown
          ? -1
          : r.WordIndex("kind", {std::begin(kSensorKindWords), std::end(kSensorKindWords)});
  if (kind < 0) {
    r.PassOverOtherKeys();
    return sensor;
  }
  c.shares_with = ReadHousing(c, r, sensor);
  const Span natural = ReadModel(c, r, *stimulus, kind, sensor.model);
  c.shares_with.clear();
  ReadSpan(c, r, *stimulus, natural, sensor);
  return sensor;
}

}  // namespace

void LoadSensors(BenchContext& c, const Node* node) {
  EachNamed(c.problems, node, "'sensors'",
            [&](const std::string& name, const Place& place, const Node& data) {
              if (IndexOf(c.bench.triggers, name) >= 0) {
                c.problems.Add(place, fmt::format("a trigger is called '{}' too", name),
                               "give the sensor another name");
              }
              c.bench.sensors.push_back(LoadSensor(c, name, place, data));
            });
  if (c.bench.sensors.size() > kMaxSensors) {
    c.problems.Add(node->Where(), fmt::format("{} sensors", c.bench.sensors.size()),
                   fmt::format("at most {}", kMaxSensors));
  }
}

}  // namespace drycrank::profile
