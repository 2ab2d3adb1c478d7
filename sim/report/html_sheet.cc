// SPDX-License-Identifier: Apache-2.0
//
// The sheet to sign, on a page of its own: what was judged, how it stands, every circuit that is not
// shown, the faults put in, by which program and which record. One that is not ready says so across
// its head, so that it cannot be taken for the other.
#include <fmt/format.h>

#include <algorithm>

#include "report/headline.h"
#include "report/html_parts.h"
#include "report/summary.h"
#include "report/text.h"

namespace drycrank::report {
namespace {

Markup Line(std::string_view name, const std::string& value, std::string_view open = "") {
  const std::string_view shown = value.empty() ? open : std::string_view(value);
  return Element("tr", TextElement("th", name) + TextElement("td", shown));
}

// "ground_2, ground: carried by each other", circuits of one mark, those of one reason together.
std::vector<std::string> ByReason(const Report& report, std::string_view mark) {
  std::vector<std::pair<std::string, std::vector<std::string>>> groups;
  for (const auto* c : OpenCircuits(report)) {
    if (MarkOf(*c).key != mark) continue;
    const std::string why = WhyInWords(report, *c);
    auto at = std::ranges::find(groups, why, [](const auto& group) { return group.first; });
    if (at == groups.end()) at = groups.insert(at, {why, {}});
    at->second.push_back(c->circuit);
  }
  std::vector<std::string> lines;
  for (const auto& [why, names] : groups) lines.push_back(Join(names) + ": " + why);
  return lines;
}

std::string FaultsInWords(const Report& report) {
  std::vector<std::string> faults;
  for (const profile::Fault& f : report.scenario->faults)
    faults.push_back(FaultInWords(f) + ", " + FaultTimeInWords(report, f));
  return faults.empty() ? "none" : Join(faults, "; ");
}

std::string Judged(bool real, const std::string& firmware) {
  if (!real) return "a stand-in; nothing real was judged";
  return firmware.empty() ? "real; firmware not read: ______________"
                          : "real; firmware " + firmware;
}

Markup Facts(const Report& report) {
  const SheetFacts& sheet = report.sheet;
  const auto& b = *report.bench;
  constexpr std::string_view kBlank = "______________";
  Markup rows = Line("Bench", (b.title.empty() ? b.name : b.title) + ", " + b.file);
  rows += Line("Harness, serial number", sheet.serial, kBlank);
  rows += Line("Harness, revision", sheet.revision, kBlank);
  rows += Line("Controller", Judged(report.controller_real, sheet.controller_firmware));
  if (b.display) rows += Line("Display", Judged(report.display_real, sheet.display_firmware));
  rows += Line("Date and time", sheet.date_time, kBlank);
  rows += Line("Verdict", Headline(report));
  if (!report.coverage.empty()) rows += Line("Circuits", CoverageSentence(report));
  for (const auto& [head, mark] : {std::pair{"Failed", "failed"},
                                   {"Not shown", "not_shown"},
                                   {"Signed over", "signed"},
                                   {"On paper only", "not_fitted"}}) {
    for (const std::string& line : ByReason(report, mark)) rows += Line(head, line);
  }
  rows += Line("Faults put in", FaultsInWords(report));
  rows += Line("drycrank", report.version);
  rows += Line("Record, SHA-256 of events.csv", sheet.record_checksum, "no record was kept");
  return Element("table", {{"class", "facts"}}, Element("tbody", rows));
}

Markup Signatures() {
  const Markup blank = Element("td", "") + Element("td", "") + Element("td", "");
  Markup rows;
  for (const char* who : {"Bench set up by", "Run by", "Checked by"}) {
    rows += Element("tr", TextElement("th", who) + blank);
  }
  return Table({"", "name", "date", "signature"}, rows);
}

Markup CautionsRead() {
  return Element(
      "p",
      "The cautions were read, and the loads that could hurt were unplugged or made safe, "
      "before anything was driven.");
}

}  // namespace

Markup SignOffSection() { return Section("sign", "Sign-off", CautionsRead() + Signatures()); }

Markup SheetSection(const Report& report) {
  const Standing standing = StandingOf(report);
  const bool ready = standing == Standing::kReady;
  const std::string head = ready                            ? "READY"
                           : standing == Standing::kAsDrawn ? "The file only: no harness was judged"
                                                            : "NOT for handing over";
  const Markup banner = TextElement("p", head, ready ? "banner ready" : "banner open");
  return Element("section", {{"id", "sign"}, {"class", ready ? "sheet" : "sheet unready"}},
                 Element("h2", "Sheet to sign") + banner + Facts(report) + CautionsRead() +
                     Signatures()) +
         "\n";
}

}  // namespace drycrank::report
