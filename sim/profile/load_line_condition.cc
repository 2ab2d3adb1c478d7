// SPDX-License-Identifier: Apache-2.0
//
// Conditions on what the controller's pins do, and on the crank: {output: coil, equals: on},
// {age_of: crank, above: 2 s}, {crank: turning}.
#include <fmt/format.h>

#include <algorithm>

#include "profile/keys_scenario.h"
#include "profile/load_scenario.h"
#include "profile/protection.h"
#include "profile/table_reader.h"
#include "types/nth.h"

namespace drycrank::profile {
namespace {

constexpr double kLongestAgeS = kMaxRunS;

struct NamedLine {
  std::string name;
  Line line;
};

void AddCylinders(const Controller& k, const char* word, Line::Kind kind,
                  std::vector<NamedLine>& lines) {
  lines.push_back({word, {kind, 0}});
  for (const int cylinder : k.decoder.firing_order) {
    lines.push_back({fmt::format("{}_{}", word, cylinder), {kind, cylinder}});
  }
}

// Those that are seen: an output that no protection switches does nothing here.
std::vector<NamedLine> OutputsOf(const Bench& bench) {
  std::vector<NamedLine> lines;
  if (!bench.controller) return lines;
  AddCylinders(*bench.controller, "coil", Line::Kind::kCoil, lines);
  if (bench.controller->decoder.trailing_deg) {
    AddCylinders(*bench.controller, "trailing_coil", Line::Kind::kTrailingCoil, lines);
  }
  AddCylinders(*bench.controller, "injector", Line::Kind::kInjector, lines);
  for (const Protection& p : bench.protections) {
    if (p.output < 0) continue;
    lines.push_back(
        {Nth(bench.controller->outputs, p.output).name, {Line::Kind::kSwitch, p.output}});
  }
  return lines;
}

std::vector<NamedLine> ChannelsOf(const Bench& bench) {
  std::vector<NamedLine> lines = OutputsOf(bench);
  if (!bench.controller) return lines;
  for (std::size_t i = 0; i < bench.controller->triggers.size(); ++i) {
    lines.push_back(
        {bench.controller->triggers[i].name, {Line::Kind::kTrigger, static_cast<int>(i)}});
  }
  return lines;
}

bool ReadLine(Reader& r, const char* key, const std::vector<NamedLine>& known, const char* what,
              Condition& condition) {
  const auto ref = r.GetRef(key);
  const int at = ref ? Resolve(r.problems(), *ref, NamesOf(known), what) : -1;
  if (at < 0) return false;
  condition.line = Nth(known, at).line;
  condition.text = ref->text;
  return true;
}

// Those that go with what is looked at are read; any other is one too many.
bool HasOnly(Reader& r, const char* key, std::initializer_list<std::string_view> comparisons) {
  bool only = true;
  for (const char* comparison : {"equals", "not_equals", "above", "below"}) {
    if (!r.Has(comparison) || std::ranges::count(comparisons, comparison) > 0) continue;
    only = false;
    r.problems().Add(r.PlaceOf(comparison),
                     fmt::format("'{}' does not go with '{}'", comparison, key), "leave it out");
  }
  return only;
}

bool ReadOutput(const Bench& bench, Reader& r, Condition& condition) {
  condition.looks_at = LooksAt::kOutput;
  const bool known = ReadLine(r, "output", OutputsOf(bench), "output that is seen,", condition);
  if (!HasOnly(r, "output", {"equals"}) || !r.Require("equals", "equals: on")) return false;
  const int is = r.WordIndex("equals", {"off", "on"});
  if (is < 0 || !known) return false;
  condition.value = is;
  condition.text += is == 1 ? " is on" : " is off";
  return true;
}

bool ReadAge(const Bench& bench, Reader& r, Condition& condition) {
  condition.looks_at = LooksAt::kAge;
  const bool known = ReadLine(r, "age_of", ChannelsOf(bench), "channel with edges", condition);
  const bool above = r.Has("above"), below = r.Has("below");
  if (!HasOnly(r, "age_of", {"above", "below"})) return false;
  if (above == below) {
    r.problems().Add(r.place(), "an age has one of above and below", "write above: 2 s");
    return false;
  }
  const char* const key = above ? "above" : "below";
  condition.compare = above ? Compare::kAbove : Compare::kBelow;
  const bool read = r.Get(key, &condition.value, Range{"s", 1e-6, kLongestAgeS});
  condition.text = fmt::format("the last edge of {} is {} than {:g} s ago", condition.text,
                               above ? "longer" : "less", condition.value);
  return known && read;
}

bool ReadCrank(Reader& r, Condition& condition) {
  condition.looks_at = LooksAt::kCrank;
  const int turns = r.WordIndex("crank", {"standing", "turning"});
  if (!HasOnly(r, "crank", {})) return false;
  condition.value = turns;
  condition.text = turns == 1 ? "the crank turns" : "the crank stands";
  return turns >= 0;
}

}  // namespace

bool IsOfLines(const Node& node) {
  return node.Find("output") != nullptr || node.Find("age_of") != nullptr ||
         node.Find("crank") != nullptr;
}

std::optional<Condition> LoadLineCondition(Problems& problems, const Bench& bench,
                                           const Node& node) {
  Condition condition;
  Reader r(problems, node, "condition");
  KnowKeys(r, kConditionKeys);
  const int named = static_cast<int>(r.Has("output")) + static_cast<int>(r.Has("age_of")) +
                    static_cast<int>(r.Has("crank")) + static_cast<int>(r.Has("signal"));
  if (named != 1) {
    problems.Add(r.place(), "the condition looks at more than one thing",
                 "write one of signal, output, age_of, crank; another one under 'when'");
    return std::nullopt;
  }
  const bool read = r.Has("output")   ? ReadOutput(bench, r, condition)
                    : r.Has("age_of") ? ReadAge(bench, r, condition)
                                      : ReadCrank(r, condition);
  return read ? std::optional(condition) : std::nullopt;
}

}  // namespace drycrank::profile
