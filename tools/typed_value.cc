// SPDX-License-Identifier: Apache-2.0
#include "tools/typed_value.h"

#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "types/plain_text.h"
#include "types/unit.h"

namespace drycrank::tools {
namespace {

std::string Lower(std::string text) {
  for (char& c : text) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
  return text;
}

// Also those of a keyboard with no shift key.
std::string UnitOf(std::string unit) {
  const std::string ohm_sign = "\u2126";  // beside the Greek letter
  if (const auto at = unit.find(ohm_sign); at != std::string::npos) {
    unit.replace(at, ohm_sign.size(), "ohm");
  }
  if (const auto known = CanonicalUnit(unit)) return *known;
  const std::string lower = Lower(unit);
  for (const char* canonical : {"V", "mV", "A", "mA", "ohm", "kohm"}) {
    if (lower == Lower(canonical)) return canonical;
  }
  if (lower == "kω" || lower == "kΩ") return "kohm";
  return "";
}

bool IsOpen(const std::string& word) {
  return word == "open" || word == "ol" || word == "o.l" || word == "inf" || word == "∞" || word == "overload";
}

}  // namespace

std::string WithPoint(std::string text) {
  for (std::size_t i = 1; i + 1 < text.size(); ++i) {
    const auto is_digit = [&](std::size_t at) { return text[at] >= '0' && text[at] <= '9'; };
    if (text[i] == ',' && is_digit(i - 1) && is_digit(i + 1)) text[i] = '.';
  }
  return text;
}

TypedValue ReadTyped(const std::string& text) {
  if (IsOpen(Lower(text))) return {std::numeric_limits<double>::infinity(), "ohm", ""};
  const auto number = ParseNumberWithUnit(WithPoint(text));
  if (!number) {
    return {
        0, "",
        fmt::format("'{}' is no number; write as 0.72 V, 2.5 kohm, open or 420 mA", OneLine(text))};
  }
  if (number->unit.empty()) {
    return {0, "",
            fmt::format("{} has no unit; write {} V, {} mV, {} ohm, {} kohm or {} mA", text, text,
                        text, text, text, text)};
  }
  const std::string unit = UnitOf(number->unit);
  if (unit.empty()) {
    return {0, "",
            fmt::format("unit '{}' is not known; known: V, mV, ohm, kohm, Mohm, A, mA",
                        OneLine(number->unit))};
  }
  return {number->value, unit, ""};
}

std::optional<double> ReadTyped(const std::string& text, const std::string& unit, bool bare, std::string& problem) {
  const auto number = ParseNumberWithUnit(WithPoint(text));
  const bool adds_unit = bare && number && number->unit.empty();
  const TypedValue typed = ReadTyped(adds_unit ? text + " " + unit : text);
  problem = typed.problem;
  if (!problem.empty()) return std::nullopt;
  if (std::isinf(typed.number) && unit == "ohm") return typed.number;
  const std::optional<double> value =
      std::isinf(typed.number) ? std::nullopt : Convert(typed.number, typed.unit, unit);
  if (!value) problem = fmt::format("'{}' is no value in {}", OneLine(text), unit);
  return value;
}

}  // namespace drycrank::tools
