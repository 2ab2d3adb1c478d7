// SPDX-License-Identifier: Apache-2.0
#include "report/summary.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <tuple>

#include "report/text.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::report {
namespace {

using check::Outcome;
using profile::Expectation;

// As the verdict's judge allowed it at the worst moment, else as the expectation says. Frames are
// counted, and are a share of nothing.
Allowance AllowanceOf(const check::Verdict& verdict, const Expectation& e) {
  Allowance allowance = report::AllowanceOf(e);
  if (verdict.margin_unit == "frames") allowance.size = 0;
  if (allowance.size > 0 && verdict.allowed > 0) {
    allowance.size = verdict.allowed;
    allowance.unit = verdict.margin_unit.c_str();
  }
  return allowance;
}

double MarginIn(const check::Verdict& verdict, const char* unit) {
  return ConvertDifference(verdict.margin, verdict.margin_unit, unit).value_or(verdict.margin);
}

int Group(Outcome outcome) {
  if (outcome == Outcome::kFailed) return 0;
  if (outcome == Outcome::kNotObserved) return 1;
  return outcome == Outcome::kNotObservable ? 2 : 3;
}

}  // namespace

Counts Count(const Report& report) {
  Counts n;
  n.expectations = report.verdicts.size();
  for (const check::Verdict& v : report.verdicts) {
    ++(v.outcome == Outcome::kMet           ? n.met
       : v.outcome == Outcome::kFailed      ? n.failed
       : v.outcome == Outcome::kNotObserved ? n.not_observed
                                            : n.not_observable);
  }
  n.circuits = report.coverage.size();
  for (const check::CircuitCoverage& c : report.coverage) {
    n.circuits_proven += StateOf(c) == CircuitState::kProven;
    n.circuits_failed += StateOf(c) == CircuitState::kFailed;
  }
  return n;
}

std::string VerdictSentence(const Report& report) {
  const Counts n = Count(report);
  if (n.expectations == 0) return "Nothing proven: the scenario expects nothing.";
  if (n.met == n.expectations) {
    return n.met == 1 ? "No failure: the one expectation is met."
                      : fmt::format("No failure: all {} expectations met.", n.met);
  }
  const std::size_t failed = n.failed + n.not_observed;
  std::string text = fmt::format("{} of {} expectations met.", n.met, n.expectations);
  if (failed > 0) {
    text += fmt::format(" {} failed", failed);
    if (n.not_observed == failed) {
      text += ": not seen";
    } else if (n.not_observed > 0) {
      text += fmt::format(", {} of them not seen", n.not_observed);
    }
    text += ".";
  }
  if (n.not_observable > 0) text += fmt::format(" {} not observable.", n.not_observable);
  return text;
}

std::string CoverageSentence(const Report& report) {
  const Counts n = Count(report);
  std::string text = fmt::format("{} of {} proven, {} failed, {} not proven", n.circuits_proven,
                                 Counted(n.circuits, "circuit"), n.circuits_failed,
                                 n.circuits - n.circuits_proven - n.circuits_failed);
  std::vector<std::string> parts;
  for (const CircuitState state : kOpenStates) {
    if (state == CircuitState::kFailed || state == CircuitState::kNotProven) continue;
    const auto count =
        std::ranges::count_if(report.coverage, [&](const auto& c) { return StateOf(c) == state; });
    if (count > 0) parts.push_back(fmt::format("{} {}", count, MarkOf(state).word));
  }
  return text + (parts.empty() ? "." : ": " + Join(parts) + ".");
}

const Expectation& ExpectationOf(const Report& report, const check::Verdict& verdict) {
  return Nth(report.scenario->expectations, verdict.expectation);
}

double RelativeMargin(const Report& report, const check::Verdict& verdict) {
  const Expectation& e = ExpectationOf(report, verdict);
  const Allowance allowance = AllowanceOf(verdict, e);
  const profile::Condition* condition = profile::ConditionOf(e.kind);
  const double wanted = condition == nullptr ? 0 : std::fabs(condition->value);
  const double relative = allowance.size > 0 ? MarginIn(verdict, allowance.unit) / allowance.size
                                             : verdict.margin / std::max(1.0, wanted);
  return std::isfinite(relative) ? relative : std::numeric_limits<double>::lowest();
}

std::string RelativeMarginInWords(const Report& report, const check::Verdict& verdict) {
  const Expectation& e = ExpectationOf(report, verdict);
  const Allowance allowance = AllowanceOf(verdict, e);
  if (allowance.size <= 0 || !check::WasJudged(verdict.outcome)) return {};
  if (!std::isfinite(verdict.margin)) return {};
  const double relative = RelativeMargin(report, verdict);
  if (std::holds_alternative<profile::expect::ForAtLeast>(e.kind)) {
    return relative >= 0
               ? fmt::format("{:.1f} times the {}", 1 + relative, allowance.word)
               : fmt::format("{:.0f} % of the {} missing", -100 * relative, allowance.word);
  }
  if (relative >= 0) return fmt::format("{:.0f} % of the {} left", 100 * relative, allowance.word);
  const double beyond = -relative;
  if (beyond < 1) return fmt::format("{:.0f} % more than the {}", 100 * beyond, allowance.word);
  return fmt::format("{:.1f} times the {}", 1 + beyond, allowance.word);
}

