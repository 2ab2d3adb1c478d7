// SPDX-License-Identifier: Apache-2.0
#include "profile/load_scenario.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "profile/keys_scenario.h"
#include "profile/state_names.h"
#include "profile/table_reader.h"
#include "types/unit.h"

namespace drycrank::profile {
namespace {

void ReadStep(ScenarioContext& c, const Node& node) {
  Step step;
  step.place = node.Where();
  const Node* name = node.Find("name");
  Reader r(c.problems, node, name == nullptr ? "step" : fmt::format("step '{}'", name->text));
  TableReader t(r, kStepKeys, step);
  if (r.GetName("name", &step.name) && IndexOf(c.scenario.steps, step.name) >= 0) {
    r.Complain("name", fmt::format("a second step '{}'", step.name), "give each step its own name");
  }
  const Node* wait = r.Find("wait_for");
  if (wait != nullptr) {
    step.wait_for = LoadCondition(c.problems, c.bench, *wait);
    if (step.wait_for && step.wait_for->looks_at != LooksAt::kReported) {
      r.Complain("wait_for", "a condition that is not on a signal", "wait for a signal");
      step.wait_for.reset();
    }
    TakeAll(r, kWaitKeys, step);
    if (r.Has("for_s")) {
      r.Complain("for_s", "a length and a condition", "with wait_for write limit_s instead");
    }
  } else {
    r.Require("for_s", "for_s: 2 s");
    t.Take("for_s");
  }
  LoadDrives(c, r.Find("drive"), step);
  c.scenario.steps.push_back(std::move(step));
}

void ReadFault(ScenarioContext& c, const Node& node) {
  const auto steps = NamesOf(c.scenario.steps);
  Fault fault = LoadFault(c.problems, c.bench, &steps, node);
  if (!fault.name.empty() && IndexOf(c.scenario.faults, fault.name) >= 0) {
    c.problems.Add(fault.place, fmt::format("a second fault '{}'", fault.name),
                   "give each fault its own name");
  }
  c.scenario.faults.push_back(std::move(fault));
}

struct Comparison {
  std::string_view key;
  Compare compare;
};
constexpr Comparison kComparisons[] = {{"equals", Compare::kEqual},
                                       {"not_equals", Compare::kNotEqual},
                                       {"above", Compare::kAbove},
                                       {"below", Compare::kBelow}};

// The value as it was written, for a report: "3 (synchronised)", "110 °C".
std::string ValueInWords(const Signal& signal, double value, const std::string& written) {
  const auto number = ParseNumberWithUnit(written);
  if (!number) return written;
  const StateNames& words = NamesOfValues(signal);
  const auto word = words.find(std::llround((value - signal.offset) / signal.scale));
  if (word != words.end()) return fmt::format("{} ({})", written, word->second);
  const auto unit = CanonicalUnit(number->unit);
  return unit ? WithUnit(fmt::format("{:g}", number->value), *unit) : written;
}

}  // namespace

std::optional<Condition> LoadCondition(Problems& problems, const Bench& bench, const Node& node) {
  if (IsOfLines(node)) return LoadLineCondition(problems, bench, node);
  Condition condition;
  Reader r(problems, node, "condition");
  KnowKeys(r, kConditionKeys);
  r.Require("signal", "signal: engine_fast.sync");
  const auto ref = r.GetRef("signal");
  if (ref) condition.signal = ResolveSignal(problems, bench, *ref);
  const Node* wanted = nullptr;
  int given = 0;
  std::string_view key;
  for (const Comparison& comparison : kComparisons) {
    const Node* found = r.Find(comparison.key);
    if (found == nullptr) continue;
    ++given;
    wanted = found;
    key = comparison.key;
    condition.compare = comparison.compare;
  }
  if (given != 1 && r.is_map()) {
    problems.Add(r.place(), fmt::format("the condition has {} comparisons", given),
                 "write one of equals, not_equals, above, below");
  }
  if (given != 1 || !ref || condition.signal.signal < 0) return std::nullopt;
  const Signal& signal = SignalAt(bench, condition.signal);
  const auto value = ReadSignalValue(problems, *wanted, fmt::format("'{}'", key), signal);
  if (!value) return std::nullopt;
  condition.value = *value;
  const std::string words = key == "not_equals" ? "does not equal"
                            : key == "equals"   ? "equals"
                                                : "is " + std::string(key);
  condition.text =
      fmt::format("{} {} {}", ref->text, words, ValueInWords(signal, *value, wanted->text));
  return condition;
}

std::vector<std::string> ReadDuring(Reader& r, const std::vector<std::string>& steps) {
  std::vector<std::string> names;
  for (const Ref& ref : r.GetRefs("during")) {
    Resolve(r.problems(), ref, steps, "step");
    names.push_back(ref.text);
  }
  if (r.Has("during") && names.empty()) {
    r.Complain("during", "'during' names no step", "name steps, or leave it out: the whole run");
  }
  return names;
}

void LoadScenarioTree(ScenarioContext& c, const Node& root) {
  Scenario& s = c.scenario;
  Reader r(c.problems, root, "the scenario");
  r.BeTop();
  TableReader t(r, kScenarioKeys, s);  // the caller has read `kind`, `format` and `bench`
  t.Take("name");
  s.title = s.name;
  t.TakeRest();
  const Node* steps = r.Find("steps");
  EachItem(c.problems, steps, "'steps'", [&](const Node& item) { ReadStep(c, item); });
  if (steps != nullptr && s.steps.empty() && steps->kind != NodeKind::kMap) {
    r.Complain("steps", "nothing happens", "write at least one step");
  }
  double total_s = 0;
  for (const Step& step : s.steps) total_s += step.for_s;
  if (total_s > kMaxRunS) {
    r.Complain("steps", fmt::format("the steps take {:g} s", total_s), "24 h at most");
  }
  EachItem(c.problems, r.Find("faults"), "'faults'", [&](const Node& item) { ReadFault(c, item); });
  EachItem(c.problems, r.Find("replay"), "'replay'",
           [&](const Node& item) { LoadReplay(c, item); });
  const Node* capture = r.Find("capture");
  if (capture != nullptr && capture->kind != NodeKind::kNull) LoadCapture(c, *capture);
  EachItem(c.problems, r.Find("expect"), "'expect'",
           [&](const Node& item) { LoadExpectation(c, item); });
  CheckBesideCapture(c);
}

}  // namespace drycrank::profile
