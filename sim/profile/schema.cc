// SPDX-License-Identifier: Apache-2.0
#include "profile/schema.h"

#include <fmt/format.h>

#include <map>
#include <set>

#include "profile/schema_value.h"

namespace drycrank::profile {
namespace {

using json::Array, json::Members, json::Object, json::Quote;

std::string HasKey(std::string_view key) { return Object({{"required", Array({Quote(key)})}}); }

std::string Condition(const Part& part) {
  const auto about = [&](const std::string& rule, bool must_be_there) {
    Members condition = {{"properties", Object({{std::string(part.key), rule}})}};
    if (must_be_there) condition.emplace_back("required", Array({Quote(part.key)}));
    return Object(condition);
  };
  switch (part.when) {
    case Part::When::kAlways:
      return "true";
    case Part::When::kKeyIs:
      return about(Object({{"const", Quote(part.word)}}), true);
    case Part::When::kKeyIsOrNone:
      return about(Object({{"const", Quote(part.word)}}), false);
    case Part::When::kKeyIsSignal:
      return about(Object({{"pattern", Quote("\\.")}}), true);
    case Part::When::kKeyIsThere:
      return HasKey(part.key);
  }
  return "true";
}

std::string WholeCondition(const Part& part) {
  if (part.kind.empty()) return Condition(part);
  const Part kind{.when = Part::When::kKeyIs, .key = "kind", .word = part.kind};
  return Object({{"allOf", Array({Condition(kind), Condition(part)})}});
}

// What is needed, unless an include may bring it; empty: nothing.
std::string Needed(const Part& part) {
  std::vector<std::string> keys;
  for (const KeyInfo& info : part.keys) {
    if (!info.needs.empty()) keys.push_back(Quote(info.key));
  }
  if (keys.empty()) return {};
  return Array({HasKey("include"), Object({{"required", Array(keys)}})});
}

Members PropertiesOf(const Part& part) {
  Members properties;
  for (const KeyInfo& info : part.keys) {
    properties.emplace_back(std::string(info.key), json::SchemaOfKey(info));
  }
  return properties;
}

std::string SchemaOfSection(const SectionInfo& section) {
  Members properties = {{"include", R"({"$ref":"#/$defs/include"})"}};
  std::map<std::string, std::vector<std::string>> conditions;  // of keys that some kinds have
  std::vector<std::string> rules;
  for (const Part& part : section.parts) {
    const std::string needed = Needed(part);
    Members own = PropertiesOf(part);
    if (part.when == Part::When::kAlways) {
      properties.insert(properties.end(), own.begin(), own.end());
      if (!needed.empty()) rules.push_back(Object({{"anyOf", needed}}));
      continue;
    }
    for (const auto& [key, schema] : own) {
      auto& of_key = conditions[key];
      if (of_key.empty()) properties.emplace_back(key, "true");
      if (of_key.empty()) of_key.push_back(HasKey("include"));
      of_key.push_back(WholeCondition(part));
    }
    if (own.empty()) continue;
    Members then = {{"properties", Object(own)}};
    if (!needed.empty()) then.emplace_back("anyOf", needed);
    rules.push_back(Object({{"if", WholeCondition(part)}, {"then", Object(then)}}));
  }
  Members schema = {{"description", Quote(section.meaning)},
                    {"type", Quote("object")},
                    {"properties", Object(properties)},
                    {"additionalProperties", "false"}};
  Members dependent;
  for (const auto& [key, of_key] : conditions) {
    dependent.emplace_back(key, Object({{"anyOf", Array(of_key)}}));
  }
  if (!dependent.empty()) schema.emplace_back("dependentSchemas", Object(dependent));
  if (!rules.empty()) schema.emplace_back("allOf", Array(rules));
  return Object(schema);
}

// The section and all that it leads to.
void Collect(std::string_view name, std::set<std::string_view>& names) {
  if (!names.insert(name).second) return;
  for (const Part& part : SectionNamed(name).parts) {
    for (const KeyInfo& info : part.keys) {
      for (const Value* value : {&info.value, info.value.other}) {
        if (value != nullptr && value->kind == ValueKind::kSection) Collect(value->of, names);
      }
    }
  }
}

constexpr std::string_view kInclude =
    R"({"description":"A file or files whose mapping is merged in, relative to this file; own keys )"
    R"(win.","anyOf":[{"type":"string"},{"type":"array","items":{"type":"string"},"minItems":1}]})";
constexpr std::string_view kNumberWithUnit =
    R"({"description":"25 psi, 90 °C, 2.2 kohm","type":"string",)"
    R"("pattern":"^\\s*[+-]?([0-9]+\\.?[0-9]*|\\.[0-9]+)([eE][+-]?[0-9]+)?\\s*\\S*$"})";

}  // namespace

std::string SchemaOf(std::string_view file) {
  std::set<std::string_view> names;
  Collect(file, names);
  Members sections = {{"include", std::string(kInclude)},
                      {"number_with_unit", std::string(kNumberWithUnit)}};
  for (const SectionInfo& section : Sections()) {
    if (names.contains(section.name)) {
      sections.emplace_back(std::string(section.name), SchemaOfSection(section));
    }
  }
  return json::Indented(Object({{"$schema", Quote("https://json-schema.org/draft/2020-12/schema")},
                                {"title", Quote(fmt::format("drycrank {}", file))},
                                {"$ref", Quote(fmt::format("#/$defs/{}", file))},
                                {"$defs", Object(sections)}}));
}

}  // namespace drycrank::profile
