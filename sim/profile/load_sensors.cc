// SPDX-License-Identifier: Apache-2.0
//
// Sensors: each kind has its own keys, and a natural range where `min` and `max` are left out.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/kinds.h"
#include "profile/load_bench.h"
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
  r.Require("a", "a: 1.129148e-3");
  r.Require("b", "b: 2.34125e-4");
  r.Require("c", "c: 8.76741e-8");
  // b > 0 and c >= 0: else 1/T does not rise with ln R everywhere, and the curve has no inverse.
  r.Get("a", &curve.a, {"", -0.1, 0.1});
  r.Get("b", &curve.b, {"", 1e-6, 0.01});
  r.Get("c", &curve.c, {"", 0, 1e-4});
  ntc.curve = curve;
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, NtcSensor& ntc) {
  NeedTemperature(r, s);
  ntc.plus = TakeTerminal(c, r, "plus");
  ntc.minus = TakeTerminal(c, r, "minus");
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
    keys.Get("r25_ohm", &curve.r25_ohm, {"ohm", 1, 1e8});
    keys.Get("beta_k", &curve.beta_k, {"", 500, 10000});
    ntc.curve = curve;
  }
  return FromDegc(-55, 150, s);
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, PlatinumSensor& platinum) {
  NeedTemperature(r, s);
  platinum.plus = TakeTerminal(c, r, "plus");
  platinum.minus = TakeTerminal(c, r, "minus");
  r.Get("r0_ohm", &platinum.r0_ohm, {"ohm", 1, 1e5});
  return FromDegc(-200, 850, s);  // IEC 60751
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, TypeKSensor& type_k) {
  NeedTemperature(r, s);
  type_k.plus = TakeTerminal(c, r, "plus");
  type_k.minus = TakeTerminal(c, r, "minus");
  r.Get("cold_junction_degc", &type_k.cold_junction_degc, {"degC", -60, 150});
  r.Get("loop_ohm", &type_k.loop_ohm, {"ohm", 0.01, 1e5});
  return FromDegc(-270, 1372, s);  // NIST Monograph 175
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, RatiometricSensor& m) {
  m.supply = TakeTerminal(c, r, "supply");
  m.ground = TakeTerminal(c, r, "ground");
  m.signal = TakeTerminal(c, r, "signal");
  m.reference = s.reference;
  if (r.GetWord(
          "reference", &m.reference,
          {{"absolute", PressureReference::kAbsolute}, {"gauge", PressureReference::kGauge}})) {
    CheckUnits(c.problems, r.PlaceOf("reference"), "only pressures have a reference", "kPa",
               s.unit);
  }
  r.Require("low_value", "low_value: 0");
  r.Require("high_value", "high_value: 100");
  r.Get("low_value", &m.low_value, {s.unit});
  r.Get("high_value", &m.high_value, {s.unit});
  r.Get("low_fraction", &m.low_fraction, {"", 0, 1});
  r.Get("high_fraction", &m.high_fraction, {"", 0, 1});
  r.Get("min_fraction", &m.min_fraction, {"", 0, 1});
  r.Get("max_fraction", &m.max_fraction, {"", 0, 1});
  r.Get("output_ohm", &m.output_ohm, {"ohm", 0.01, 1e6});
  r.Get("supply_ohm", &m.supply_ohm, {"ohm", 1, 1e9});
  r.Get("min_supply_v", &m.min_supply_v, {"V", 0, 60});
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
  v.supply = TakeTerminal(c, r, "supply");
  v.ground = TakeTerminal(c, r, "ground");
  v.signal = TakeTerminal(c, r, "signal");
  r.Require("volts_at_value", "volts_at_value: [[0, 0.5], [100, 4.5]]");
  r.GetPoints("volts_at_value", &v.volts_at_value, {s.unit}, {"V", -60, 60});
  r.Get("output_ohm", &v.output_ohm, {"ohm", 0.01, 1e6});
  r.Get("supply_ohm", &v.supply_ohm, {"ohm", 1, 1e9});
  r.Get("min_supply_v", &v.min_supply_v, {"V", 0, 60});
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
  w.plus = TakeTerminal(c, r, "plus");
  w.minus = TakeTerminal(c, r, "minus");
  r.Get("closed_at", &w.closed_at, {s.unit});
  r.Get("closed_above", &w.closed_above);
  r.Get("closed_ohm", &w.closed_ohm, {"ohm", 1e-3, 1e6});
  r.Get("open_ohm", &w.open_ohm, {"ohm", 1, 1e12});
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
  r.Get("width_ms_at_low", &f.width_ms_at_low, {"ms", 0.001, 1000});
  r.Get("width_low_degc", &f.width_low_degc, {"degC", -100, 300});
  r.Get("width_ms_at_high", &f.width_ms_at_high, {"ms", 0.001, 1000});
  r.Get("width_high_degc", &f.width_high_degc, {"degC", -100, 300});
  if (f.width_low_degc >= f.width_high_degc) {
    r.Complain("width_low_degc", "width_low_degc is not below width_high_degc", "swap them");
  }
}

