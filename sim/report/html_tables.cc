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

std::string ExpectationLinks(const Report& report, const std::vector<int>& expectations) {
  std::vector<std::string> links;
  for (const int e : expectations) {
    const auto& name = Nth(report.scenario->expectations, e).name;
    links.push_back(fmt::format("<a href=\"#e{}\">{}</a>", e, Escape(name)));
  }
  return Join(links);
}

std::string CircuitRow(const Report& report, const check::CircuitCoverage& c) {
  std::vector<std::string> ways, colours;
  for (const profile::Wire* w : WiresOf(*report.bench, c.circuit)) {
    ways.push_back(w->from + " to " + w->to);
    const bool named = std::find(colours.begin(), colours.end(), w->colour) != colours.end();
    if (!w->colour.empty() && !named) colours.push_back(w->colour);
  }
  const Mark mark = MarkOf(StateOf(c));
  const auto& by = c.failed.empty() ? c.by : c.failed;
  std::vector<std::string> reasons;
  if (!by.empty()) reasons.push_back(ExpectationLinks(report, by));
  if (const std::string why = WhyInWords(report, c); !why.empty()) reasons.push_back(Escape(why));
  return fmt::format("<tr class=\"{}\"><td class=\"nowrap\">{} {}</td>", mark.key, mark.symbol,
                     mark.word) +
         Element("th", c.circuit) + Element("td", Join(ways)) + Element("td", Join(colours)) +
         "<td>" + (reasons.empty() ? std::string(kNoNumber) : Join(reasons, "; ")) + "</td></tr>";
}

std::string CircuitRows(const Report& report, CircuitState state) {
  std::string rows;
  for (const auto& c : report.coverage) {
    if (StateOf(c) == state) rows += CircuitRow(report, c);
  }
  return rows;
}

std::string Percent(double share) {
  return share < 0 ? std::string(kNoNumber) : fmt::format("{:.1f} %", share * 100);
}

std::string Milliseconds(TimeNs t_ns) {
  return t_ns < 0 ? std::string(kNoNumber) : fmt::format("{:.3f}", ToMs(t_ns));
}

std::string Term(std::string_view name, const std::string& value) {
  return Element("dt", name) + Element("dd", value.empty() ? kNoNumber : std::string_view(value));
}

}  // namespace

std::string CoverageSection(const Report& report) {
  if (report.coverage.empty()) return {};
  std::string rows;
  for (const CircuitState state : kOpenStates) rows += CircuitRows(report, state);
  rows += CircuitRows(report, CircuitState::kProven);
  return Section(
      "circuits", "Circuits",
      Element("p", CoverageSentence(report)) +
          Table({"state", "circuit", "way", "colour", "proven or failed by, or why neither"},
                rows));
}

std::string FaultSection(const Report& report) {
  if (report.scenario->faults.empty()) {
    return Section("faults", "Faults put in", "<p>None: the bench was run as its file says.</p>");
  }
  std::string rows;
  for (const profile::Fault& f : report.scenario->faults) {
    rows += "<tr>" + Element("th", f.name.empty() ? kNoNumber : std::string_view(f.name)) +
            Element("td", FaultInWords(f)) + Element("td", FaultTimeInWords(report, f)) + "</tr>";
  }
  return Section("faults", "Faults put in", Table({"name", "what", "when"}, rows));
}

std::string StepSection(const Report& report) {
  if (report.steps.empty()) return {};
  std::string rows;
  for (const StepTime& s : report.steps) {
    rows += "<tr>" + Element("th", s.name) + Element("td", Seconds(s.begin_ns), "num") +
            Element("td", Seconds(s.end_ns), "num") + Element("td", s.note) + "</tr>";
  }
  return Section("steps", "Steps", Table({"step", "from", "to", "note"}, rows));
}

std::string BusSection(const Report& report) {
  if (report.buses.empty()) return {};
  std::string rows;
  for (const BusLine& b : report.buses) {
    rows += "<tr>" + Element("th", b.bus) + Element("td", b.interface);
    for (const std::uint64_t count : {b.sent, b.received, b.refused, b.lost}) {
      rows += Element("td", std::to_string(count), "num");
    }
    for (const std::uint64_t count : {b.confirmed, b.unconfirmed}) {
      rows += Element("td", b.confirms ? std::to_string(count) : std::string(kNoNumber), "num");
    }
    rows += Element("td", Percent(b.load_on_paper), "num");
    rows += Element("td", Percent(b.load_measured), "num") + "</tr>";
  }
  return Section("buses", "Buses, in frames",
                 Table({"bus", "interface", "sent", "received", "refused", "lost", "confirmed",
                        "unconfirmed", "load on paper, at most", "load measured"},
                       rows));
}

std::string MessageSection(const Report& report) {
  if (report.messages.empty()) return {};
  std::string rows;
  for (const MessageLine& m : report.messages) {
    rows += "<tr>" + Element("td", m.bus) + Element("th", m.message);
    rows +=
        Element("td", m.period_ns > 0 ? fmt::format("{:g}", ToMs(m.period_ns)) : "event", "num");
    for (const std::uint64_t count : {m.sent, m.replaced, m.skipped}) {
      rows += Element("td", std::to_string(count), "num");
    }
    for (const TimeNs t_ns : {m.response_on_paper_ns, m.response_measured_ns, m.late_p50_ns,
                              m.late_p999_ns, m.late_worst_ns}) {
      rows += Element("td", Milliseconds(t_ns), "num");
    }
    rows += "</tr>";
  }
  return Section(
      "messages", "Messages, times in ms",
      Table({"bus", "message", "each", "sent", "replaced", "left out", "response on paper, at most",
             "measured, at most", "late, half of them", "late, 99.9 %", "late, at most"},
            rows));
}

std::string RunSection(const Report& report) {
  const auto& s = *report.scenario;
  const auto& b = *report.bench;
  std::string out =
      "<dl>" + Term("Scenario", s.name + ", " + s.file) + Term("Bench", b.name + ", " + b.file) +
      Term("Mode", report.mode) + Term("Seed", std::to_string(report.seed)) +
      Term("Length", Seconds(report.duration_ns)) + Term("drycrank", report.version) + "</dl>";
  if (!report.hint_command.empty()) {
    out += "<p>To run it again:</p><pre>" + Escape(report.hint_command) + "</pre>";
  }
  return Section("run", "How this was made", out);
}

std::string SignOffSection() {
  std::string rows;
  for (const char* who : {"Bench set up by", "Run by", "Checked by"}) {
    rows += "<tr>" + Element("th", who) + "<td></td><td></td><td></td></tr>";
  }
  return Section("sign", "Sign-off",
                 "<p>The cautions were read, and the loads that could hurt were unplugged or made "
                 "safe, before anything was driven.</p>" +
                     Table({"", "name", "date", "signature"}, rows));
}

}  // namespace drycrank::report
