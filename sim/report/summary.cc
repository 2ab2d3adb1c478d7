// SPDX-License-Identifier: Apache-2.0
#include "report/summary.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <tuple>

#include "report/mute_controller.h"
#include "report/text.h"
#include "types/nth.h"
#include "types/unit.h"

namespace drycrank::report {
namespace {

using check::CircuitState;
using check::Gap;
using check::Outcome;
using profile::Expectation;

// In which a reader wants them.
constexpr Gap kGaps[] = {Gap::kRepairFirst, Gap::kOtherFault,   Gap::kNotObserved,
                         Gap::kNotAsked,    Gap::kAnotherWay,   Gap::kNotDriven,
                         Gap::kNeedsMeter,  Gap::kFaultInForce, Gap::kNotFitted};

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

// Circuits that concern more than so many times the expectations of the one that concerns fewest are
// left out of those to look at.
constexpr std::size_t kLittle = 2;

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
    ++(c.state == CircuitState::kProven   ? n.circuits_proven
       : c.state == CircuitState::kFailed ? n.circuits_failed
       : c.gap == Gap::kNotFitted         ? n.circuits_on_paper
       : IsSigned(c)                      ? n.circuits_signed
                                          : n.circuits_not_shown);
  }
  return n;
}

std::string VerdictSentence(const Report& report) {
  const Counts n = Count(report);
  if (n.expectations == 0) return "nothing was expected";
  if (n.met == n.expectations) {
    return n.met == 1 ? "the one expectation is met"
                      : fmt::format("all {} expectations met", n.met);
  }
  const bool unseen_fails = UnseenIsFailure(report);
  const std::size_t failed = n.failed + (unseen_fails ? n.not_observed : 0);
  std::string text = fmt::format("{} of {} expectations met", n.met, n.expectations);
  if (failed > 0) {
    text += fmt::format(", {} failed", failed);
    if (n.not_observed == failed) {
      text += ": not seen";
    } else if (n.not_observed > 0 && unseen_fails) {
      text += fmt::format(", {} of them not seen", n.not_observed);
    }
  }
  if (!unseen_fails && n.not_observed > 0) text += fmt::format(", {} not seen", n.not_observed);
  if (n.not_observable > 0) text += fmt::format(", {} not observable", n.not_observable);
  return text;
}

std::string CoverageSentence(const Report& report) {
  const Counts n = Count(report);
  std::string text =
      fmt::format("{} of {} proven, {} failed, {} not shown", n.circuits_proven,
                  Counted(n.circuits, "circuit"), n.circuits_failed, n.circuits_not_shown);
  std::vector<std::string> parts;
  for (const Gap gap : kGaps) {
    const auto count = std::ranges::count_if(report.coverage, [&](const auto& c) {
      return c.state == CircuitState::kNotShown && c.gap == gap && !IsSigned(c) &&
             gap != Gap::kNotFitted;
    });
    if (count > 0) parts.push_back(fmt::format("{} {}", count, WordOf(gap)));
  }
  if (!parts.empty()) text += " (" + Join(parts) + ")";
  if (n.circuits_signed > 0) text += fmt::format(", {} signed over", n.circuits_signed);
  if (n.circuits_on_paper > 0) text += fmt::format(", {} on paper only", n.circuits_on_paper);
  return text + ".";
}

