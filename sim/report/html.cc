// SPDX-License-Identifier: Apache-2.0
//
// The page: first the verdict and the wires to look at, then the evidence, last the full tables.
#include <fmt/format.h>

#include "report/html_parts.h"
#include "report/report.h"
#include "report/text.h"

namespace drycrank::report {
namespace {

Markup Heading(const Report& report) {
  const auto& s = *report.scenario;
  const auto& b = *report.bench;
  return Element("header",
                 TextElement("h1", s.title.empty() ? s.name : s.title) +
                     TextElement("p", "Bench: " + (b.title.empty() ? b.name : b.title)) +
                     TextElement("p", "Run: " + report.mode + ", " + Seconds(report.duration_ns))) +
         "\n";
}

// The cautions themselves stand behind the evidence.
Markup CautionLink() {
  const Markup link = Element("a", {{"href", "#cautions"}}, "the cautions");
  return Element("p", {{"class", "caution"}},
                 "This can hurt people: read " + link + " before anything is driven.") +
         "\n";
}

}  // namespace

std::string Page(std::string_view title, std::string_view style, const Markup& body) {
  Markup head = EmptyElement("meta", {{"charset", "utf-8"}}) + "\n";
  head += EmptyElement("meta", {{"name", "generator"}, {"content", "drycrank"}}) + "\n";
  head += EmptyElement("meta",
                       {{"name", "viewport"}, {"content", "width=device-width, initial-scale=1"}}) +
          "\n";
  head += TextElement("title", title);
  head += Element("style", "\n" + Markup::Raw(kStyleSheet) + Markup::Raw(style));
  const Markup page =
      Element("html", {{"lang", "en"}}, Element("head", head) + Element("body", "\n" + body));
  return "<!DOCTYPE html>\n" + page.text() + "\n";
}

Markup Section(std::string_view id, std::string_view title, const Markup& content) {
  return Element("section", {{"id", id}}, TextElement("h2", title) + content) + "\n";
}

Markup TextElement(std::string_view name, std::string_view text, std::string_view css) {
  return Element(name, {IfAny("class", css)}, KeepUnits(text));
}

Markup CountCell(std::uint64_t count) { return TextElement("td", std::to_string(count), "num"); }

Markup ListOf(const std::vector<std::string>& items) {
  Markup list;
  for (const std::string& item : items) list += TextElement("li", item);
  return Element("ul", list);
}

Markup Table(const std::vector<std::string>& heads, const Markup& rows) {
  Markup head;
  for (const std::string& text : heads) head += TextElement("th", text);
  // Wider than a phone, it scrolls by itself and leaves the page alone.
  const Markup table =
      Element("table", Element("thead", Element("tr", head)) + Element("tbody", rows));
  return Element("div", {{"class", "scroll"}}, table);
}

Markup Answer(const Mark& mark, std::string_view sentence, const Markup& more) {
  const Markup sign = Element("span", {{"class", "sign"}}, mark.symbol);
  return Element("div", {{"class", fmt::format("verdict {}", mark.key)}},
                 Element("p", {{"class", "big"}}, sign + " " + sentence) + more) +
         "\n";
}

std::string Html(const Report& report) {
  Markup body = Heading(report) + VerdictBox(report) + CautionLink() + FailureSection(report);
  body += OpenCircuitSection(report);
  if (!report.notes.empty()) body += Section("notes", "Notes", ListOf(report.notes));
  body += PictureSection(report) + ExpectationSection(report) + ProvenCircuitSection(report);
  body += Section("cautions", "Cautions", ListOf(Cautions()));
  body += FaultSection(report) + StepSection(report) + BusSection(report);
  body += MessageSection(report) + RunSection(report) + SheetSection(report);
  return Page(report.scenario->name + " on " + report.bench->name, {}, body);
}

}  // namespace drycrank::report
