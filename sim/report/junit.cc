// SPDX-License-Identifier: Apache-2.0
//
// One suite per run, one case per expectation, in the order of the scenario. A case's time is how
// long the run watched for it: the length of the steps it names, or the whole run; virtual seconds
// where the run was virtual. What could not be observed is an error of the bench, not a failure.
#include <fmt/format.h>

#include <algorithm>

#include "report/report.h"
#include "report/summary.h"
#include "report/text.h"

namespace drycrank::report {
namespace {

TimeNs WatchedNs(const Report& report, const profile::Expectation& e) {
  if (e.during.empty()) return report.duration_ns;
  TimeNs watched_ns = 0;
  for (const StepTime& step : report.steps) {
    const bool named = std::find(e.during.begin(), e.during.end(), step.name) != e.during.end();
    if (named) watched_ns += step.end_ns - step.begin_ns;
  }
  return watched_ns;
}

std::string TimeValue(TimeNs t_ns) { return Number(ToSeconds(t_ns), 3); }

std::string FailureText(const Report& report, const check::Verdict& v) {
  const profile::Expectation& e = ExpectationOf(report, v);
  std::string text = v.detail + "\nrequired: " + RequirementInWords(report, e) +
                     "\nmargin: " + MarginInWords(report, v) + ", worst at " + WorstInWords(v) +
                     "\n";
  for (const std::string& circuit : e.proves) {
    for (const profile::Wire* wire : WiresOf(*report.bench, circuit)) {
      text += fmt::format("circuit: {}, {} to {}{}{}\n", circuit, wire->from, wire->to,
                          wire->colour.empty() ? "" : ", ", wire->colour);
    }
  }
  return text;
}

void Case(const Report& report, const check::Verdict& v, std::string& out) {
  const profile::Expectation& e = ExpectationOf(report, v);
  out +=
      fmt::format(R"(    <testcase classname="{}" name="{}" time="{}")",
                  Escape(report.scenario->name), Escape(e.name), TimeValue(WatchedNs(report, e)));
  if (v.outcome == check::Outcome::kMet) {
    out += "/>\n";
    return;
  }
  const bool unseen = v.outcome == check::Outcome::kNotObservable;
  out += fmt::format(">\n      <{0} message=\"{1}\" type=\"{2}\">{3}</{0}>\n    </testcase>\n",
                     unseen ? "error" : "failure",
                     Escape(e.means.empty() || unseen ? v.detail : e.means), MarkOf(v.outcome).key,
                     Escape(FailureText(report, v)));
}

void Property(const char* name, const std::string& value, std::string& out) {
  out += fmt::format("      <property name=\"{}\" value=\"{}\"/>\n", name, Escape(value));
}

}  // namespace

std::string JunitXml(const Report& report) {
  const Counts n = Count(report);
  const std::string numbers =
      fmt::format(R"(tests="{}" failures="{}" errors="{}" time="{}")", n.expectations,
                  n.failed + n.not_observed, n.not_observable, TimeValue(report.duration_ns));
  std::string out = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
  out += fmt::format("<testsuites name=\"drycrank\" {}>\n", numbers);
  out += fmt::format("  <testsuite name=\"{}\" {} skipped=\"0\">\n", Escape(report.scenario->name),
                     numbers);
  out += "    <properties>\n";
  Property("version", report.version, out);
  Property("bench", report.bench->name, out);
  Property("mode", report.mode, out);
  Property("seed", std::to_string(report.seed), out);
  out += "    </properties>\n";
  for (const check::Verdict& v : report.verdicts) Case(report, v, out);
  return out + "  </testsuite>\n</testsuites>\n";
}

}  // namespace drycrank::report
