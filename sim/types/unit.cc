// SPDX-License-Identifier: Apache-2.0
#include "types/unit.h"

#include <array>
#include <charconv>
#include <cmath>

#include "types/nth.h"

namespace drycrank {
namespace {

// value_in_base = value * factor + offset
struct Unit {
  std::string_view name;
  std::string_view dimension;
  double factor;
  double offset;
};

// The first unit of each dimension is its base. Pressure and speed factors: NIST SP 811 (2008) App.
// B.
constexpr Unit kUnits[] = {
    {"degC", "temperature", 1, 0},
    {"K", "temperature", 1, -273.15},
    {"degF", "temperature", 5.0 / 9.0, -160.0 / 9.0},
    {"kPa", "pressure", 1, 0},
    {"Pa", "pressure", 1e-3, 0},
    {"hPa", "pressure", 0.1, 0},
    {"mbar", "pressure", 0.1, 0},
    {"bar", "pressure", 100, 0},
    {"MPa", "pressure", 1000, 0},
    {"psi", "pressure", 6.894757293168361, 0},
    {"inHg", "pressure", 3.38638864034, 0},
    {"atm", "pressure", 101.325, 0},
    {"rpm", "rotation", 1, 0},
    {"rad/s", "rotation", 9.549296585513721, 0},
    {"deg", "angle", 1, 0},
    {"rad", "angle", 57.29577951308232, 0},
    {"s", "time", 1, 0},
    {"ms", "time", 1e-3, 0},
    {"us", "time", 1e-6, 0},
    {"ns", "time", 1e-9, 0},
    {"min", "time", 60, 0},
    {"h", "time", 3600, 0},
    {"V", "voltage", 1, 0},
    {"mV", "voltage", 1e-3, 0},
    {"A", "current", 1, 0},
    {"mA", "current", 1e-3, 0},
    {"ohm", "resistance", 1, 0},
    {"mohm", "resistance", 1e-3, 0},
    {"kohm", "resistance", 1e3, 0},
    {"Mohm", "resistance", 1e6, 0},
    {"Hz", "frequency", 1, 0},
    {"kHz", "frequency", 1e3, 0},
    {"km/h", "speed", 1, 0},
    {"m/s", "speed", 3.6, 0},
    {"mph", "speed", 1.609344, 0},
    {"m", "length", 1, 0},
    {"mm", "length", 1e-3, 0},
    {"cm", "length", 1e-2, 0},
    {"in", "length", 0.0254, 0},
    {"ft", "length", 0.3048, 0},
    {"%", "ratio", 1, 0},
    {"bit/s", "bitrate", 1, 0},
    {"kbit/s", "bitrate", 1e3, 0},
    {"Mbit/s", "bitrate", 1e6, 0},
    {"L/h", "flow", 1, 0},
    {"g/s", "mass flow", 1, 0},
    {"Nm", "torque", 1, 0},
    {"lbf_ft", "torque", 1.35581794833, 0},
    {"lambda", "mixture", 1, 0},
    {"count", "number", 1, 0},
    // Standard gravity 9.80665 m/s2: ISO 80000-3. 1 rpm is 6 deg/s.
    {"km", "length", 1000, 0},
    {"L", "volume", 1, 0},
    {"W", "power", 1, 0},
    {"kW", "power", 1e3, 0},
    {"m/s2", "acceleration", 1, 0},
    {"g", "acceleration", 9.80665, 0},
    {"deg/s", "rotation", 1.0 / 6, 0},
    {"N", "force", 1, 0},
    {"kWh", "energy", 1, 0},
    {"Wh", "energy", 1e-3, 0},
};

struct Spelling {
  std::string_view text;
  std::string_view canonical;
};
constexpr Spelling kSpellings[] = {
    {"°C", "degC"},   {"C", "degC"},     {"°F", "degF"},   {"F", "degF"},       {"r/min", "rpm"},
    {"1/min", "rpm"}, {"min-1", "rpm"},  {"°", "deg"},     {"degree", "deg"},   {"degrees", "deg"},
    {"µs", "us"},     {"μs", "us"},      {"Ω", "ohm"},     {"Ohm", "ohm"},      {"ohms", "ohm"},
    {"kΩ", "kohm"},   {"kOhm", "kohm"},  {"k", "kohm"},    {"MΩ", "Mohm"},      {"MOhm", "Mohm"},
    {"mΩ", "mohm"},   {"mOhm", "mohm"},  {"kph", "km/h"},  {"kmh", "km/h"},     {"percent", "%"},
    {"PSI", "psi"},   {"kpa", "kPa"},    {"sec", "s"},     {"seconds", "s"},    {"volt", "V"},
    {"volts", "V"},   {"hz", "Hz"},      {"bps", "bit/s"}, {"kbps", "kbit/s"},  {"Mbps", "Mbit/s"},
    {"l/h", "L/h"},   {"N m", "Nm"},     {"N·m", "Nm"},    {"lb-ft", "lbf_ft"}, {"l", "L"},
    {"m/s²", "m/s2"}, {"m/s^2", "m/s2"}, {"°/s", "deg/s"},
};

const Unit* Find(std::string_view text) {
  for (const Spelling& s : kSpellings) {
    if (s.text == text) text = s.canonical;
  }
  for (const Unit& unit : kUnits) {
    if (unit.name == text) return &unit;
  }
  return nullptr;
}

// Minus zero means zero to who wrote it, and divides to minus infinity. Taken off here, by which way
// every number from outside comes.
double WithoutMinusZero(double value) { return value == 0 ? 0 : value; }

std::string_view Trim(std::string_view text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

}  // namespace

std::optional<std::string> CanonicalUnit(std::string_view unit) {
  const Unit* found = Find(unit);
  if (found == nullptr) return std::nullopt;
  return std::string(found->name);
}

std::optional<double> Convert(double value, std::string_view from, std::string_view to) {
  const Unit* a = Find(from);
  const Unit* b = Find(to);
  if (a == nullptr || b == nullptr || a->dimension != b->dimension) return std::nullopt;
  if (a == b) return WithoutMinusZero(value);
  return WithoutMinusZero((value * a->factor + a->offset - b->offset) / b->factor);
}

std::optional<double> ConvertDifference(double value, std::string_view from, std::string_view to) {
  const Unit* a = Find(from);
  const Unit* b = Find(to);
  if (a == nullptr || b == nullptr || a->dimension != b->dimension) return std::nullopt;
  if (a == b) return WithoutMinusZero(value);
  return WithoutMinusZero(value * a->factor / b->factor);
}

std::vector<std::string> UnitsLike(std::string_view unit) {
  std::vector<std::string> names;
  const Unit* found = Find(unit);
  if (found == nullptr) return names;
  for (const Unit& other : kUnits) {
    if (other.dimension == found->dimension) names.emplace_back(other.name);
  }
  return names;
}

std::optional<NumberWithUnit> ParseNumberWithUnit(std::string_view text) {
  text = Trim(text);
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || !std::isfinite(value)) return std::nullopt;
  const auto used = AsSize(end - text.data());
  return NumberWithUnit{WithoutMinusZero(value), std::string(Trim(text.substr(used)))};
}

std::string DisplayUnit(std::string_view unit) {
  if (unit == "degC") return "°C";
  if (unit == "degF") return "°F";
  if (unit == "deg") return "°";
  if (unit == "rpm") return "r/min";
  if (unit == "ohm") return "Ω";
  if (unit == "kohm") return "kΩ";
  if (unit == "mohm") return "mΩ";
  if (unit == "Mohm") return "MΩ";
  if (unit == "us") return "µs";
  if (unit == "Nm") return "N·m";
  if (unit == "lbf_ft") return "lbf·ft";
  if (unit == "m/s2") return "m/s²";
  if (unit == "deg/s") return "°/s";
  if (unit == "count") return "";
  return std::string(unit);
}

std::string WithUnit(std::string number, std::string_view unit) {
  const std::string shown = DisplayUnit(unit);
  if (shown.empty()) return number;
  return shown == "°" ? number + shown : number + " " + shown;
}

}  // namespace drycrank
