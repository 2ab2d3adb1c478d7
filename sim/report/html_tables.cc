// SPDX-License-Identifier: Apache-2.0
//
// Tables: circuits, faults, steps, buses, messages, how the page was made; and the sheet to sign.
#include <fmt/format.h>

#include <algorithm>

#include "report/html_parts.h"
#include "report/summary.h"
#include "report/text.h"
#include "types/nth.h"

namespace drycrank::report {
namespace {

Markup CircuitRow(const Report& report, const check::CircuitCoverage& c) {
  std::vector<std::string> leads, colours;
  for (const profile::Wire* w : WiresOf(*report.bench, c.circuit)) {
    leads.push_back(w->from + " – " + w->to);
    const bool named = std::find(colours.begin(), colours.end(), w->colour) != colours.end();
    if (!w->colour.empty() && !named) colours.push_back(w->colour);
  }
  const Mark mark = MarkOf(c);
  const std::string state = fmt::format("{} {}", mark.symbol, mark.word);
  const std::string why = WhyInWords(report, c);
  return Element("tr", {{"class", mark.key}},
                 Element("td", {{"class", "nowrap"}}, state) + TextElement("th", c.circuit) +
                     TextElement("td", Join(leads)) + TextElement("td", Join(colours)) +
                     TextElement("td", why.empty() ? kNoNumber : std::string_view(why)));
}

Markup CircuitTable(const Markup& rows) {
  return Table({"state", "circuit", "from – to", "colour", "shown by, failed by, or why not"},
               rows);
}

std::string Percent(double share) {
  return share < 0 ? std::string(kNoNumber) : fmt::format("{:.1f} %", share * 100);
}

std::string Milliseconds(TimeNs t_ns) {
  return t_ns < 0 ? std::string(kNoNumber) : fmt::format("{:.3f}", ToMs(t_ns));
}

Markup Term(std::string_view name, const std::string& value) {
  return TextElement("dt", name) +
         TextElement("dd", value.empty() ? kNoNumber : std::string_view(value));
}

}  // namespace

Markup OpenCircuitSection(const Report& report) {
  const auto open = OpenCircuits(report);
  if (report.coverage.empty()) return {};
  Markup rows;
  for (const auto* c : open) rows += CircuitRow(report, *c);
  Markup sentence = TextElement("p", CoverageSentence(report));
  if (const std::string unexplained = UnexplainedInWords(report); !unexplained.empty()) {
    sentence += TextElement("p", unexplained);
  }
  if (open.empty()) return Section("open", "Circuits", sentence);
  return Section("open", "Circuits that are not proven", sentence + CircuitTable(rows));
}

Markup ProvenCircuitSection(const Report& report) {
  Markup rows;
  for (const auto& c : report.coverage) {
    if (c.state == check::CircuitState::kProven) rows += CircuitRow(report, c);
  }
  if (rows.empty()) return {};
  return Section("circuits", "Proven circuits",
                 Element("p",
                         "Proven: had this circuit been open, an expectation that was met would "
                         "have failed. By how much is shown of the best of them.") +
                     CircuitTable(rows));
}

Markup FaultSection(const Report& report) {
  if (report.scenario->faults.empty()) {
    return Section("faults", "Faults put in",
                   Element("p", "No fault: the bench was run as its file says."));
  }
  Markup rows;
  for (const profile::Fault& f : report.scenario->faults) {
    rows += Element("tr", TextElement("th", f.name.empty() ? kNoNumber : std::string_view(f.name)) +
                              TextElement("td", FaultInWords(f)) +
                              TextElement("td", FaultTimeInWords(report, f)));
  }
  return Section("faults", "Faults put in", Table({"name", "what", "when"}, rows));
}

Markup StepSection(const Report& report) {
  if (report.steps.empty()) return {};
  Markup rows;
  for (const StepTime& s : report.steps) {
    rows +=
        Element("tr", TextElement("th", s.name) + TextElement("td", Seconds(s.begin_ns), "num") +
                          TextElement("td", Seconds(s.end_ns), "num") + TextElement("td", s.note));
  }
  return Section("steps", "Steps", Table({"step", "from", "to", "note"}, rows));
}

Markup BusSection(const Report& report) {
  if (report.buses.empty()) return {};
  Markup rows;
  for (const BusLine& b : report.buses) {
    Markup row = TextElement("th", b.bus) + TextElement("td", b.interface);
    for (const std::uint64_t count : {b.sent, b.received, b.refused, b.lost}) {
      row += CountCell(count);
    }
    for (const std::uint64_t count : {b.confirmed, b.unconfirmed}) {
      row += TextElement("td", b.confirms ? std::to_string(count) : std::string(kNoNumber), "num");
    }
    row += TextElement("td", Percent(b.load_on_paper), "num");
    rows += Element("tr", row + TextElement("td", Percent(b.load_measured), "num"));
  }
  return Section("buses", "Buses, in frames",
                 Table({"bus", "interface", "sent", "received", "refused", "lost", "confirmed",
                        "unconfirmed", "load calculated, at most", "load measured"},
                       rows));
}

Markup MessageSection(const Report& report) {
  if (report.messages.empty()) return {};
  Markup rows;
  for (const MessageLine& m : report.messages) {
    const std::string each = m.period_ns > 0 ? fmt::format("{:g}", ToMs(m.period_ns)) : "event";
    Markup row =
        TextElement("td", m.bus) + TextElement("th", m.message) + TextElement("td", each, "num");
    for (const std::uint64_t count : {m.sent, m.replaced, m.skipped}) row += CountCell(count);
    for (const TimeNs t_ns : {m.response_on_paper_ns, m.response_measured_ns, m.late_p50_ns,
                              m.late_p999_ns, m.late_worst_ns}) {
      row += TextElement("td", Milliseconds(t_ns), "num");
    }
    rows += Element("tr", row);
  }
  return Section("messages", "Messages, times in ms",
                 Table({"bus", "message", "every", "sent", "replaced", "left out",
                        "response calculated, at most", "response measured, at most",
                        "late, median", "late, 99.9 %", "late, at most"},
                       rows));
}

Markup RunSection(const Report& report) {
  const auto& s = *report.scenario;
  const auto& b = *report.bench;
  Markup out = Element(
      "dl", Term("Scenario", s.name + ", " + s.file) + Term("Bench", b.name + ", " + b.file) +
                Term("Mode", report.mode) + Term("Seed", std::to_string(report.seed)) +
                Term("Length", Seconds(report.duration_ns)) + Term("drycrank", report.version));
  if (!report.hint_command.empty()) {
    out += Element("p", "To run it again:") + Element("pre", report.hint_command);
  }
  return Section("run", "How this was made", out);
}

}  // namespace drycrank::report
