// SPDX-License-Identifier: Apache-2.0
//
// Units a person writes on a bench, and their conversion. Every unit belongs to one dimension; two
// units of one dimension convert by factor and offset (exact where NIST SP 811 is exact). `psi`,
// `bar` and `kPa` name a size only: whether a pressure is gauge or absolute is a property of what
// carries it.
#ifndef DRYCRANK_TYPES_UNIT_H_
#define DRYCRANK_TYPES_UNIT_H_

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace drycrank {

// The canonical spelling of a unit ("degC" for "°C", "C"; "ohm" for "Ω"), or nothing if unknown.
std::optional<std::string> CanonicalUnit(std::string_view unit);

// `value` of unit `from` in unit `to`; nothing if either is unknown or the dimensions differ.
std::optional<double> Convert(double value, std::string_view from, std::string_view to);

// A difference (tolerance, hysteresis, amplitude) of unit `from` in `to`: as Convert, without
// offset. Temperature differences may be written in K, degC or degF.
std::optional<double> ConvertDifference(double value, std::string_view from, std::string_view to);

// Units of the same dimension as `unit`, canonical spellings, for messages ("psi, bar, kPa, ...").
std::vector<std::string> UnitsLike(std::string_view unit);

// Splits "2.2 kohm", "25psi", "-7.5 °C" into number and unit text (empty when there is none).
// Nothing if it does not begin with a finite decimal number.
struct NumberWithUnit {
  double value = 0;
  std::string unit;
};
std::optional<NumberWithUnit> ParseNumberWithUnit(std::string_view text);

// What people read: "°C" for "degC", "r/min" for "rpm", "Ω" for "ohm", else as it is. What programs
// read (profiles, the `unit` fields of JSON, headings of CSV) keeps the canonical spelling.
std::string DisplayUnit(std::string_view unit);

// A number with its canonical unit for people: "141.0 °C", "12°", "5 %", "3".
std::string WithUnit(std::string number, std::string_view unit);

}  // namespace drycrank

#endif  // DRYCRANK_TYPES_UNIT_H_
