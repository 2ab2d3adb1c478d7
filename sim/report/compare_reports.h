// SPDX-License-Identifier: Apache-2.0
//
// Two reports compared, as json.cc wrote them, in sentences that a person can sign:
//
//   oil_pressure_follows: now failed, was met: at worst reported 3.1 bar, should be 2.0 bar ± 0.2 bar
//   coolant_follows: margin is now +0.4 °C, was +3.6 °C
//   circuit map_signal: now not shown (repair first), was proven
//   nothing else changed: 26 expectations and 29 circuits as before
//
// A margin has changed when it moved by more than a tenth of its tolerance. Sentences of a report, times and counts of messages
// are not compared: another seed gives others.
#ifndef DRYCRANK_REPORT_COMPARE_REPORTS_H_
#define DRYCRANK_REPORT_COMPARE_REPORTS_H_

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "types/changes.h"

namespace drycrank::report {

struct ReadExpectation {
  std::string outcome, requirement, detail, margin_unit;
  std::optional<double> margin;           // in its unit
  std::optional<double> relative_margin;  // as a share of the tolerance
};
struct ReadReport {
  std::string bench, bench_file, scenario, version, mode;
  long long seed = 0;
  std::vector<std::string> faults;
  std::map<std::string, ReadExpectation> expectations;
  std::map<std::string, std::string> circuits;  // state and reason: "not shown (repair first)"
};
// Nothing when `json` is no report; `why` then says so.
std::optional<ReadReport> ParseReport(const std::string& json, std::string& why);

struct ReportComparison {
  // subject: an expectation, or "circuit NAME"; kind: outcome, margin, requirement, circuit, lost, gained
  std::vector<Change> changes;
  std::vector<std::string> notes;  // "the seed is 2, was 1"
  std::vector<std::string> subjects;
  std::size_t expectations_as_before = 0, circuits_as_before = 0;
};
ReportComparison CompareReports(const ReadReport& was, const ReadReport& now);

// A line for each change, then how much is as before, then the notes.
std::string Text(const ReportComparison& comparison);
// {"format": "drycrank comparison of reports", "format_version": 1, "changes": [{"subject", "kind", "sentence"}], "notes": [...],
//  "expectations_as_before", "circuits_as_before"}
std::string Json(const ReportComparison& comparison);
// One case for each expectation and circuit.
std::string JunitXml(const ReportComparison& comparison, const std::string& suite);

}  // namespace drycrank::report

#endif  // DRYCRANK_REPORT_COMPARE_REPORTS_H_
