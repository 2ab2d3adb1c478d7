// SPDX-License-Identifier: Apache-2.0
//
// Keys, in this order. They stay; new ones may come. Times are whole nanoseconds since the start of
// the run, numbers are numbers, and a number that is not finite, or a margin of something not
// observed, is null.
//   format "drycrank report", format_version 2, version, again (the command), mode, seed,
//     duration_ns
//   scenario {name, title, file}   bench {name, title, file}
//   standing ("failed", "stopped", "nothing", "not_seen", "not_ready", "ready", "as_drawn"),
//     stopped, controller_real, display_real
//   all_met, verdict (the sentence), expectations_met, expectations_failed,
//     expectations_not_observed, expectations_not_observable
//   circuits_proven, circuits_failed, circuits_not_shown, circuits_signed, circuits_on_paper
//   expectations [{name, kind, requirement, means,
//     outcome ("met", "failed", "not_observed", "not_observable"), margin, margin_unit,
//     relative_margin, worst_ns, judged, detail,
//     not_observable [{begin_ns, end_ns, bus, why}] (the first few), not_observable_times (all),
//     proves [circuit],
//     evidence {quantity, unit, points [[t_ns, reported, wanted, tolerance]]}}]   in scenario order
//   circuits [{name, state ("proven", "failed", "not_shown", "not_fitted", "signed"),
//     reason ("needs_meter", "another_way", "not_driven", "not_observed", "not_asked",
//       "fault_in_force", "repair_first", "other_fault"; of those that are not shown), why,
//     by [expectation], proof {expectation, step, end_ns, would_report, margin, margin_unit} (the
//       best; null without one), failed [expectation],
//     wires [{from, to, colour, gauge}]}]
//   common_point {splice, failures, feeds [circuit]}   only where there is one
//   faults [{name, words, when}]   steps [{name, begin_ns, end_ns, note}]
//   buses [{bus, interface, sent, received, refused, lost, confirmed, unconfirmed, load_on_paper,
//     load_measured}]
//   messages [{bus, message, period_ns, sent, replaced, skipped, response_on_paper_ns,
//     response_measured_ns, late_p50_ns, late_p99_ns, late_p999_ns, late_worst_ns}]
//   notes []   cautions []      (what is not known of a bus or message is null)
// Waveforms are not repeated here: the record has them.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "report/common_point.h"
#include "report/headline.h"
#include "report/report.h"
#include "report/summary.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

using Value = nlohmann::ordered_json;

Value Finite(double number) { return std::isfinite(number) ? Value(number) : Value(nullptr); }

Value EvidenceValue(const check::Evidence& evidence) {
  Value points = Value::array();
  for (const check::TracePoint& p : evidence.points) {
    points.push_back(
        Value::array({p.t_ns, Finite(p.reported), Finite(p.wanted), Finite(p.tolerance)}));
  }
  return {{"quantity", evidence.quantity}, {"unit", evidence.unit}, {"points", std::move(points)}};
}

Value ExpectationValue(const Report& report, const check::Verdict& v) {
  const profile::Expectation& e = ExpectationOf(report, v);
  const bool seen = check::WasJudged(v.outcome);
  Value stretches = Value::array();
  for (const check::Stretch& s : v.stretches) {
    stretches.push_back(
        {{"begin_ns", s.begin_ns}, {"end_ns", s.end_ns}, {"bus", s.bus}, {"why", s.why}});
  }
  return {{"name", e.name},
          {"kind", profile::Name(e.kind)},
          {"requirement", RequirementInWords(report, e)},
          {"means", e.means},
          {"outcome", MarkOf(v.outcome).key},
          {"margin", seen ? Finite(v.margin) : Value(nullptr)},
          {"margin_unit", v.margin_unit},
          {"relative_margin",
           seen && std::isfinite(v.margin) ? Finite(RelativeMargin(report, v)) : Value(nullptr)},
          {"worst_ns", seen && std::isfinite(v.margin) ? Value(v.worst_ns) : Value(nullptr)},
          {"judged", v.judged},
          {"detail", v.detail},
          {"not_observable", std::move(stretches)},
          {"not_observable_times", v.stretch_count},
          {"proves", e.proves},
          {"evidence", EvidenceValue(v.evidence)}};
}

Value Known(double share) { return share < 0 ? Value(nullptr) : Finite(share); }
Value Known(TimeNs t_ns) { return t_ns < 0 ? Value(nullptr) : Value(t_ns); }

Value BusValue(const BusLine& b) {
  return {{"bus", b.bus},
          {"interface", b.interface},
          {"sent", b.sent},
          {"received", b.received},
          {"refused", b.refused},
          {"lost", b.lost},
          {"confirmed", b.confirms ? Value(b.confirmed) : Value(nullptr)},
          {"unconfirmed", b.confirms ? Value(b.unconfirmed) : Value(nullptr)},
          {"load_on_paper", Known(b.load_on_paper)},
          {"load_measured", Known(b.load_measured)}};
}

