// SPDX-License-Identifier: Apache-2.0
//
// One suite per run, one case per expectation, in the order of the scenario. A case's time is how
// long the run watched for it: the length of the steps it names, or the whole run; virtual seconds
// where the run was virtual. What could not be observed is an error of the bench, not a failure.
#include <fmt/format.h>

#include <algorithm>

#include "report/headline.h"
#include "report/report.h"
#include "report/summary.h"
#include "report/text.h"
#include "types/markup.h"
#include "types/nth.h"

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

Markup Case(const Report& report, const check::Verdict& v) {
  const profile::Expectation& e = ExpectationOf(report, v);
  const Attributes head = {{"classname", report.scenario->name},
                           {"name", e.name},
                           {"time", TimeValue(WatchedNs(report, e))}};
  if (v.outcome == check::Outcome::kMet) return "    " + EmptyElement("testcase", head) + "\n";
  const bool unseen = v.outcome == check::Outcome::kNotObservable ||
                      (v.outcome == check::Outcome::kNotObserved && !UnseenIsFailure(report));
  const Markup why = Element(unseen ? "error" : "failure",
                             {{"message", e.means.empty() || unseen ? v.detail : e.means},
                              {"type", MarkOf(v.outcome).key}},
                             FailureText(report, v));
  return "    " + Element("testcase", head, "\n      " + why + "\n    ") + "\n";
}

// What else a run was to show: the circuits of a walk, its own end, anything at all.
struct Missing {
  std::string name, message;
  bool failed = false;  // else not shown
};

std::vector<Missing> MissingIn(const Report& report) {
  std::vector<Missing> missing;
  const bool all_to_be_shown = report.is_walk || report.controller_real || report.display_real;
  for (const auto* c : OpenCircuits(report)) {
    const bool failed = c->state == check::CircuitState::kFailed;
    if (IsSigned(*c) || c->gap == check::Gap::kNotFitted) continue;
    if (failed || all_to_be_shown) {
      missing.push_back({"circuit " + c->circuit, WhyInWords(report, *c), failed});
    }
  }
  if (report.stopped) missing.push_back({"end", Headline(report)});
  if (report.verdicts.empty()) missing.push_back({"expectations", Headline(report)});
  return missing;
}

Markup Case(const Report& report, const Missing& m) {
  const Attributes head = {
      {"classname", report.scenario->name}, {"name", m.name}, {"time", "0.000"}};
  const Markup why =
      Element(m.failed ? "failure" : "error",
              {{"message", m.message}, {"type", m.failed ? "failed" : "not_shown"}}, m.message);
  return "    " + Element("testcase", head, "\n      " + why + "\n    ") + "\n";
}

Markup Property(std::string_view name, const std::string& value) {
  return "      " + EmptyElement("property", {{"name", name}, {"value", value}}) + "\n";
}

}  // namespace

std::string JunitXml(const Report& report) {
  const Counts n = Count(report);
  const std::vector<Missing> missing = MissingIn(report);
  const auto failed = AsSize(std::ranges::count(missing, true, &Missing::failed));
  const Attribute tests("tests", n.expectations + missing.size()),
      failures("failures", n.failed + (UnseenIsFailure(report) ? n.not_observed : 0) + failed),
      errors("errors", n.not_observable + (UnseenIsFailure(report) ? 0 : n.not_observed) +
                           missing.size() - failed),
      time("time", TimeValue(report.duration_ns));
  const Markup properties = Element(
      "properties", "\n" + Property("version", report.version) +
                        Property("bench", report.bench->name) + Property("mode", report.mode) +
                        Property("seed", std::to_string(report.seed)) + "    ");
  Markup suite = "\n    " + properties + "\n";
  for (const check::Verdict& v : report.verdicts) suite += Case(report, v);
  for (const Missing& m : missing) suite += Case(report, m);
  const Markup suites = Element(
      "testsuite", {{"name", report.scenario->name}, tests, failures, errors, time, {"skipped", 0}},
      suite + "  ");
  const Markup root = Element("testsuites", {{"name", "drycrank"}, tests, failures, errors, time},
                              "\n  " + suites + "\n");
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n" + root.text() + "\n";
}

}  // namespace drycrank::report