std::string UnexplainedInWords(const Report& report) {
  if (report.coverage.empty() || report.controller_real) return {};
  std::vector<std::string> names;
  const bool silence = AnySilence(report);
  for (const check::Verdict& v : report.verdicts) {
    const auto& kind = ExpectationOf(report, v).kind;
    if (silence && std::holds_alternative<profile::expect::DisplayShows>(kind)) continue;
    const auto is_against = [&](const check::CircuitCoverage& c) {
      return std::ranges::count(c.against, v.expectation, &check::CircuitWord::expectation) > 0;
    };
    const bool explained = std::ranges::any_of(report.coverage, is_against);
    if (v.outcome == Outcome::kFailed && !explained) names.push_back(ExpectationOf(report, v).name);
  }
  if (names.empty()) return {};
  return fmt::format(
      "No open or shorted wire explains {}: look for a bad contact, a wrong setting, a sensor or a "
      "wheel that is off.",
      Join(names));
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
    return std::tuple(IsSilence(report, *v) ? -1 : Group(v->outcome), RelativeMargin(report, *v),
                      v->expectation);
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

bool IsSigned(const check::CircuitCoverage& circuit) { return !circuit.signed_by.empty(); }

std::vector<const check::CircuitCoverage*> OpenCircuits(const Report& report) {
  std::vector<const check::CircuitCoverage*> open;
  for (const auto& c : report.coverage) {
    if (c.state != CircuitState::kProven) open.push_back(&c);
  }
  std::ranges::stable_sort(open, {}, [](const auto* c) {
    return std::pair(c->state == CircuitState::kNotShown, c->gap);
  });
  return open;
}

namespace {

// "coolant_follows in coolant_high: would report 80 °C, 43.2 °C beyond its tolerance"
std::string ProofInWords(const Report& report, const check::CircuitWord& word) {
  const std::string& name = Nth(report.scenario->expectations, word.expectation).name;
  if (word.step.empty()) return name;
  std::string text = fmt::format("{} in {}", name, word.step);
  if (std::isnan(word.margin)) return text + ": would not be met with it open";
  return fmt::format("{}: open, it would report {}, {} beyond what is allowed", text, word.would,
                     Quantity(word.margin, word.unit, DecimalsFor(word.margin)));
}

std::string AgainstInWords(const Report& report, const check::CircuitWord& word) {
  const std::string& name = Nth(report.scenario->expectations, word.expectation).name;
  if (word.step.empty()) return name;
  return fmt::format("{} at {}", name, Seconds(word.t_ns));
}

}  // namespace

std::string WhyInWords(const Report& report, const check::CircuitCoverage& circuit) {
  if (IsSigned(circuit)) {
    return fmt::format("signed over by {}: {}", circuit.signed_by, circuit.signed_why);
  }
  switch (circuit.state) {
    case CircuitState::kProven:
      return circuit.proofs.empty() ? "" : ProofInWords(report, circuit.proofs.front());
    case CircuitState::kFailed: {
      std::vector<std::string> words;
      for (const auto& word : circuit.against) words.push_back(AgainstInWords(report, word));
      std::string text = Join(words);
      if (!circuit.proofs.empty() && !circuit.proofs.front().step.empty()) {
        text +=
            fmt::format("; {} was met at {}",
                        Nth(report.scenario->expectations, circuit.proofs.front().expectation).name,
                        Seconds(circuit.proofs.front().t_ns));
      }
      return text;
    }
    case CircuitState::kNotShown:
      break;
  }
  return circuit.why;
}

std::vector<Suspect> SuspectsOf(const Report& report, int expectation) {
  std::vector<Suspect> suspects;
  const auto speaks = [&](const check::CircuitCoverage& c) {
    return std::ranges::count(c.against, expectation, &check::CircuitWord::expectation) > 0;
  };
  for (const auto& c : report.coverage) {
    if (speaks(c)) suspects.push_back({c.circuit, true});
  }
  if (!suspects.empty()) return suspects;
  // Those that concern little else are the likelier ones.
  const auto concerns = [&](const check::CircuitCoverage& c) {
    return std::ranges::count(c.concerned, expectation) > 0;
  };
  std::size_t fewest = std::numeric_limits<std::size_t>::max();
  for (const auto& c : report.coverage) {
    if (concerns(c)) fewest = std::min(fewest, c.concerned.size());
  }
  const auto& claims = Nth(report.scenario->expectations, expectation).proves;
  for (const auto& c : report.coverage) {
    const bool likely = concerns(c) && c.concerned.size() <= kLittle * fewest;
    if (!likely && (concerns(c) || std::ranges::count(claims, c.circuit) == 0)) continue;
    std::string but;
    if (c.state == CircuitState::kProven && !c.proofs.empty()) {
      but = Nth(report.scenario->expectations, c.proofs.front().expectation).name +
            " needs this circuit too and is met";
    }
    suspects.push_back({c.circuit, false, but});
  }
  std::stable_partition(suspects.begin(), suspects.end(),
                        [](const Suspect& s) { return s.but.empty(); });
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

Mark MarkOf(const check::CircuitCoverage& circuit) {
  if (IsSigned(circuit)) return {"○", "signed over", "signed"};
  switch (circuit.state) {
    case CircuitState::kProven:
      return {"✓", "proven", "proven"};
    case CircuitState::kFailed:
      return {"✗", "failed", "failed"};
    case CircuitState::kNotShown:
      break;
  }
  if (circuit.gap == Gap::kNotFitted) return {"–", "on paper only", "not_fitted"};
  return {"○", "not shown", "not_shown"};
}

const char* WordOf(Gap gap) {
  switch (gap) {
    case Gap::kNone:
      return "shown";
    case Gap::kNeedsMeter:
      return "needs the meter";
    case Gap::kAnotherWay:
      return "carried by another way";
    case Gap::kNotDriven:
      return "not driven";
    case Gap::kNotObserved:
      return "not observed";
    case Gap::kNotAsked:
      return "not asked";
    case Gap::kNotFitted:
      return "on paper only";
    case Gap::kFaultInForce:
      return "fault put in";
    case Gap::kRepairFirst:
      return "repair first";
    case Gap::kOtherFault:
      break;
  }
  return "failed otherwise";
}

const char* KeyOf(Gap gap) {
  switch (gap) {
    case Gap::kNone:
      return "";
    case Gap::kNeedsMeter:
      return "needs_meter";
    case Gap::kAnotherWay:
      return "another_way";
    case Gap::kNotDriven:
      return "not_driven";
    case Gap::kNotObserved:
      return "not_observed";
    case Gap::kNotAsked:
      return "not_asked";
    case Gap::kNotFitted:
      return "not_fitted";
    case Gap::kFaultInForce:
      return "fault_in_force";
    case Gap::kRepairFirst:
      return "repair_first";
    case Gap::kOtherFault:
      break;
  }
  return "other_fault";
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
