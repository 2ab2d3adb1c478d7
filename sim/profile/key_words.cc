// SPDX-License-Identifier: Apache-2.0
#include "profile/key_words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>

#include "types/unit.h"

namespace drycrank::profile {
namespace {

std::string NumberInWords(double value) {
  const double size = std::abs(value);
  if (size == 0 || (size >= 1e-4 && size < 1e7)) return fmt::format("{}", value);
  std::string text = fmt::format("{:g}", value);  // 1e-06, 1e+09
  const auto e = text.find('e');
  if (e == std::string::npos) return text;
  const bool negative = text[e + 1] == '-';
  text.erase(e + 1, text.find_first_not_of("+-0", e + 1) - e - 1);
  return negative ? text.insert(e + 1, "-") : text;
}

std::string Limits(const yaml::Range& range) {
  const bool has_min = range.min > -kAny, has_max = range.max < kAny;
  if (!has_min && !has_max) return "a number";
  if (!has_max) return fmt::format("{} or more", NumberInWords(range.min));
  return fmt::format("{} … {}", NumberInWords(range.min), NumberInWords(range.max));
}

std::string Axis(const yaml::Range& range) {
  return range.unit.empty()       ? "number"
         : IsBorrowed(range.unit) ? fmt::format("value {}", range.unit)
                                  : DisplayUnit(range.unit);
}

std::string OneInWords(const Value& value) {
  switch (value.kind) {
    case ValueKind::kNumber:
      return Limits(value.range);
    case ValueKind::kWhole:
      if (!value.words.empty()) return fmt::format("{}", fmt::join(value.words, ", "));
      if (value.high == INT64_MAX) return fmt::format("{} or more, whole", value.low);
      return value.high == kMaxId29 ? fmt::format("0 … 0x{:X}", value.high)
                                    : fmt::format("{} … {}, whole", value.low, value.high);
    case ValueKind::kTruth:
      return "true, false";
    case ValueKind::kText:
      return "text";
    case ValueKind::kName:
      return value.of.starts_with("the ") ? "a name" : fmt::format("name of {}", value.of);
    case ValueKind::kPlug:
      return "a name or number";
    case ValueKind::kUnit:
      return "a unit";
    case ValueKind::kWord:
      return fmt::format("{}", fmt::join(value.words, ", "));
    case ValueKind::kTerminal:
      return "a terminal, CONNECTOR.PIN";
    case ValueKind::kSignal:
      return "message.signal";
    case ValueKind::kPoints:
      return fmt::format("rows of [{}, {}]", Axis(value.range), Axis(value.y));
    case ValueKind::kPair:
      return fmt::format("[begin, end] in {}", DisplayUnit(value.range.unit));
    case ValueKind::kScalar:
      return "a value, or its name";
    case ValueKind::kSignals:
      return "{signal: stimulus}";
    case ValueKind::kSection:
      return fmt::format("the keys of {}", value.of);
  }
  return {};
}

std::string ShapedInWords(const Value& value) {
  std::string one = OneInWords(value);
  if (value.other != nullptr) one += "; or " + ShapedInWords(*value.other);
  const std::string_view with = value.kind == ValueKind::kSection ? "with " : "";
  switch (value.shape) {
    case Value::Shape::kOne:
      return one;
    case Value::Shape::kList:
      return fmt::format("list, each {}{}", with, one);
    case Value::Shape::kNamed:
    case Value::Shape::kPlugs:
      return fmt::format("names, each {}{}", with, one);
    case Value::Shape::kNumbered:
      return fmt::format("raw values, each {}{}", with, one);
  }
  return {};
}

}  // namespace

std::string UnitInWords(const Value& value) {
  if (value.kind != ValueKind::kNumber) return {};
  return IsBorrowed(value.range.unit) ? std::string(value.range.unit)
                                      : DisplayUnit(value.range.unit);
}

std::string RangeInWords(const Value& value) { return ShapedInWords(value); }

std::string DefaultInWords(const KeyInfo& info) {
  return info.needs.empty() ? info.usual : std::string("needed");
}

std::string WhenInWords(const Part& part) {
  std::string words(part.key);
  if (part.when == Part::When::kKeyIsSignal) words += ": message.signal";
  if (!part.word.empty()) words += fmt::format(": {}", part.word);
  return part.kind.empty() ? words : fmt::format("kind: {}, {}", part.kind, words);
}

std::string InWords(const KeyInfo& info) {
  std::string text = RangeInWords(info.value);
  const std::string unit = UnitInWords(info.value), usual = DefaultInWords(info);
  if (IsBorrowed(unit)) {
    text += " in the unit " + unit;
  } else if (!unit.empty()) {
    text = WithUnit(text, info.value.range.unit);
  }
  if (usual.empty()) return text;
  return text + (usual.starts_with("needed") ? "; " : "; default ") + usual;
}

}  // namespace drycrank::profile
