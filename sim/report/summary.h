// SPDX-License-Identifier: Apache-2.0
//
// Shared by the four forms of a report, so that they cannot disagree: counts, order, sentences. The
// words here are plain text; whoever prints them escapes them.
//
// Order, worst first: failed, then not observed, then not observable, then met; within each by the
// margin relative to what was allowed (tolerance, jitter, time limit), then in the order of the
// scenario.
#ifndef DRYCRANK_REPORT_SUMMARY_H_
#define DRYCRANK_REPORT_SUMMARY_H_

#include <string>
#include <vector>

#include "report/report.h"

namespace drycrank::report {

struct Counts {
  std::size_t expectations = 0, met = 0, failed = 0, not_observed = 0, not_observable = 0;
  std::size_t circuits = 0, circuits_proven = 0, circuits_failed = 0;
};
Counts Count(const Report& report);

// "24 of 26 expectations met. 2 failed."
std::string VerdictSentence(const Report& report);
// "18 of 22 circuits proven, 1 failed, 3 not proven."
std::string CoverageSentence(const Report& report);

const profile::Expectation& ExpectationOf(const Report& report, const check::Verdict& verdict);

std::vector<const check::Verdict*> WorstFirst(const Report& report);

// margin / allowance at the worst moment; where nothing is allowed, the margin over the size of the
// value wanted. In [0, 1] when met, but for a time that is held longer than required.
double RelativeMargin(const Report& report, const check::Verdict& verdict);
// "60 % of the tolerance left", "75 % more than the jitter allowed", "25.5 times the tolerance";
// empty where nothing is allowed.
std::string RelativeMarginInWords(const Report& report, const check::Verdict& verdict);

// "-49.0 °C"; a dash when nothing was observed.
std::string MarginInWords(const Report& report, const check::Verdict& verdict);
// "4.210 s"; a dash when nothing was observed.
std::string WorstInWords(const check::Verdict& verdict);

// A circuit is failed when no expectation that would prove it was met, and one was not; in doubt
// when some were met and some were not: another circuit of theirs is the likelier one.
enum class CircuitState {
  kProven,
  kFailed,
  kInDoubt,
  kNotProven,
  kNotAsked,
  kNotProvable,
  kNotFitted
};
// All but proven, the one to look at first at the front.
inline constexpr CircuitState kOpenStates[] = {
    CircuitState::kFailed,   CircuitState::kInDoubt,     CircuitState::kNotProven,
    CircuitState::kNotAsked, CircuitState::kNotProvable, CircuitState::kNotFitted};
CircuitState StateOf(const check::CircuitCoverage& circuit);
// Why a circuit is in doubt, or why nothing judged it; else empty.
std::string WhyInWords(const Report& report, const check::CircuitCoverage& circuit);

// The circuits of an expectation, those first that nothing else speaks for.
struct Suspect {
  std::string circuit;
  std::string but;  // "oil_pressure_reaches_controller needs this circuit too and is met"; or empty
};
std::vector<Suspect> SuspectsOf(const Report& report, const profile::Expectation& expectation);

// Symbol and words, so that nothing depends on colour.
struct Mark {
  const char* symbol;  // "✗"
  const char* word;    // "failed"
  const char* key;     // "failed", "not_observed": for JSON, JUnit and style sheets
};
Mark MarkOf(check::Outcome outcome);
Mark MarkOf(CircuitState state);

std::vector<const profile::Wire*> WiresOf(const profile::Bench& bench, const std::string& circuit);

// "engine_temps.coolant follows coolant_temperature within ± 2 °C"
std::string RequirementInWords(const Report& report, const profile::Expectation& expectation);

// The tolerance, jitter or time that an expectation allows; size 0: a margin is a share of nothing.
struct Allowance {
  double size = 0;
  const char* unit = "";  // empty: that of the margin
  const char* word = "tolerance";
};
Allowance AllowanceOf(const profile::Expectation& expectation);

// "CLT.1 short to ground through 2 Ω", and when: "during idle (3.000 s to 6.000 s)".
std::string FaultInWords(const profile::Fault& fault);
std::string FaultTimeInWords(const Report& report, const profile::Fault& fault);

// The signal of the bench, or null.
const profile::Signal* SignalOrNull(const profile::Bench& bench, const profile::SignalRef& at);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_SUMMARY_H_