std::vector<const check::Verdict*> WorstFirst(const Report& report) {
  std::vector<const check::Verdict*> order;
  for (const check::Verdict& v : report.verdicts) order.push_back(&v);
  const auto key = [&](const check::Verdict* v) {
    return std::tuple(Group(v->outcome), RelativeMargin(report, *v), v->expectation);
  };
  std::stable_sort(order.begin(), order.end(),
                   [&](const auto* a, const auto* b) { return key(a) < key(b); });
  return order;
}

std::string MarginInWords(const Report& report, const check::Verdict& verdict) {
  if (!check::WasJudged(verdict.outcome) || std::isnan(verdict.margin)) {
    return std::string(kNoNumber);
  }
  const Allowance allowance = AllowanceOf(verdict, ExpectationOf(report, verdict));
  double scale = verdict.margin;
  if (allowance.size > 0) {
    scale = ConvertDifference(allowance.size, allowance.unit, verdict.margin_unit)
                .value_or(allowance.size);
  }
  // Whole things are counted, not measured.
  const bool whole = verdict.margin == std::floor(verdict.margin) && allowance.size == 0;
  return SignedQuantity(verdict.margin, verdict.margin_unit, whole ? 0 : DecimalsFor(scale));
}

std::string WorstInWords(const check::Verdict& verdict) {
  // A witness has neither margin nor moment.
  if (!check::WasJudged(verdict.outcome) || std::isnan(verdict.margin)) {
    return std::string(kNoNumber);
  }
  return Seconds(verdict.worst_ns);
}

CircuitState StateOf(const check::CircuitCoverage& circuit) {
  if (!circuit.failed.empty()) {
    return circuit.met.empty() ? CircuitState::kFailed : CircuitState::kInDoubt;
  }
  if (circuit.proven) return CircuitState::kProven;
  switch (circuit.gap) {
    case check::Gap::kNotProvable:
      return CircuitState::kNotProvable;
    case check::Gap::kNotFitted:
      return CircuitState::kNotFitted;
    case check::Gap::kNotAsked:
      return CircuitState::kNotAsked;
    case check::Gap::kNone:
      break;
  }
  return CircuitState::kNotProven;
}

std::string WhyInWords(const Report& report, const check::CircuitCoverage& circuit) {
  if (StateOf(circuit) == CircuitState::kInDoubt) {
    const std::string& other = Nth(report.scenario->expectations, circuit.met.front()).name;
    return other + " needs this circuit too and is met";
  }
  return circuit.by.empty() ? circuit.why : "";
}

std::vector<Suspect> SuspectsOf(const Report& report, const Expectation& expectation) {
  std::vector<Suspect> suspects;
  for (const std::string& name : expectation.proves) {
    const auto circuit = std::ranges::find(report.coverage, name, &check::CircuitCoverage::circuit);
    suspects.push_back(
        {name, circuit == report.coverage.end() ? "" : WhyInWords(report, *circuit)});
  }
  std::ranges::stable_partition(suspects, [](const Suspect& s) { return s.but.empty(); });
  return suspects;
}

Mark MarkOf(Outcome outcome) {
  switch (outcome) {
    case Outcome::kMet:
      return {"✓", "met", "met"};
    case Outcome::kFailed:
      return {"✗", "failed", "failed"};
    case Outcome::kNotObservable:
      return {"?", "unjudged", "not_observable"};
    case Outcome::kNotObserved:
      break;
  }
  return {"○", "not seen", "not_observed"};
}

Mark MarkOf(CircuitState state) {
  switch (state) {
    case CircuitState::kProven:
      return {"✓", "proven", "proven"};
    case CircuitState::kFailed:
      return {"✗", "failed", "failed"};
    case CircuitState::kInDoubt:
      return {"?", "in doubt", "in_doubt"};
    case CircuitState::kNotAsked:
      return {"○", "not asked", "not_asked"};
    case CircuitState::kNotProvable:
      return {"○", "needs the meter", "not_provable"};
    case CircuitState::kNotFitted:
      return {"–", "not fitted", "not_fitted"};
    case CircuitState::kNotProven:
      break;
  }
  return {"○", "not proven", "not_proven"};
}

std::vector<const profile::Wire*> WiresOf(const profile::Bench& bench, const std::string& circuit) {
  std::vector<const profile::Wire*> wires;
  for (const profile::Wire& wire : bench.wires) {
    if (wire.circuit == circuit) wires.push_back(&wire);
  }
  return wires;
}

const profile::Signal* SignalOrNull(const profile::Bench& bench, const profile::SignalRef& at) {
  if (at.bus < 0 || at.message < 0 || at.signal < 0) return nullptr;
  return &profile::SignalAt(bench, at);
}

}  // namespace drycrank::report