Value MessageValue(const MessageLine& m) {
  return {{"bus", m.bus},
          {"message", m.message},
          {"period_ns", m.period_ns},
          {"sent", m.sent},
          {"replaced", m.replaced},
          {"skipped", m.skipped},
          {"response_on_paper_ns", Known(m.response_on_paper_ns)},
          {"response_measured_ns", Known(m.response_measured_ns)},
          {"late_p50_ns", Known(m.late_p50_ns)},
          {"late_p99_ns", Known(m.late_p99_ns)},
          {"late_p999_ns", Known(m.late_p999_ns)},
          {"late_worst_ns", Known(m.late_worst_ns)}};
}

Value NamesOf(const Report& report, const std::vector<check::CircuitWord>& words) {
  Value names = Value::array();
  for (const check::CircuitWord& word : words) {
    const std::string& name = Nth(report.scenario->expectations, word.expectation).name;
    if (std::ranges::find(names, Value(name)) == names.end()) names.push_back(name);
  }
  return names;
}

Value ProofValue(const Report& report, const check::CircuitWord& word) {
  return {{"expectation", Nth(report.scenario->expectations, word.expectation).name},
          {"step", word.step},
          {"end_ns", word.step.empty() ? Value(nullptr) : Value(word.t_ns)},
          {"would_report", word.would},
          {"margin", Finite(word.margin)},
          {"margin_unit", word.unit}};
}

Value CircuitValue(const Report& report, const check::CircuitCoverage& c) {
  Value wires = Value::array();
  for (const profile::Wire* w : WiresOf(*report.bench, c.circuit)) {
    wires.push_back({{"from", w->from}, {"to", w->to}, {"colour", w->colour}, {"gauge", w->gauge}});
  }
  return {{"name", c.circuit},
          {"state", MarkOf(c).key},
          {"reason", c.state == check::CircuitState::kNotShown ? KeyOf(c.gap) : ""},
          {"why", WhyInWords(report, c)},
          {"by", NamesOf(report, c.proofs)},
          {"proof", c.proofs.empty() ? Value(nullptr) : ProofValue(report, c.proofs.front())},
          {"failed", NamesOf(report, c.against)},
          {"wires", std::move(wires)}};
}

const char* KeyOf(Standing standing) {
  switch (standing) {
    case Standing::kFailed:
      return "failed";
    case Standing::kStopped:
      return "stopped";
    case Standing::kNothing:
      return "nothing";
    case Standing::kNotSeen:
      return "not_seen";
    case Standing::kNotReady:
      return "not_ready";
    case Standing::kReady:
      return "ready";
    case Standing::kAsDrawn:
      break;
  }
  return "as_drawn";
}

Value Head(const Report& report) {
  const Counts n = Count(report);
  const auto& s = *report.scenario;
  const auto& b = *report.bench;
  return {{"format", "drycrank report"},
          {"format_version", 2},
          {"version", report.version},
          {"again", report.hint_command},
          {"mode", report.mode},
          {"seed", report.seed},
          {"duration_ns", report.duration_ns},
          {"scenario", {{"name", s.name}, {"title", s.title}, {"file", s.file}}},
          {"bench", {{"name", b.name}, {"title", b.title}, {"file", b.file}}},
          {"standing", KeyOf(StandingOf(report))},
          {"stopped", report.stopped},
          {"controller_real", report.controller_real},
          {"display_real", report.display_real},
          {"all_met", AllMet(report)},
          {"verdict", Headline(report)},
          {"expectations_met", n.met},
          {"expectations_failed", n.failed},
          {"expectations_not_observed", n.not_observed},
          {"expectations_not_observable", n.not_observable},
          {"circuits_proven", n.circuits_proven},
          {"circuits_failed", n.circuits_failed},
          {"circuits_not_shown", n.circuits_not_shown},
          {"circuits_signed", n.circuits_signed},
          {"circuits_on_paper", n.circuits_on_paper}};
}

}  // namespace

std::string Json(const Report& report) {
  Value all = Head(report);
  for (const char* list : {"expectations", "circuits", "faults", "steps", "buses", "messages"}) {
    all[list] = Value::array();
  }
  if (const auto point = CommonPointOf(report)) {
    all["common_point"] = {
        {"splice", point->splice}, {"failures", point->failures}, {"feeds", point->feeds}};
  }
  for (const auto& v : report.verdicts) all["expectations"].push_back(ExpectationValue(report, v));
  for (const auto& c : report.coverage) all["circuits"].push_back(CircuitValue(report, c));
  for (const profile::Fault& f : report.scenario->faults) {
    all["faults"].push_back(
        {{"name", f.name}, {"words", FaultInWords(f)}, {"when", FaultTimeInWords(report, f)}});
  }
  for (const StepTime& s : report.steps) {
    all["steps"].push_back(
        {{"name", s.name}, {"begin_ns", s.begin_ns}, {"end_ns", s.end_ns}, {"note", s.note}});
  }
  for (const BusLine& b : report.buses) all["buses"].push_back(BusValue(b));
  for (const MessageLine& m : report.messages) all["messages"].push_back(MessageValue(m));
  all["notes"] = report.notes;
  all["cautions"] = Cautions();
  // Compact: 600 points of evidence on lines of their own help nobody.
  return all.dump(-1, ' ', false, Value::error_handler_t::replace) + "\n";
}

}  // namespace drycrank::report