void ReadSlope(Reader& r, FrequencySensor& f) {
  r.Get("hz_at_zero", &f.hz_at_zero, {"Hz", 0, 1e5});
  r.Get("hz_per_unit", &f.hz_per_unit, {"", -1e5, 1e5});
  r.Get("low_fraction", &f.low_fraction, {"", 0.01, 0.99});
  if (f.hz_per_unit == 0) {
    r.Complain("hz_per_unit", "the frequency does not change", "write hz per unit");
  }
}

Span Read(BenchContext& c, Reader& r, const Stimulus& s, FrequencySensor& f) {
  ReadHall(c, r, false, &f.output);
  r.Require("hz_per_unit", "hz_per_unit: 6.7");
  ReadSlope(r, f);
  if (r.Has("width_stimulus")) ReadWidth(c, r, f);
  return {s.min, s.max};
}

// A frequency sensor whose pulses say the temperature too; its line is the published one.
Span ReadFuelComposition(BenchContext& c, Reader& r, const Stimulus& s, FrequencySensor& f) {
  ReadHall(c, r, false, &f.output);
  f.hz_at_zero = 50;
  r.Require("width_stimulus", "width_stimulus: fuel_temperature");
  CheckUnits(c.problems, r.PlaceOf("measures"), fmt::format("{} measures '{}'", r.title(), s.name),
             "%", s.unit);
  ReadSlope(r, f);
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

// All kinds by their words, and one kind's other word.
std::vector<std::string> KindWords() {
  std::vector<std::string> words = WordsOf<SensorModel>();
  words.emplace_back("fuel_composition");
  return words;
}

// `kind`: its number among these words.
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
  const bool given = r.Get("min", &sensor.min, {s.unit}) | r.Get("max", &sensor.max, {s.unit});
  if (given && sensor.min >= sensor.max) {
    r.Complain("min", fmt::format("min {:g} is not below max {:g}", sensor.min, sensor.max),
               "swap them");
  }
  if (const auto* f = std::get_if<FrequencySensor>(&sensor.model)) CheckHz(r, sensor, *f);
  // The file says what the sensor senses; the structure says it in the stimulus' own terms.
  const auto* m = std::get_if<RatiometricSensor>(&sensor.model);
  if (m == nullptr || m->reference == s.reference) return;
  const double barometric = Convert(c.bench.barometric_pressure_kpa, "kPa", s.unit).value_or(0);
  const double shift = m->reference == PressureReference::kAbsolute ? -barometric : barometric;
  sensor.min += shift;
  sensor.max += shift;
}

Sensor LoadSensor(BenchContext& c, const std::string& name, const Place& place, const Node& node) {
  Sensor sensor;
  sensor.name = name;
  sensor.label = name;
  sensor.place = place;
  Reader r(c.problems, node, fmt::format("sensor '{}'", name), place);
  r.GetText("label", &sensor.label);
  r.Require("measures", "measures: coolant_temperature");
  r.Require("kind", "kind: ntc");
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
  r.Get("fitted", &sensor.fitted);
  const int kind = stimulus == &unknown ? -1 : r.WordIndex("kind", KindWords());
  if (kind < 0) {
    r.PassOverOtherKeys();
    return sensor;
  }
  const Span natural = ReadModel(c, r, *stimulus, kind, sensor.model);
  ReadSpan(c, r, *stimulus, natural, sensor);
  r.Get("tolerance", &sensor.tolerance, {stimulus->unit, 1e-6, 1e9, true});
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
