// SPDX-License-Identifier: Apache-2.0
#include "profile/schema_value.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace drycrank::profile::json {

std::string Quote(std::string_view text) {
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') quoted += '\\';
    quoted += c;
  }
  return quoted + '"';
}

std::string Object(const Members& members) {
  std::string text;
  for (const auto& [key, value] : members) {
    text += fmt::format("{}{}:{}", text.empty() ? "" : ",", Quote(key), value);
  }
  return "{" + text + "}";
}

std::string Array(const std::vector<std::string>& items) {
  return fmt::format("[{}]", fmt::join(items, ","));
}

namespace {

// The end of what opens at `begin`: a list, a mapping, a text.
std::size_t EndOf(std::string_view json, std::size_t begin) {
  int depth = 0;
  bool in_text = false;
  for (std::size_t i = begin; i < json.size(); ++i) {
    const char c = json[i];
    if (in_text && c == '\\') {
      ++i;
    } else if (c == '"') {
      in_text = !in_text;
    } else if (!in_text) {
      depth += c == '{' || c == '[' ? 1 : c == '}' || c == ']' ? -1 : 0;
    }
    if (depth == 0 && !in_text) return i + 1;
  }
  return json.size();
}

// What is short stands on one line; else one member or item a line.
std::string Indented(std::string_view json, std::size_t depth, bool on_one_line) {
  constexpr std::size_t kShort = 90;
  const std::string separator = on_one_line ? " " : "\n" + std::string(depth, ' ');
  std::string text;
  for (std::size_t i = 0; i < json.size();) {
    const char c = json[i];
    if (c == '{' || c == '[') {
      const std::size_t end = EndOf(json, i);
      const bool is_short = on_one_line || end - i <= kShort;
      const std::string edge = is_short ? "" : "\n" + std::string(depth, ' ');
      text += c + edge + (is_short ? "" : " ") +
              Indented(json.substr(i + 1, end - i - 2), depth + 1, is_short) + edge + json[end - 1];
      i = end;
    } else if (c == '"') {
      const std::size_t end = EndOf(json, i);
      text += json.substr(i, end - i);
      i = end;
    } else {
      text += c;
      if (c == ':') text += ' ';
      if (c == ',') text += separator;
      ++i;
    }
  }
  return text;
}

std::string Quotes(std::span<const std::string_view> words) {
  std::vector<std::string> quoted;
  for (const std::string_view word : words) quoted.push_back(Quote(word));
  return Array(quoted);
}

constexpr std::string_view kNameText = "^[A-Za-z_][A-Za-z0-9_]{0,63}$";
// Names may look like numbers or truth values to YAML: a pin 1, a state off.
const std::string kAnyScalar = R"(["string","number","boolean"])";

Members NumberIn(const yaml::Range& range) {
  Members number = {{"type", Quote("number")}};
  if (range.min > -kAny) number.emplace_back("minimum", fmt::format("{}", range.min));
  if (range.max < kAny) number.emplace_back("maximum", fmt::format("{}", range.max));
  if (range.unit.empty()) return number;
  return {{"anyOf", Array({Object(number), R"({"$ref":"#/$defs/number_with_unit"})"})}};
}

Members Pattern(std::string_view pattern) {
  return {{"type", Quote("string")}, {"pattern", Quote(pattern)}};
}

Members ArrayOf(const std::string& items, int least) {
  return {{"type", Quote("array")}, {"items", items}, {"minItems", fmt::format("{}", least)}};
}

std::string PairOf(const yaml::Range& x, const yaml::Range& y) {
  return Object({{"type", Quote("array")},
                 {"prefixItems", Array({Object(NumberIn(x)), Object(NumberIn(y))})},
                 {"minItems", "2"},
                 {"maxItems", "2"}});
}

Members NamedBy(std::string_view pattern, const std::string& entry) {
  return {{"type", Quote("object")},
          {"properties", Object({{"include", R"({"$ref":"#/$defs/include"})"}})},
          {"patternProperties", Object({{std::string(pattern), entry}})},
          {"additionalProperties", "false"}};
}

Members WholeIn(const Value& value) {
  if (!value.words.empty()) return {{"enum", fmt::format("[{}]", fmt::join(value.words, ","))}};
  return {{"type", Quote("integer")},
          {"minimum", fmt::format("{}", value.low)},
          {"maximum", fmt::format("{}", value.high)}};
}

Members One(const Value& value) {
  switch (value.kind) {
    case ValueKind::kNumber:
      return NumberIn(value.range);
    case ValueKind::kWhole:
      return WholeIn(value);
    case ValueKind::kTruth:
      return {{"type", Quote("boolean")}};
    case ValueKind::kText:
    case ValueKind::kUnit:
      return {{"type", R"(["string","number"])"}};
    case ValueKind::kName:
      return Pattern(kNameText);
    case ValueKind::kPlug:
    case ValueKind::kScalar:
      return {{"type", kAnyScalar}};
    case ValueKind::kWord:
      return {{"enum", Quotes(value.words)}};
    case ValueKind::kTerminal:
      return Pattern("^[A-Za-z0-9_-]+\\.[A-Za-z0-9_-]+$");
    case ValueKind::kSignal:
      return Pattern("^[A-Za-z_]\\w*\\.[A-Za-z_]\\w*$");
    case ValueKind::kPoints:
      return ArrayOf(PairOf(value.range, value.y), 2);
    case ValueKind::kPair:
      return {{"type", Quote("array")},
              {"items", Object(NumberIn(value.range))},
              {"minItems", "2"},
              {"maxItems", "2"}};
    case ValueKind::kSignals:
      return {{"anyOf", Array({Object(NamedBy("^(?!include$)", Object(Pattern(kNameText)))),
                               Object({{"type", Quote("null")}})})}};
    case ValueKind::kSection:
      return {{"$ref", Quote(fmt::format("#/$defs/{}", value.of))}};
  }
  return {};
}

Members Shaped(const Value& value);

Members OneOrOther(const Value& value) {
  if (value.other == nullptr) return One(value);
  return {{"anyOf", Array({Object(One(value)), Object(Shaped(*value.other))})}};
}

Members Shaped(const Value& value) {
  const std::string one = Object(OneOrOther(value));
  switch (value.shape) {
    case Value::Shape::kOne:
      return OneOrOther(value);
    case Value::Shape::kList:
      return ArrayOf(one, value.least);
    case Value::Shape::kNamed:
      return NamedBy("^(?!include$)[A-Za-z_][A-Za-z0-9_]{0,63}$", one);
    case Value::Shape::kPlugs:
      return NamedBy("^(?!include$)[A-Za-z0-9_-]{1,64}$", one);
    case Value::Shape::kNumbered:
      return NamedBy("^-?[0-9]+$|^0x[0-9A-Fa-f]+$", Object({{"type", kAnyScalar}}));
  }
  return {};
}

std::string Default(const KeyInfo& info) {
  const ValueKind kind = info.value.kind;
  const bool bare =
      kind == ValueKind::kNumber || kind == ValueKind::kWhole || kind == ValueKind::kTruth;
  return bare ? info.usual : Quote(info.usual);
}

}  // namespace

std::string Indented(std::string_view json) { return Indented(json, 0, false) + "\n"; }

std::string SchemaOfKey(const KeyInfo& info) {
  std::string meaning(info.meaning);
  const std::string_view unit = info.value.range.unit;
  if (info.value.kind == ValueKind::kNumber && !unit.empty()) {
    meaning += IsBorrowed(unit) ? fmt::format(" In the unit {}, or with one that converts.", unit)
                                : fmt::format(" In {}, or with a unit that converts.", unit);
  }
  Members schema = {{"description", Quote(meaning)}};
  if (info.is_written) schema.emplace_back("default", Default(info));
  const Members value = Shaped(info.value);
  schema.insert(schema.end(), value.begin(), value.end());
  return Object(schema);
}

}  // namespace drycrank::profile::json
