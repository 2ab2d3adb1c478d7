// SPDX-License-Identifier: Apache-2.0
//
// Shared by the four forms of a report, so that they cannot disagree: counts, order, sentences. The
// words here are plain text; whoever prints them escapes them.
//
// Order, worst first: a controller of which nothing is heard (mute_controller.h), failed, then not
// observed, then not observable, then met; within each by the margin relative to what was allowed
// (tolerance, jitter, time limit), then in the order of the scenario.
#ifndef DRYCRANK_REPORT_SUMMARY_H_
#define DRYCRANK_REPORT_SUMMARY_H_

#include <string>
#include <vector>

#include "report/report.h"

namespace drycrank::report {

struct Counts {
  std::size_t expectations = 0, met = 0, failed = 0, not_observed = 0, not_observable = 0;
  // Not shown: neither proven, failed, on paper only nor signed over.
  std::size_t circuits = 0, circuits_proven = 0, circuits_failed = 0, circuits_not_shown = 0;
  std::size_t circuits_signed = 0, circuits_on_paper = 0;
};
Counts Count(const Report& report);

// "24 of 26 expectations met. 2 failed."
std::string VerdictSentence(const Report& report);
// "18 of 22 circuits proven, 1 failed, 3 not shown: 2 needs the meter, 1 not asked."
std::string CoverageSentence(const Report& report);

// What failed, where circuits are weighed and none of them is failed for it: "No open or shorted wire
// explains supply: look for ...". Empty: there is none.
std::string UnexplainedInWords(const Report& report);

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

// Not shown, or signed over by a person: in the order in which they are listed.
bool IsSigned(const check::CircuitCoverage& circuit);
// All but those proven: the failed first, then those not shown, by their reason.
std::vector<const check::CircuitCoverage*> OpenCircuits(const Report& report);
// What a circuit's state rests on, in one sentence: the expectation, the step and the margin of a
// proof, what speaks against a failed one, why another is not shown.
std::string WhyInWords(const Report& report, const check::CircuitCoverage& circuit);

// The circuits of an expectation that failed, those first that it speaks against.
struct Suspect {
  std::string circuit;
  bool explains = false;  // open or shorted, it makes just that; else it may be anything on the way
  // Empty, or "oil_pressure_reaches_controller needs this circuit too and is met".
  std::string but = {};
};
std::vector<Suspect> SuspectsOf(const Report& report, int expectation);

// Symbol and words, so that nothing depends on colour.
struct Mark {
  const char* symbol;  // "✗"
  const char* word;    // "failed"
  const char* key;     // "failed", "not_observed": for JSON, JUnit and style sheets
};
Mark MarkOf(check::Outcome outcome);
Mark MarkOf(const check::CircuitCoverage& circuit);
const char* WordOf(check::Gap gap);  // "needs the meter"
const char* KeyOf(check::Gap gap);   // "needs_meter"

std::vector<const profile::Wire*> WiresOf(const profile::Bench& bench, const std::string& circuit);

// "engine_temps.coolant follows coolant_temperature within ± 2 °C"
std::string RequirementInWords(const Report& report, const profile::Expectation& expectation);

// What is wrong, as the heading of a verdict that is not met. Of what was not seen nothing is said
// but that, or what it means where nothing at all is heard.
std::string HeadingOf(const Report& report, const check::Verdict& verdict);

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
